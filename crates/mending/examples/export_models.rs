//! Writes what is searched in each piece that does not come out, and how long our search takes, one JSON a line for
//! `bench/peers/correct_cp_sat.py`: `export_models FIXTURE …`; made-up lace of 20 to 120 rows with one to three misprints
//! comes after the texts of the files.

#[path = "../benches/lace/mod.rs"]
mod lace;

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use mending::each_problem;
use notation::Lexicon;
use reading::{Options, Reader};
use serde_json::json;

use self::lace::misprinted;

/// How often a piece is searched; the median counts.
const TIMES: usize = 21;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for file in std::env::args().skip(1) {
        let fixture: toml::Table = toml::from_str(&std::fs::read_to_string(&file)?)?;
        let string = |name: &str| fixture.get(name).and_then(toml::Value::as_str).unwrap_or("");
        let reader = Reader::for_text(&Lexicon::builtin()?, string("glossary"), string("text"))?;
        let open = fixture.get("cast_on").filter(|_| fixture.contains_key("multiple"));
        let cast_on = open.and_then(toml::Value::as_integer).and_then(|count| u32::try_from(count).ok());
        let name = Path::new(&file).file_stem().unwrap_or_default().to_string_lossy();
        export(&name, &reader, string("text"), &Options { cast_on, ..Options::default() });
    }
    let reader = Reader::new()?;
    for rows in [20, 30, 60, 120] {
        let middle = rows / 4 * 2 + 1;
        for wrong in [&[middle][..], &[7, middle], &[7, middle, middle + 4]] {
            let name = format!("lace of {rows} rows, {} wrong", wrong.len());
            export(&name, &reader, &misprinted(rows, wrong), &Options::default());
        }
    }
    Ok(())
}

fn export(name: &str, reader: &Reader, text: &str, options: &Options) {
    each_problem(&reader.study(), text, options, &mut |problem| {
        let search = |_| {
            let began = Instant::now();
            black_box(black_box(problem).optimum());
            began.elapsed().as_secs_f64()
        };
        let mut seconds: Vec<f64> = (0..TIMES).map(search).collect();
        seconds.sort_by(f64::total_cmp);
        let (optimum, seconds) = (problem.optimum(), seconds[TIMES / 2]);
        println!(
            "{}",
            json!({ "name": name, "optimum": optimum, "seconds": seconds, "model": problem.model() })
        );
    });
}

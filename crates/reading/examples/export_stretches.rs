//! Writes the longest stretch of each text as JSON for `bench/peers/parse_lark.py`: `export_stretches FILE …`; of a
//! checked reading (`.toml`) its `text` is read.
//!
//! Each comes with all terminals that its words may be, and with those of its cheapest parse alone; with each, its number
//! of parses and how long finding and counting them takes.

use std::hint::black_box;
use std::time::Instant;

use reading::{Reader, Stretch};
use serde_json::{Value, json};

/// How often a stretch is parsed; the median counts.
const TIMES: usize = 101;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let reader = Reader::new()?;
    let mut out = Vec::new();
    for file in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&file)?;
        let table = text.parse::<toml::Table>().ok();
        let own = table.as_ref().and_then(|table| table.get("text")).and_then(toml::Value::as_str);
        let stretches = reader.stretches(own.unwrap_or(&text));
        let longest = stretches.iter().max_by_key(|stretch| stretch.words()).ok_or("an empty text")?;
        let cheapest = longest.cheapest().ok_or("a text without a parse")?;
        out.push(json!({
            "file": file,
            "words": longest.words(),
            "all": measured(longest),
            "one": measured(&cheapest),
        }));
    }
    println!("{}", json!(out));
    Ok(())
}

fn measured(stretch: &Stretch<'_>) -> Value {
    let parse = |_| {
        let began = Instant::now();
        black_box(black_box(stretch).parses());
        began.elapsed().as_secs_f64()
    };
    let mut seconds: Vec<f64> = (0..TIMES).map(parse).collect();
    seconds.sort_by(f64::total_cmp);
    json!({
        "edges": stretch.edges().collect::<Vec<_>>(),
        "parses": stretch.parses().to_string(),
        "seconds": seconds[TIMES / 2],
    })
}

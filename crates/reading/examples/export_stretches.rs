//! Writes the longest stretch of each text, with its number of parses and how long finding and counting them takes, as
//! JSON for `bench/peers/parse_lark.py`: `export_stretches FILE …`; of a checked reading (`.toml`) its `text` is read.

use std::hint::black_box;
use std::time::Instant;

use reading::Reader;
use serde_json::json;

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
        let mut seconds: Vec<f64> = (0..TIMES)
            .map(|_| {
                let began = Instant::now();
                black_box(black_box(longest).parses());
                began.elapsed().as_secs_f64()
            })
            .collect();
        seconds.sort_by(f64::total_cmp);
        out.push(json!({
            "file": file,
            "words": longest.words(),
            "edges": longest.edges().collect::<Vec<_>>(),
            "parses": longest.parses().to_string(),
            "seconds": seconds[TIMES / 2],
        }));
    }
    println!("{}", json!(out));
    Ok(())
}

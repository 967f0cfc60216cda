//! The app as the browser meets it: every route, every guard, and nothing lost whatever happens.

#[path = "../common/app.rs"]
mod app;
mod doubts;
mod guards;
mod kept;
mod needles;
mod routes;
#[path = "../common/slipped.rs"]
mod slipped;

use serde_json::{Value, json};

/// A pattern whose third row does not come out.
const MISPRINTED: &str = "Cast on 12 stitches.\n\n1st row.--Knit 3, make 1, knit two together, knit 7.\n\n\
                          2nd row.--Purl.\n\n3rd row.--Knit 3, make 1, knit two together, knit 8.\n\n4th row.--Purl.\n";
/// The smallest PNG there is.
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0:~\x9bU\0\0\0\nIDATx\x9cc`\0\0\0\x02\0\x01H\xaf\xa4q\0\0\0\0IEND\xaeB`\x82";

fn insert(at: usize, words: &str) -> Value {
    json!([{ "do": "text", "at": at, "remove": 0, "insert": words }])
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

//! Prints the specimen edition of the tests: `cargo run -p booklet --example specimen -- FILE [a4|letter]`.

use std::process::ExitCode;
use std::time::Instant;

use booklet::{Booklet, PageSize};

#[path = "../tests/specimen/mod.rs"]
mod specimen;

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let Some(file) = arguments.next() else {
        eprintln!("usage: specimen FILE [a4|letter]");
        return ExitCode::from(2);
    };
    let mut edition = specimen::edition();
    edition.page_size = match arguments.next().as_deref() {
        Some("a4") => PageSize::A4,
        Some("letter") => PageSize::Letter,
        _ => PageSize::A5,
    };
    let start = Instant::now();
    let printed = Booklet::new(&edition).and_then(|booklet| Ok((booklet.page_count(), booklet.pdf()?)));
    let (pages, bytes) = match printed {
        Ok(printed) => printed,
        Err(error) => {
            eprintln!("error: {error}");
            return ExitCode::FAILURE;
        }
    };
    println!("{pages} pages, {} bytes, {:.0?}", bytes.len(), start.elapsed());
    match std::fs::write(&file, bytes) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {file}: {error}");
            ExitCode::FAILURE
        }
    }
}

//! Prints how well the finder of the place and the finder of slips do: `cargo run -p along --example figures [FIRST]`,
//! where FIRST is the first of the seeds of random programs. The tests guard what is printed here.

#[path = "../tests/common/mod.rs"]
mod common;
#[path = "../tests/score/mod.rs"]
mod score;

fn main() {
    let first = std::env::args().nth(1).and_then(|seed| seed.parse().ok()).unwrap_or(0);
    print!("{}", score::ripped_back(first, 400));
    println!();
    print!("{}", score::slips(first, 4000));
}

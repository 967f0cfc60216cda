//! How long a cloth takes to come to rest: `cargo bench -p cloth`.
//!
//! Square pieces of 2,500 to 200,000 stitches of several fabrics, from the program to the relaxed shape. Time over
//! size gives the exponent; the most that was allocated at once, over the stitches, the memory that each takes.

#![allow(clippy::unwrap_used, reason = "a bench works on known pieces")]

#[path = "../tests/common/mod.rs"]
mod common;

use cloth::{Drape, Fabric, Facing, Mesh, Preconditioner, Scene, Settings, State, Style};
use loops::Piece;

#[global_allocator]
static ALLOCATED: divan::AllocProfiler = divan::AllocProfiler::system();

fn main() {
    divan::main();
}

/// Stitches along each side; a multiple of four, so that the ribs stack.
const SIDES: [u32; 5] = [48, 100, 200, 316, 448];

fn relax(piece: &Piece, settings: &Settings) -> Drape {
    let fabric = Fabric::default();
    let mesh = Mesh::of(piece, &fabric).unwrap();
    Drape::of(&mesh, &fabric, State::Free, settings).unwrap()
}

#[divan::bench(args = SIDES, sample_count = 3, sample_size = 1)]
fn plain(bencher: divan::Bencher<'_, '_>, side: u32) {
    let piece = common::plain(side, side as usize);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(args = SIDES, sample_count = 3, sample_size = 1)]
fn garter(bencher: divan::Bencher<'_, '_>, side: u32) {
    let piece = common::garter(side, side as usize);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(args = SIDES, sample_count = 3, sample_size = 1)]
fn double_rib(bencher: divan::Bencher<'_, '_>, side: u32) {
    let piece = common::rib(side, side as usize, 2, 2);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(args = SIDES, sample_count = 3, sample_size = 1)]
fn welts(bencher: divan::Bencher<'_, '_>, side: u32) {
    let piece = common::repeated(side, side as usize, &["k", "p", "k", "p", "p", "k", "p", "k"]);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(args = SIDES, sample_count = 3, sample_size = 1)]
fn lace(bencher: divan::Bencher<'_, '_>, side: u32) {
    let rows = ["k*3 k2tog yo k yo ssk k*2", "p*10", "k*2 k2tog yo k*3 yo ssk k", "p*10"];
    let piece = common::repeated(side, side as usize, &rows);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(args = [48, 104, 200, 448], sample_count = 3, sample_size = 1)]
fn cables(bencher: divan::Bencher<'_, '_>, side: u32) {
    let piece = common::cables(side, side as usize);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

/// The same as `double_rib` at 100 without the coarser nets.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn double_rib_without_nets(bencher: divan::Bencher<'_, '_>) {
    let piece = common::rib(100, 100, 2, 2);
    let settings =
        Settings { preconditioner: Preconditioner::None, step_limit: 20_000, ..Settings::default() };
    bencher.bench(|| relax(&piece, &settings));
}

#[divan::bench(args = [96, 208, 448], sample_count = 3, sample_size = 1)]
fn cables_on_garter(bencher: divan::Bencher<'_, '_>, side: u32) {
    let [front, ridge, back] = ["k*10 c3/3f", "k*16", "p*6 k*10"].map(|motif| common::spread(motif, side));
    let rows = (0..side as usize).map(|row| match row % 8 {
        4 => front.clone(),
        row if row % 2 == 0 => ridge.clone(),
        _ => back.clone(),
    });
    let piece = common::piece(loops::Worked::Flat, side, rows);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

/// Nine stitches more every second round, which lie flat. Of 2,304 to 201,600 stitches.
#[divan::bench(args = [32, 64, 150, 299], sample_count = 1, sample_size = 1)]
fn flat_circle(bencher: divan::Bencher<'_, '_>, rounds: u32) {
    let piece = common::growing_circle(9, 2, rounds);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

/// Settles slowly: each doubling makes a rim that is too long for its place and ripples. Of 4,878 to 297,198
/// stitches.
#[divan::bench(args = [144, 288, 576, 1152], sample_count = 1, sample_size = 1)]
fn circle_by_doubling(bencher: divan::Bencher<'_, '_>, rim: u32) {
    let piece = common::doubling_circle(rim);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(args = [144, 288, 576, 1152], sample_count = 1, sample_size = 1)]
fn garter_circle_by_doubling(bencher: divan::Bencher<'_, '_>, rim: u32) {
    let piece = common::garter_circle(rim);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

/// The fullest: twice as many stitches as a plane asks for, whose ripples run through each other, since the model does
/// not know that cloth touches itself. Of 1,998 to 261,378 stitches.
#[divan::bench(args = [20, 64, 128, 240], sample_count = 1, sample_size = 1)]
fn ruffle(bencher: divan::Bencher<'_, '_>, rounds: u32) {
    let piece = common::growing_circle(18, 2, rounds);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

/// Circles fuller than a plane asks for, by the stitches that each second round has more: 1.2 to 1.8 times as many. Each of
/// 200,000 stitches.
#[divan::bench(args = [11, 12, 13, 14, 16], sample_count = 1, sample_size = 1)]
fn full_circle(bencher: divan::Bencher<'_, '_>, more: u32) {
    let rounds = (4.0 * 200_000.0 / f64::from(more)).sqrt() as u32;
    let piece = common::growing_circle(more, 2, rounds);
    bencher.bench(|| relax(&piece, &Settings::default()));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn picture_of_10_000(bencher: divan::Bencher<'_, '_>) {
    let fabric = Fabric::default();
    let mesh = Mesh::of(&common::plain(100, 100), &fabric).unwrap();
    let drape = Drape::of(&mesh, &fabric, State::Free, &Settings::default()).unwrap();
    let scene = Scene::of(&mesh, &drape.positions, Facing::Right).unwrap();
    bencher.bench(|| scene.to_png(&Style::default()).unwrap());
}

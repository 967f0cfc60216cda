//! The cloth of the pieces, worked out once for each program and gauge, one piece at a time in the whole program.

use std::sync::{Arc, Mutex, PoisonError};

use cloth::{Facing, Rgb, Style, glb, yarn_glb};
use loops::{Piece, work};
use tokio::sync::Semaphore;

use super::Done;
use crate::app::wire::ClothInfo;
use crate::cloths::{Basis, Cloth, Lying};
use crate::gauge::Gauge;

/// The most operations of a piece whose cloth is worked out beside the typing.
pub const LARGEST: usize = 20_000;
/// The longest side of a picture on the screen, in pixels.
const SCREEN_PIXELS: u32 = 1000;
/// The longest side of a picture in the list of projects, in pixels.
const SMALL_PIXELS: u32 = 240;
/// The same of the rows that a doubt is about.
const ROWS_PIXELS: u32 = 640;
/// The paper of the app in daylight.
const PAPER: Rgb = Rgb(0xff, 0xff, 0xff);
/// The cloths that are kept of one project.
const KEPT: usize = 12;

/// One relaxation uses all cores, so there is never more than one.
static ONE_AT_A_TIME: Semaphore = Semaphore::const_new(1);

/// The cloth of a piece, or why there is none.
pub struct ClothPiece {
    made: Result<(Cloth, Basis), String>,
}

/// The cloths of one project that were worked out last.
#[derive(Default)]
pub struct Cloths {
    kept: Mutex<Vec<(Key, Arc<ClothPiece>)>>,
}

/// What a cloth depends on.
type Key = (u64, Option<Gauge>);

impl Cloths {
    /// The cloth of a piece; nothing where there is no such piece or the program stumbled over it.
    pub async fn of(&self, done: &Done, piece: usize) -> Option<Arc<ClothPiece>> {
        let (program, mark) = (done.pieces.get(piece)?.clone(), *done.marks.get(piece)?);
        let (key, gauge) = ((mark, done.gauge), done.gauge.unwrap_or_default());
        if let Some(kept) = self.kept(key) {
            return Some(kept);
        }
        let _turn = ONE_AT_A_TIME.acquire().await.ok()?;
        // Another may have asked for the same while this one waited.
        if let Some(kept) = self.kept(key) {
            return Some(kept);
        }
        let made = tokio::task::spawn_blocking(move || ClothPiece::of(&program, &gauge)).await.ok()?;
        let made = Arc::new(made);
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= KEPT {
            kept.remove(0);
        }
        kept.push((key, Arc::clone(&made)));
        Some(made)
    }

    fn kept(&self, key: Key) -> Option<Arc<ClothPiece>> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|(other, _)| *other == key).map(|(_, cloth)| Arc::clone(cloth))
    }
}

/// A small picture of some rows by themselves; few enough not to wait for their turn.
///
/// # Errors
/// Why there is none, in words.
pub fn picture_of(rows: &Piece, gauge: &Gauge) -> Result<Vec<u8>, String> {
    ClothPiece::of(rows, gauge).drawn(Facing::Right, ROWS_PIXELS)
}

impl ClothPiece {
    fn of(piece: &Piece, gauge: &Gauge) -> ClothPiece {
        let count: usize = work(piece).rows.iter().map(|row| row.ops.len()).sum();
        if count > LARGEST {
            let made = Err(format!("the piece has {count} stitches; the cloth is shown of up to {LARGEST}"));
            return ClothPiece { made };
        }
        let made = Basis::of(gauge)
            .map_err(|failure| failure.to_string())
            .and_then(|basis| Ok((Cloth::of(piece, &basis, Lying::Smoothed)?, basis)));
        ClothPiece { made }
    }

    /// The cloth in words.
    pub fn info(&self, piece: usize) -> ClothInfo {
        let cloth = self.made.as_ref().ok().map(|(cloth, _)| cloth);
        ClothInfo {
            piece: piece as u32,
            size: cloth.map(Cloth::size),
            yarn: cloth.map(Cloth::metres),
            note: cloth.and_then(Cloth::caution).map(str::to_owned),
            error: self.made.as_ref().err().cloned(),
        }
    }

    /// The cloth as a mesh for a view in space.
    ///
    /// # Errors
    /// Why there is none, in words.
    pub fn mesh(&self) -> Result<Vec<u8>, String> {
        let (cloth, basis) = self.made.as_ref().map_err(String::clone)?;
        Ok(glb(&cloth.mesh, &cloth.drape.positions, &basis.gauge, &Style::default()))
    }

    /// The way of its yarn for a view in space.
    ///
    /// # Errors
    /// Why there is none, in words.
    pub fn strands(&self) -> Result<Vec<u8>, String> {
        let (cloth, basis) = self.made.as_ref().map_err(String::clone)?;
        Ok(yarn_glb(&cloth.mesh, &cloth.drape.positions, &basis.gauge, &Style::default()))
    }

    /// A picture of one side.
    ///
    /// # Errors
    /// Why there is none, in words.
    pub fn picture(&self, facing: Facing) -> Result<Vec<u8>, String> {
        self.drawn(facing, SCREEN_PIXELS)
    }

    /// A small picture of the right side.
    ///
    /// # Errors
    /// Why there is none, in words.
    pub fn small_picture(&self) -> Result<Vec<u8>, String> {
        self.drawn(Facing::Right, SMALL_PIXELS)
    }

    fn drawn(&self, facing: Facing, pixels: u32) -> Result<Vec<u8>, String> {
        let (cloth, _) = self.made.as_ref().map_err(String::clone)?;
        let style = Style { pixels, paper: PAPER, ..Style::default() };
        let png = cloth.scene(facing).and_then(|scene| scene.to_png(&style));
        png.map_err(|error| error.to_string())
    }
}

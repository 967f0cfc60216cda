//! The booklet of a project.

use booklet::{Drawing, Source};
use chart::{Chart, ChartError};

use crate::app::desk::{LARGEST, State, checked};
use crate::app::planning::plan_of_project;
use crate::charts::chart_of;
use crate::checked::{Checked, piece_name};
use crate::cloths::{Basis, Cloth, Lying, picture};
use crate::commands::plan::programs;
use crate::edition::{Particulars, add_plan, drawing, edition};
use crate::failure::Failure;
use crate::remark::remarks;

/// Corrections that are weighed: enough to know whether the first is sure.
pub const WEIGHED: usize = 3;

/// The booklet as PDF.
///
/// # Errors
/// [`Failure`] where there is nothing to print, or the plan cannot be made.
pub fn booklet(project: &shelf::Project, state: &State) -> Result<Vec<u8>, Failure> {
    let checked = checked(state, WEIGHED)?;
    let pieces = checked.pieces()?;
    let charts: Vec<Result<Chart, ChartError>> =
        (0..pieces.len()).map(|index| chart_of(pieces, index)).collect();
    let basis = Basis::of(&state.given.gauge.unwrap_or_default())?;
    let pictures = (0..pieces.len()).map(|index| pictured(&checked, index, &basis, state)).collect();
    let particulars = Particulars {
        title: project.title.clone(),
        source: source(&project.source),
        gauge: state.given.gauge,
        terms: state.given.terms,
    };
    let mut edition = edition(&checked, &particulars, &charts, pictures, &remarks(&checked));
    if !project.plan.trim().is_empty() {
        add_plan(&mut edition, &plan_of_project(&programs(&checked)?, project)?.1);
    }
    booklet::pdf(&edition).map_err(|error| Failure::Booklet { file: project.title.clone(), error })
}

fn pictured(checked: &Checked, index: usize, basis: &Basis, state: &State) -> Result<Drawing, String> {
    let pieces = &checked.reading().pieces;
    let count: usize = pieces[index].worked.rows.iter().map(|row| row.ops.len()).sum();
    if count > LARGEST {
        return Err(format!("it has {count} stitches, and the cloth is drawn of up to {LARGEST}"));
    }
    let cloth = Cloth::of(&pieces[index].piece, basis, Lying::Smoothed)?;
    let picture = picture(&cloth)?;
    Ok(drawing(&cloth, &picture, piece_name(pieces, index).as_deref(), state.given.gauge.as_ref()))
}

fn source(source: &shelf::Source) -> Source {
    let told = |words: &str| Some(words.trim().to_owned()).filter(|words| !words.is_empty());
    Source {
        author: told(&source.creator),
        title: told(&source.title),
        place: told(&source.place),
        publisher: told(&source.publisher),
        year: told(&source.date),
        page: told(&source.pages),
        identifier: told(&source.identifier),
    }
}

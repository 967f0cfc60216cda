//! The pieces with their rows, charts and sizes.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;

use chart::{Chart, ChartError, Style};
use reading::PieceReading;
use wording::Written;

use super::Subject;
use crate::app::wire::{At, Multiple, PieceView, RowView};
use crate::charts::chart_of;
use crate::checked::piece_name;
use crate::fault::faults;
use crate::remark::capital;
use crate::rows;

/// The width of a key in the units of its drawing.
const KEY_WIDTH: f32 = 330.0;

/// The drawings of a chart.
struct Drawn {
    /// As seen from the right side.
    svg: String,
    key: String,
}

/// The charts drawn last, so that a piece that did not change is not drawn again.
#[derive(Default)]
pub struct Charts {
    drawn: Vec<(u64, Rc<Result<Drawn, ChartError>>)>,
}

impl Charts {
    /// The chart of each piece; those of pieces that are no longer there are forgotten.
    fn of(&mut self, pieces: &[PieceReading]) -> Vec<Rc<Result<Drawn, ChartError>>> {
        let before = std::mem::take(&mut self.drawn);
        for index in 0..pieces.len() {
            let key = mark(pieces, index);
            let kept = before.iter().find(|(other, _)| *other == key).map(|(_, chart)| Rc::clone(chart));
            let chart =
                kept.unwrap_or_else(|| Rc::new(chart_of(pieces, index).map(|chart| Drawn::of(&chart))));
            self.drawn.push((key, chart));
        }
        self.drawn.iter().map(|(_, chart)| Rc::clone(chart)).collect()
    }
}

impl Drawn {
    fn of(chart: &Chart) -> Drawn {
        let svg = chart.to_svg(&style());
        let key = chart.key_svg(KEY_WIDTH, &style());
        Drawn { svg, key }
    }
}

/// Charts on the screen let the page show through, and say which stitches their squares stand for.
pub fn style() -> Style {
    Style { with_key: false, with_squares: true, paper: "none".to_owned(), ..Style::default() }
}

/// The mark of each piece.
pub fn marks(pieces: &[PieceReading]) -> Vec<u64> {
    (0..pieces.len()).map(|index| mark(pieces, index)).collect()
}

/// A mark of everything that a chart shows, and of nothing else.
fn mark(pieces: &[PieceReading], index: usize) -> u64 {
    let piece = &pieces[index];
    let mut hasher = DefaultHasher::new();
    (piece_name(pieces, index), piece.piece.worked, piece.piece.cast_on).hash(&mut hasher);
    for row in &piece.worked.rows {
        (&row.label, row.side, row.ops.len()).hash(&mut hasher);
        row.ops.iter().for_each(|stitch| stitch.op.hash(&mut hasher));
    }
    hasher.finish()
}

impl Subject<'_> {
    /// The pieces in the order of the text.
    pub fn pieces(&self, written: &[Written], charts: &mut Charts) -> Vec<PieceView> {
        let pieces = &self.checked.reading().pieces;
        let charts = charts.of(pieces);
        let parts = pieces.iter().zip(written).zip(&charts).enumerate();
        parts.map(|(index, ((piece, written), chart))| self.piece(index, piece, written, chart)).collect()
    }

    fn piece(
        &self,
        index: usize,
        piece: &PieceReading,
        written: &Written,
        chart: &Result<Drawn, ChartError>,
    ) -> PieceView {
        PieceView {
            name: piece_name(&self.checked.reading().pieces, index),
            worked: piece.piece.worked.into(),
            cast_on: piece.piece.cast_on,
            cast_on_written: written.cast_on.clone(),
            multiple: piece.piece.multiple.map(|multiple| Multiple { of: multiple.of, plus: multiple.plus }),
            rows: self.rows(index, piece, written),
            chart: chart.as_ref().ok().map(|drawn| drawn.svg.clone()),
            chart_error: chart.as_ref().err().map(ToString::to_string),
            key: chart.as_ref().ok().map(|drawn| drawn.key.clone()),
            size: self.given.gauge.map(|gauge| gauge.size_of(piece).to_string()),
        }
    }

    fn rows(&self, index: usize, piece: &PieceReading, written: &Written) -> Vec<RowView> {
        let mut rows: Vec<RowView> = (0..piece.worked.rows.len()).map(|row| self.row(piece, row)).collect();
        for (line, shared) in written.rows.iter().enumerate() {
            for &row in &shared.rows {
                if let Some(row) = rows.get_mut(row) {
                    row.line = line as u32;
                }
            }
        }
        for fault in faults(self.checked.reading()).into_iter().filter(|fault| fault.piece == index) {
            if let Some(row) = rows.get_mut(fault.row) {
                row.fault.get_or_insert(capital(&format!("{} {}", fault.place, fault.message)));
            }
        }
        rows
    }

    fn row(&self, piece: &PieceReading, index: usize) -> RowView {
        let row = &piece.worked.rows[index];
        let runs = row.ops.chunk_by(|a, b| a.span == b.span).map(|run| {
            let at = self.places.at(run[0].span);
            (at.map(|At(start, _)| start), at.map(|At(_, end)| end), run.len() as u32)
        });
        RowView {
            label: row.label.clone(),
            side: row.side.into(),
            before: row.before,
            after: row.after,
            written: rows::worked(piece, index, self.given.terms),
            at: self.places.at(row.span),
            stitches: runs.collect(),
            fault: None,
            line: 0,
        }
    }
}

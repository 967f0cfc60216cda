//! What holds for every chart: it is the rows, no more and no less.

mod common;

use chart::{Cell, Chart, ChartError, Options, Style, Symbol};
use loops::{Cross, Op, Piece, Row, Side, Stitch, Worked, work};
use proptest::collection::vec;
use proptest::prelude::*;
use span::Span;

fn op() -> impl Strategy<Value = Op> {
    let cross =
        (1..4u8, 1..4u8, any::<[bool; 3]>()).prop_map(|(held, worked, [front, held_purl, worked_purl])| {
            Op::Cross(Cross { held, worked, front, held_purl, worked_purl })
        });
    prop_oneof![
        6 => prop::sample::select(&[Op::K, Op::P, Op::K, Op::Yo, Op::K2tog][..]),
        3 => prop::sample::select(Op::NAMED),
        1 => cross,
    ]
}

/// Rows of any operations, mostly with faults.
fn wild() -> impl Strategy<Value = Piece> {
    let rows = vec((any::<bool>(), vec(op(), 0..14)), 1..12);
    (0..16u32, any::<bool>(), rows).prop_map(|(cast_on, round, rows)| {
        let rows = rows.into_iter().map(|(wrong, ops)| (wrong && !round, ops)).collect::<Vec<_>>();
        built(cast_on, round, &rows)
    })
}

/// Rows that fit: edges and equal repeats, each row taking what the last one left.
fn fitting() -> impl Strategy<Value = Piece> {
    let rows = vec((any::<bool>(), vec(op(), 1..8)), 1..8);
    (0..4usize, 1..7usize, 2..7usize, rows).prop_map(|(edge, width, times, rows)| {
        let cast_on = (2 * edge + width * times) as u32;
        let mut width = width;
        let rows = rows.into_iter().map(|(wrong, ops)| {
            let (body, next) = fitted(&ops, width);
            width = next;
            let edge = vec![Op::K; edge];
            (wrong, [edge.clone(), body.repeat(times), edge].concat())
        });
        built(cast_on, false, &rows.collect::<Vec<_>>())
    })
}

/// The operations as far as they fit, the rest knitted; with what they make.
fn fitted(ops: &[Op], width: usize) -> (Vec<Op>, usize) {
    let (mut left, mut out) = (width, Vec::new());
    for &op in ops {
        let takes = op.takes() as usize;
        if op != Op::Turn && takes <= left {
            left -= takes;
            out.push(op);
        }
    }
    out.extend(vec![Op::K; left]);
    let makes = out.iter().map(|op| op.makes() as usize).sum();
    (out, makes)
}

fn built(cast_on: u32, round: bool, rows: &[(bool, Vec<Op>)]) -> Piece {
    let rows = rows.iter().enumerate().map(|(index, (wrong, ops))| {
        let side = if *wrong { Side::Wrong } else { Side::Right };
        let stitches: Vec<Stitch> = ops.iter().map(|&op| Stitch { op, span: Span::DETACHED }).collect();
        Row::of((index + 1).to_string(), side, &stitches)
    });
    Piece::of_rows(if round { Worked::Round } else { Worked::Flat }, cast_on, rows.collect())
}

fn check(piece: &Piece, options: &Options) -> Result<(), TestCaseError> {
    let chart = match Chart::of(piece, options) {
        Ok(chart) => chart,
        Err(error) => {
            prop_assert_eq!(error, ChartError::Empty);
            return Ok(());
        }
    };
    for (index, row) in work(piece).rows.iter().enumerate() {
        let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
        prop_assert_eq!(chart.worked(index), Some(ops), "row {}\n{}", index, chart);
    }
    for row in &chart.rows {
        let mut next = 0;
        for cell in &row.cells {
            prop_assert_eq!(cell.column, next, "gaps or overlaps in row {}\n{}", row.label, chart);
            next += cell.width;
            prop_assert!(is_shown_by_its_operation(cell, row.side));
            prop_assert!(chart.key.iter().any(|entry| entry.symbol == cell.symbol));
        }
        prop_assert_eq!(next, chart.columns, "row {}\n{}", row.label, chart);
    }
    Ok(())
}

fn is_shown_by_its_operation(cell: &Cell, side: Side) -> bool {
    match cell.op {
        Some(op) => cell.symbol == Symbol::of(op, side),
        None => matches!(cell.symbol, Symbol::NoStitch | Symbol::Unworked),
    }
}

proptest! {
    #[test]
    fn a_chart_gives_back_its_rows_whatever_they_hold(piece in wild()) {
        check(&piece, &Options::WHOLE)?;
        check(&piece, &Options { fold_above: 0, collapse_from: 2 })?;
    }

    #[test]
    fn a_folded_chart_gives_back_its_rows(piece in fitting()) {
        check(&piece, &Options { fold_above: 0, collapse_from: 2 })?;
        check(&piece, &Options::default())?;
    }

    #[test]
    fn every_drawing_is_well_formed(piece in wild(), name in any::<Option<String>>()) {
        let piece = Piece { name, ..piece };
        if let Ok(chart) = Chart::of(&piece, &Options::default()) {
            for svg in [chart.to_svg(&Style::default()), chart.key_svg(300.0, &Style::default())] {
                let parsed = roxmltree::Document::parse(&svg);
                prop_assert!(parsed.is_ok(), "{:?}", parsed.err());
            }
        }
    }
}

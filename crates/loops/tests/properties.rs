//! Properties of working that hold for any program: sound ones and faulty ones.

mod common;

use common::{piece, steps};
use loops::{
    ClothGraph, Cross, FaultKind, Op, Piece, Row, Side, Step, Stitch, Worked, parse_tokens, tally, tokens,
    work,
};
use proptest::prelude::*;
use span::Span;

fn any_op() -> impl Strategy<Value = Op> {
    let crossing =
        (1u8..4, 1u8..4, any::<[bool; 3]>()).prop_map(|(held, worked, [front, held_purl, worked_purl])| {
            Op::Cross(Cross { held, worked, front, held_purl, worked_purl })
        });
    prop_oneof![8 => prop::sample::select(Op::NAMED), 1 => crossing]
}

fn any_steps() -> impl Strategy<Value = Vec<Step>> {
    let step = (any_op(), 0usize..500).prop_map(|(op, at)| Step::Work(op, Span::new(at, at + 1)));
    let step = step.prop_recursive(3, 24, 5, |inner| {
        (0u32..4, prop::collection::vec(inner, 0..5)).prop_map(|(times, steps)| Step::Times(times, steps))
    });
    prop::collection::vec(step, 0..8)
}

fn any_frame() -> impl Strategy<Value = (Worked, Side)> {
    let worked = prop_oneof![Just(Worked::Flat), Just(Worked::Round)];
    let side = prop_oneof![Just(Side::Right), Just(Side::Wrong)];
    (worked, side)
}

/// A piece that need not come out at all.
fn any_piece() -> impl Strategy<Value = Piece> {
    (any_frame(), 0u32..30, prop::collection::vec(any_steps(), 0..8), 0usize..16).prop_map(
        |((worked, side), cast_on, rows, slid)| {
            let mut made = piece(worked, side, cast_on, rows);
            // Now and then a row is worked on the same side as the one before.
            if let Some(row) = made.rows.get_mut(slid) {
                row.side = row.side.turned();
            }
            made
        },
    )
}

/// A piece that comes out: each row takes what is there, or turns. Wishes that do not fit are passed over.
fn sound_piece() -> impl Strategy<Value = Piece> {
    let row = (prop::collection::vec(any_op(), 0..12), prop::option::weighted(0.3, 0.0f64..1.0));
    (any_frame(), 1u32..24, prop::collection::vec(row, 1..10)).prop_map(
        |((worked, side), cast_on, wishes)| {
            let mut maker = Maker { worked, near: cast_on, far: 0, held: 0 };
            let rows = wishes.iter().map(|(wishes, turn)| maker.row(wishes, *turn)).collect();
            piece(worked, side, cast_on, rows)
        },
    )
}

/// Follows the counts on both needles while a sound piece is made up.
struct Maker {
    worked: Worked,
    near: u32,
    far: u32,
    held: u32,
}

impl Maker {
    fn row(&mut self, wishes: &[Op], turn: Option<f64>) -> Vec<Step> {
        let stop = turn.map_or(0, |part| (f64::from(self.near) * part) as u32);
        let turns = turn.is_some() || self.far > 0;
        let mut left = self.near - stop;
        let mut ops = Vec::new();
        for &op in wishes {
            if op == Op::Turn || op.takes() > left || (op == Op::Take && self.held == 0) {
                continue;
            }
            left -= op.takes();
            self.held += u32::from(op == Op::Hold);
            self.held -= u32::from(op == Op::Take);
            ops.push(op);
        }
        ops.extend(std::iter::repeat_n(Op::K, left as usize));
        let made: u32 = ops.iter().map(|op| op.makes()).sum();
        if turns {
            ops.push(Op::Turn);
        }
        (self.near, self.far) = match self.worked {
            Worked::Flat => (self.far + made, stop),
            Worked::Round => (stop + made, 0),
        };
        ops.into_iter().map(|op| Step::Work(op, Span::DETACHED)).collect()
    }
}

fn spelled_out(piece: &Piece) -> Piece {
    let spell = |row: &Row| Row { steps: steps(&row.ops().expect("short rows")), ..row.clone() };
    Piece { rows: piece.rows.iter().map(spell).collect(), ..piece.clone() }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(512) })]

    #[test]
    fn loops_are_neither_made_nor_lost(piece in any_piece()) {
        let graph = ClothGraph::work(&piece).unwrap();
        prop_assert_eq!(graph.check(), Ok(()));
        let counted = work(&piece);
        prop_assert_eq!(graph.rows().len(), counted.rows.len() + 1);
        for (row, counted) in graph.rows()[1..].iter().zip(&counted.rows) {
            let sum = tally(&counted.ops);
            prop_assert_eq!((row.before, row.after), (counted.before, counted.after));
            prop_assert_eq!((row.taken + row.missing, row.made()), (sum.takes, sum.makes));
            prop_assert_eq!(row.side, counted.side);
        }
    }

    #[test]
    fn a_fault_in_the_counts_is_a_loss_or_a_lack_in_the_cloth(piece in any_piece()) {
        let graph = ClothGraph::work(&piece).unwrap();
        let faults = work(&piece).faults;
        for (index, row) in graph.rows()[1..].iter().enumerate() {
            let has = |test: fn(&FaultKind) -> bool| faults.iter().any(|f| f.row == index && test(&f.kind));
            prop_assert_eq!(row.left > 0, has(|kind| matches!(kind, FaultKind::RowShort { .. })));
            prop_assert_eq!(row.missing > 0, has(|kind| matches!(kind, FaultKind::RowLong { .. })));
        }
    }

    #[test]
    fn repeats_and_the_same_spelled_out_give_one_cloth(piece in any_piece()) {
        let spelled = spelled_out(&piece);
        prop_assert_eq!(ClothGraph::work(&piece), ClothGraph::work(&spelled));
        prop_assert_eq!(work(&piece), work(&spelled));
    }

    #[test]
    fn tokens_are_read_back(ops in prop::collection::vec((any_op(), 1usize..4), 0..20)) {
        let ops: Vec<Stitch> = ops
            .into_iter()
            .flat_map(|(op, times)| std::iter::repeat_n(Stitch { op, span: Span::DETACHED }, times))
            .collect();
        prop_assert_eq!(parse_tokens(&tokens(&ops)), Ok(ops));
    }

    #[test]
    fn any_text_is_read_as_tokens_or_refused(text in "[kpyo2tgc/fb()*,0-9 ]{0,40}|.{0,20}") {
        if let Ok(ops) = parse_tokens(&text) {
            prop_assert_eq!(parse_tokens(&tokens(&ops)), Ok(ops));
        }
    }

    #[test]
    fn a_sound_piece_has_no_fault(piece in sound_piece()) {
        prop_assert_eq!(work(&piece).faults, Vec::new());
        let graph = ClothGraph::work(&piece).unwrap();
        prop_assert_eq!(graph.check(), Ok(()));
        for row in graph.rows() {
            prop_assert_eq!((row.left, row.missing, row.out_of_reach), (0, 0, 0));
        }
    }

    #[test]
    fn a_dropped_operation_gives_a_fault_in_its_own_row(piece in sound_piece(), pick in any::<prop::sample::Index>()) {
        let consuming: Vec<(usize, usize)> = piece
            .rows
            .iter()
            .enumerate()
            .flat_map(|(row, steps)| (0..steps.steps.len()).map(move |step| (row, step)))
            .filter(|&(row, step)| matches!(&piece.rows[row].steps[step], Step::Work(op, _) if op.takes() > 0))
            .collect();
        prop_assume!(!consuming.is_empty());
        let (row, step) = *pick.get(&consuming);
        let mut damaged = piece.clone();
        damaged.rows[row].steps.remove(step);
        let first = work(&damaged).faults.first().map(|fault| fault.row);
        let turns = tally(&piece.rows[row].ops().unwrap()).turns;
        if turns {
            prop_assert!(first.is_none_or(|first| first >= row));
        } else {
            prop_assert_eq!(first, Some(row));
        }
    }
}

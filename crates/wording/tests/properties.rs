//! What must hold for any row and any piece.

use loops::{Cross, Op, Piece, ROW_LIMIT, Row, Side, Step, Worked, side_of, work};
use proptest::prelude::*;
use span::Span;
use wording::{Body, Phrase, Terms, Width, fold, write};

fn op() -> impl Strategy<Value = Op> {
    let cross = (1u8..4, 1u8..4, any::<bool>(), any::<bool>(), any::<bool>());
    let cross = cross.prop_map(|(held, worked, front, held_purl, worked_purl)| {
        Op::Cross(Cross { held, worked, front, held_purl, worked_purl })
    });
    prop_oneof![
        6 => prop::sample::select(vec![Op::K, Op::P, Op::Yo, Op::K2tog, Op::Slp]),
        2 => prop::sample::select(Op::NAMED),
        1 => cross,
    ]
}

/// A row of singles and of repeats, some of them within another, cut at 60 operations.
fn row() -> impl Strategy<Value = Vec<Op>> {
    let repeated =
        |unit: BoxedStrategy<Vec<Op>>| (unit, 1usize..8).prop_map(|(unit, times)| unit.repeat(times));
    let run = repeated(op().prop_map(|op| vec![op]).boxed());
    let inner = repeated(prop::collection::vec(op(), 1..4).boxed());
    let mixed = prop::collection::vec(prop_oneof![run, inner], 1..4).prop_map(|parts| parts.concat());
    let outer = repeated(mixed.boxed());
    prop::collection::vec(outer, 0..4).prop_map(|parts| {
        let mut ops = parts.concat();
        ops.truncate(60);
        ops
    })
}

fn width() -> impl Strategy<Value = Width> {
    prop::sample::select(vec![Width::Fixed, Width::Open])
}

fn takes(ops: &[Op]) -> u32 {
    ops.iter().map(|op| op.takes()).sum()
}

/// Steps that are written, a bracket or a star counted as two.
fn written_length(phrase: &Phrase) -> usize {
    let brackets = |part: &wording::Part| usize::from(matches!(part, wording::Part::Times { .. }));
    let runs = phrase.runs().count();
    let marks = phrase.steps.iter().map(|step| match step {
        wording::Step::Part(part) => 2 * brackets(part),
        wording::Step::Across { unit, .. } => 1 + unit.iter().map(|part| 2 * brackets(part)).sum::<usize>(),
        wording::Step::Sweep { .. } | wording::Step::BindOffAll => 1,
    });
    runs + marks.sum::<usize>()
}

/// A piece of few kinds of rows, so that many are alike.
fn any_piece() -> impl Strategy<Value = Piece> {
    let kinds = prop::collection::vec(
        prop::sample::select(vec!["k", "p", "k2tog yo", "k p", "slp k", "k2tog k"]),
        1..5,
    );
    let worked = prop::sample::select(vec![Worked::Flat, Worked::Round]);
    let labels = prop::sample::select(vec!["", "border ", "-"]);
    let rows = prop::collection::vec((0usize..5, labels), 0..30);
    (kinds, worked, rows, 1usize..4, 1u32..5).prop_map(|(kinds, worked, order, repeats, width)| {
        let order = order.repeat(repeats);
        let mut piece = Piece::of_rows(worked, 12 * width, Vec::new());
        for (index, (kind, section)) in order.iter().enumerate() {
            // A repeat over what the row before left keeps most rows in step; the rest are faulty on purpose.
            let on_needle = work(&piece).rows.last().map_or(piece.cast_on, |row| row.after);
            let unit = loops::parse_tokens(kinds[kind % kinds.len()]).expect("these tokens are good");
            let unit: Vec<Step> = unit.iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect();
            let times = (on_needle / 2).clamp(1, 30);
            let label = if *section == "-" { "odd".to_owned() } else { format!("{section}{}", index + 1) };
            let side = side_of(worked, Side::Right, index);
            piece.rows.push(Row { label, side, steps: vec![Step::Times(times, unit)], span: Span::DETACHED });
        }
        piece
    })
}

proptest! {
    #[test]
    fn folding_loses_no_operation(ops in row(), unworked in 0u32..9, width in width()) {
        let before = takes(&ops) + unworked;
        let phrase = fold(&ops, before, width);
        prop_assert_eq!(phrase.expand(before), Some(ops));
    }

    #[test]
    fn folding_a_row_that_does_not_fit_loses_no_operation(ops in row(), before in 0u32..200, width in width()) {
        prop_assert_eq!(fold(&ops, before, width).expand(before), Some(ops));
    }

    #[test]
    fn folding_never_lengthens(ops in row()) {
        let runs = ops.chunk_by(|a, b| a == b).count();
        let phrase = fold(&ops, takes(&ops), Width::Fixed);
        // A lone operation that is repeated over most of a row costs a star for the sake of other widths.
        prop_assert!(written_length(&phrase) <= runs + 1, "{phrase:?}");
    }

    #[test]
    fn grouping_loses_no_row(piece in any_piece()) {
        let written = write(&piece, Terms::Us);
        let counts = work(&piece);
        let mut phrases: Vec<Option<Phrase>> = vec![None; piece.rows.len()];
        let mut firsts = Vec::new();
        for line in &written.rows {
            firsts.push(line.rows[0]);
            for (place, &row) in line.rows.iter().enumerate() {
                prop_assert!(phrases[row].is_none(), "row {row} stands in two lines");
                prop_assert_eq!(&line.labels[place], &piece.rows[row].label);
                phrases[row] = match &line.body {
                    Body::Steps(phrase) => Some(phrase.clone()),
                    Body::Repeat { of, times } => {
                        prop_assert_eq!(of.len() * times, line.rows.len());
                        prop_assert!(of.end <= line.rows[0]);
                        let source = of.start + place % of.len();
                        prop_assert_eq!(piece.rows[source].side, piece.rows[row].side);
                        phrases[source].clone()
                    }
                    Body::TooLong => None,
                };
            }
        }
        prop_assert!(firsts.is_sorted());
        for (row, phrase) in counts.rows.iter().zip(&phrases) {
            let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
            prop_assert_eq!(phrase.as_ref().and_then(|phrase| phrase.expand(row.before)), Some(ops));
        }
    }
}

#[test]
fn the_longest_rows_are_folded() {
    let random = |seed: u32, kinds: u32| {
        let mut state = seed;
        std::iter::repeat_with(move || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            Op::NAMED[(state >> 16) as usize % kinds as usize]
        })
    };
    let rows: [Vec<Op>; 5] = [
        vec![Op::K; ROW_LIMIT],
        [Op::Yo, Op::K2tog].repeat(ROW_LIMIT / 2),
        random(1, 2).take(ROW_LIMIT).collect(),
        random(2, 40).take(500).collect::<Vec<_>>().repeat(ROW_LIMIT / 500),
        [vec![Op::K; 300], vec![Op::P]].concat().repeat(ROW_LIMIT / 301),
    ];
    for ops in rows {
        let before = takes(&ops);
        assert_eq!(fold(&ops, before, Width::Fixed).expand(before), Some(ops));
    }
}

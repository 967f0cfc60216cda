//! The cloth graph of small pieces, each followed by hand.
//!
//! Common practice, no published source, where nothing else is named.

mod common;

use loops::{
    ClothGraph, ClothStitch, DoesNotRepeat, Face, Fate, Hang, Layer, Piece, Repeat, Row, RowId, Side, Slip,
    Step, StitchId,
};
use loops::{Worked, parse_tokens};

/// A piece of tokens whose first row shows the right side.
fn piece(worked: Worked, cast_on: u32, rows: &[&str]) -> Piece {
    let rows =
        rows.iter().map(|tokens| common::steps(&parse_tokens(tokens).expect("known tokens"))).collect();
    common::piece(worked, Side::Right, cast_on, rows)
}

fn work(piece: &Piece) -> ClothGraph {
    let graph = ClothGraph::work(piece).expect("a small piece");
    assert_eq!(graph.check(), Ok(()));
    graph
}

/// The parents of every stitch of a row, as `0+1 2 -`; a dash for none.
fn parents(graph: &ClothGraph, row: usize) -> String {
    let told = graph.rows()[row].stitches().map(|id| match graph.parents(id) {
        [] => "-".to_owned(),
        parents => parents.iter().map(|id| id.index().to_string()).collect::<Vec<_>>().join("+"),
    });
    told.collect::<Vec<_>>().join(" ")
}

/// One letter a stitch for what a row shows on the right side.
fn faces(graph: &ClothGraph, row: usize) -> String {
    let letter = |id: StitchId| match graph.stitches()[id.index()].face {
        Face::Plain => 'v',
        Face::Purl => '-',
        Face::Open => 'o',
    };
    graph.rows()[row].stitches().map(letter).collect()
}

fn row_of(graph: &ClothGraph, row: usize) -> Vec<&ClothStitch> {
    graph.rows()[row].stitches().map(|id| &graph.stitches()[id.index()]).collect()
}

/// Cast-on, rows, and the parents of every row in flat work; stitches are numbered from the cast-on.
#[test]
fn flat_rows_go_there_and_back() {
    let cases: &[(u32, &[&str], &[&str])] = &[
        (3, &["k*3", "p*3"], &["2 1 0", "5 4 3"]),
        // The second leaf of each decrease is the farther one; a yarn over stands on nothing.
        (4, &["k k2tog yo k", "p*4"], &["3 2+1 - 0", "7 6 5 4"]),
        (2, &["kfb k1p1k1"], &["1 1 0 0 0"]),
        // Slip 1, knit 2, pass the slipped one over both.
        (3, &["s1k2po"], &["2+1 0"]),
        // Two bound off, then the loop left on the right needle is the first of the rest.
        (5, &["bo*2 k*3", "p*3 co*2"], &["2 1 0", "7 6 5 - -"]),
        // Held 2, worked 1: the worked one comes first.
        (3, &["c2/1f"], &["0 2 1"]),
        // A short row: two stitches wait, and are met again after the row back.
        (4, &["k*2 turn", "p*2 turn", "k*4"], &["3 2", "5 4", "7 6 1 0"]),
        // Decreasing over the gap of a heel.
        (5, &["k k2tog turn", "p*2 turn", "k k2tog k"], &["4 3+2", "6 5", "8 7+1 0"]),
        // First put on the holder, first taken back; the parent is the held stitch.
        (4, &["k hold*2 k", "p take*2 p"], &["3 0", "5 2 1 4"]),
    ];
    for (cast_on, rows, expected) in cases {
        let graph = work(&piece(Worked::Flat, *cast_on, rows));
        for (index, expected) in expected.iter().enumerate() {
            assert_eq!(parents(&graph, index + 1), *expected, "row {} of {rows:?}", index + 1);
        }
        assert!(graph.rows().iter().all(|row| row.missing == 0 && row.out_of_reach == 0), "{rows:?}");
    }
}

#[test]
fn rounds_go_on_and_turn_only_when_told() {
    let cases: &[(u32, &[&str], &[&str])] = &[
        (3, &["k*3", "k*3"], &["0 1 2", "3 4 5"]),
        (4, &["k2tog k*2", "k*3"], &["0+1 2 3", "4 5 6"]),
        // A heel in the round: back over the same stitches, and on past them round the ring.
        (4, &["k*2 turn", "p*2 turn", "k*4"], &["0 1", "5 4", "7 6 2 3"]),
        (4, &["k*2 turn", "p*3 turn"], &["0 1", "5 4 3"]),
    ];
    for (cast_on, rows, expected) in cases {
        let graph = work(&piece(Worked::Round, *cast_on, rows));
        for (index, expected) in expected.iter().enumerate() {
            assert_eq!(parents(&graph, index + 1), *expected, "round {} of {rows:?}", index + 1);
        }
    }
}

#[test]
fn faces_are_those_of_the_right_side() {
    let cases: &[(&[&str], &str)] = &[
        (&["k*4"], "vvvv"),
        (&["k*4", "p*4"], "vvvv"),
        (&["k*4", "k*4"], "----"),
        (&["k yo p2tog k"], "vo-v"),
        (&["k*4", "k k1p1 p*2"], "--vvv"),
        (&["kyok c1/1b(p,k) k"], "vovv-v"),
        // A slipped stitch shows what it showed.
        (&["k p k p", "slp*2 p*2"], "-vvv"),
    ];
    for (rows, expected) in cases {
        let graph = work(&piece(Worked::Flat, 4, rows));
        assert_eq!(faces(&graph, rows.len()), *expected, "{rows:?}");
    }
}

/// Where the yarn runs is told from the right side: before the stitch on a wrong-side row is behind it.
#[test]
fn a_slip_carries_the_yarn_where_it_was() {
    use Slip::{YarnBack, YarnFront, YarnOver};
    let cases: &[(&[&str], &[Option<Slip>])] = &[
        (&["k slwyif slwyib slyo"], &[None, Some(YarnFront), Some(YarnBack), Some(YarnOver)]),
        (&["k*4", "p slwyif slwyib p"], &[None, Some(YarnBack), Some(YarnFront), None]),
        (&["slp k p slp"], &[Some(YarnBack), None, None, Some(YarnFront)]),
        // The yarn is behind after a knitted row, and so before the worker when she has turned.
        (&["k*4", "slp k*3"], &[Some(YarnBack), None, None, None]),
    ];
    for (rows, expected) in cases {
        let graph = work(&piece(Worked::Flat, 4, rows));
        let slips: Vec<_> = row_of(&graph, rows.len()).iter().map(|stitch| stitch.slipped).collect();
        assert_eq!(slips, *expected, "{rows:?}");
    }
}

/// A crossing held in front passes over on a right-side row, and under on a wrong-side row.
#[test]
fn the_layers_of_a_crossing_are_those_of_the_right_side() {
    use Layer::{Over, Under};
    let layers = |rows: &[&str]| -> Vec<_> {
        let graph = work(&piece(Worked::Flat, 3, rows));
        row_of(&graph, rows.len()).iter().map(|stitch| stitch.crossing).collect()
    };
    assert_eq!(layers(&["c2/1f"]), [Some(Under), Some(Over), Some(Over)]);
    assert_eq!(layers(&["c2/1b"]), [Some(Over), Some(Under), Some(Under)]);
    assert_eq!(layers(&["k*3", "c2/1f(p,p)"]), [Some(Over), Some(Under), Some(Under)]);
    assert_eq!(layers(&["k*3"]), [None, None, None]);
}

#[test]
fn twist_stays_with_a_slipped_stitch() {
    let graph = work(&piece(Worked::Flat, 2, &["ktbl k", "slp*2"]));
    let twisted: Vec<_> = row_of(&graph, 2).iter().map(|stitch| stitch.twisted).collect();
    assert_eq!(twisted, [false, true]);
}

#[test]
fn a_stitch_knows_its_operation() {
    let graph = work(&piece(Worked::Flat, 4, &["k k2tog yo2 k", "p*5"]));
    let operations: Vec<Option<u32>> = graph.stitches().iter().map(|stitch| stitch.operation).collect();
    let made = [0, 1, 2, 2, 3, 4, 5, 6, 7, 8].map(Some);
    assert_eq!(operations, [[None; 4].as_slice(), &made].concat());
}

#[test]
fn every_end_is_told() {
    let graph = work(&piece(Worked::Flat, 5, &["bo drop hold k2tog", "k"]));
    let fates: Vec<_> = graph.stitches().iter().map(|stitch| stitch.fate).collect();
    let (row, [decrease, last]) = (RowId::new(1), [5, 6].map(StitchId::new));
    let expected = [
        Fate::Worked(decrease),
        Fate::Worked(decrease),
        Fate::Held(row),
        Fate::Dropped(row),
        Fate::BoundOff(row),
        Fate::Worked(last),
        Fate::Live,
    ];
    assert_eq!(fates, expected);
    assert_eq!(row.in_piece(), Some(0));
    assert_eq!(graph.live(), [last]);
}

#[test]
fn loops_without_parents_hang_somewhere() {
    let graph = work(&piece(Worked::Flat, 2, &["k yo2 k pu co", "p*5 p*3", "take co*3"]));
    let id = |place| Some(StitchId::new(place));
    let hangs = |place| graph.hangs(StitchId::new(place));
    assert_eq!(hangs(0), Hang::CastOn);
    assert_eq!(hangs(2), Hang::Parents(&[StitchId::new(1)]));
    assert_eq!((hangs(3), hangs(4)), (Hang::Between(id(2), id(4)), Hang::Between(id(3), id(5))));
    assert_eq!(hangs(6), Hang::Edge(id(5)));
    assert_eq!(hangs(7), Hang::Between(id(6), None));
    assert_eq!(hangs(14), Hang::Missing, "a purl beyond the needle's end");
    assert_eq!(hangs(16), Hang::Missing, "taken from an empty holder");
    assert_eq!(hangs(99), Hang::Missing, "an id of another graph");
    assert_eq!((graph.next(StitchId::new(7)), graph.previous(StitchId::new(2))), (None, None));
}

#[test]
fn the_live_stitches_are_told_as_the_next_row_meets_them() {
    let live = |worked, rows: &[&str]| -> Vec<usize> {
        work(&piece(worked, 4, rows)).live().iter().map(|id| id.index()).collect()
    };
    assert_eq!(live(Worked::Flat, &[]), [3, 2, 1, 0]);
    assert_eq!(live(Worked::Flat, &["k*4"]), [7, 6, 5, 4]);
    assert_eq!(live(Worked::Flat, &["k*2 turn"])[..2], [5, 4]);
    assert_eq!(live(Worked::Round, &["k*4"]), [4, 5, 6, 7]);
}

#[test]
fn faults_do_not_stop_the_work() {
    let graph = work(&piece(Worked::Flat, 4, &["k*2", "p*2 p2tog", "k*3"]));
    let accounts: Vec<_> = graph.rows().iter().map(|row| (row.left, row.missing, row.after)).collect();
    assert_eq!(accounts, [(0, 0, 4), (2, 0, 2), (0, 2, 3), (0, 0, 3)]);
    assert_eq!(graph.stitches()[0].fate, Fate::Left(RowId::new(1)));
}

/// The counts agree, and yet the stitches beyond the turn cannot be worked.
#[test]
fn stitches_behind_the_worker_are_told() {
    let graph = work(&piece(Worked::Flat, 4, &["k*3 turn", "p*4"]));
    assert_eq!(graph.rows()[2].out_of_reach, 1);
    assert_eq!(parents(&graph, 2), "6 5 4 0");
}

/// A row with the same side facing again is begun where the row before began, the stitches slid along.
#[test]
fn a_second_row_on_the_same_side_begins_at_the_same_edge() {
    let mut slid = piece(Worked::Flat, 3, &["k*3", "k*3"]);
    slid.rows[1].side = Side::Right;
    let graph = work(&slid);
    assert_eq!((parents(&graph, 2), faces(&graph, 2)), ("3 4 5".to_owned(), "vvv".to_owned()));
}

#[test]
fn a_stitch_is_small_and_too_many_are_refused() {
    assert!(size_of::<ClothStitch>() <= 64, "{} bytes", size_of::<ClothStitch>());
    assert!(ClothGraph::work(&piece(Worked::Flat, u32::MAX, &["k"])).is_err());
    assert!(ClothGraph::work(&piece(Worked::Round, 8, &["c255/255f*20000"])).is_err());
}

#[test]
fn a_row_too_long_is_passed_over() {
    let mut long = piece(Worked::Flat, 2, &["k*2", "p*2"]);
    long.rows[0].steps = vec![Step::Times(u32::MAX, common::steps(&parse_tokens("k").unwrap()))];
    let graph = work(&long);
    assert_eq!((graph.rows()[1].made(), graph.rows()[1].after, graph.rows()[2].out_of_reach), (0, 2, 0));
    assert_eq!(parents(&graph, 2), "0 1");
}

#[test]
fn stitches_keep_the_words_they_came_from() {
    let op = parse_tokens("k").unwrap()[0].op;
    let words = span::Span::new(4, 11);
    let mut spanned = piece(Worked::Round, 1, &[""]);
    spanned.rows = vec![Row { steps: vec![Step::Work(op, words)], ..spanned.rows[0].clone() }];
    assert_eq!(row_of(&work(&spanned), 1)[0].span, words);
}

/// The set-up row of brioche is worked once; the rows after it follow each other, there and back.
#[test]
fn rows_that_set_the_work_up_are_not_worked_again() {
    let told = |piece: &Piece, rows: usize| -> Vec<String> {
        let long = piece.with_rows(rows).expect("it repeats");
        assert_eq!(loops::work(&long).faults, []);
        let sides = |row: &Row| if row.side == Side::Right { "right" } else { "wrong" };
        long.rows.iter().map(|row| format!("{} {}", row.label, sides(row))).collect()
    };
    let brioche = piece(Worked::Flat, 6, &["k slyo k slyo k*2", "k slyo brk slyo brk k"]);
    assert_eq!(brioche.repeat(), Repeat { once: 1, again: 1 });
    assert_eq!(told(&brioche, 4), ["1 right", "2 wrong", "2 right", "2 wrong"]);
    let round = piece(Worked::Round, 4, &["slyo k slyo k", "brp slyo brp slyo", "slyo brk slyo brk"]);
    assert_eq!(round.repeat(), Repeat { once: 1, again: 2 });
    assert_eq!(told(&round, 5), ["1 right", "2 right", "3 right", "2 right", "3 right"]);
    // Nothing is laid over at the end, or nothing was found so before: then all rows follow themselves.
    let ended = piece(Worked::Flat, 4, &["k slyo k*2", "k brk k*2", "k*4"]);
    assert_eq!(ended.repeat().once, 0);
    assert_eq!(told(&ended, 4), ["1 right", "2 wrong", "3 right", "1 wrong"]);
    let plain = piece(Worked::Flat, 3, &["k*3", "p*3"]);
    assert_eq!((plain.repeat().once, told(&plain, 1)), (0, vec!["1 right".to_owned()]));
}

/// "Commence again from the 2nd row": the first is worked once, and the others leave what they find, not what was cast on.
#[test]
fn rows_before_the_one_to_begin_again_at_are_worked_once() {
    let widened = piece(Worked::Flat, 3, &["k m1 k*2", "p*4", "k*4"]);
    let told = Piece { once: 1, ..widened.clone() };
    let long = told.with_rows(6).expect("it repeats");
    let labels: Vec<&str> = long.rows.iter().map(|row| row.label.as_str()).collect();
    assert_eq!(labels, ["1", "2", "3", "2", "3", "2"]);
    let sides: Vec<bool> = long.rows.iter().map(|row| row.side == Side::Right).collect();
    assert_eq!(sides, [true, false, true, false, true, false]);
    assert_eq!(loops::work(&long).faults, []);
    assert_eq!(widened.with_rows(6), Err(DoesNotRepeat { begins: 3, ends: 4 }));
    assert_eq!(told.repeated(2).map(|twice| twice.rows.len()), Ok(5));
    // Where nothing is left to work again, the text cannot be meant so.
    assert_eq!(Piece { once: 3, ..widened }.repeat(), Repeat { once: 0, again: 3 });
}

/// A place leads to its time and row, and back; what is worked once is not met later on.
#[test]
fn places_tell_their_time_through_and_their_row() {
    let repeat = Repeat { once: 2, again: 3 };
    let told: Vec<(usize, usize)> = (0..9).map(|place| repeat.at(place)).collect();
    assert_eq!(told, [(0, 0), (0, 1), (0, 2), (0, 3), (0, 4), (1, 2), (1, 3), (1, 4), (2, 2)]);
    for (place, &(time, row)) in told.iter().enumerate() {
        assert_eq!(repeat.place(time, row), place);
    }
    assert_eq!((repeat.place(1, 0), repeat.rows(2), repeat.rows(0)), (5, 8, 0));
}

//! Programs to try the cloth with.
#![allow(dead_code, reason = "each test file uses some of these")]
#![allow(clippy::unwrap_used, reason = "a helper of tests")]

use loops::{Op, Piece, Side, Step, Worked, parse_tokens};

/// A piece of rows given as tokens, worked on `cast_on` stitches.
pub fn piece(worked: Worked, cast_on: u32, rows: impl IntoIterator<Item = String>) -> Piece {
    Piece::of_tokens(worked, Side::Right, cast_on, rows).unwrap()
}

/// Flat work of `rows` rows that repeats the given ones.
pub fn repeated(cast_on: u32, rows: usize, repeat: &[&str]) -> Piece {
    let tokens: Vec<String> = repeat.iter().map(|row| spread(row, cast_on)).collect();
    piece(Worked::Flat, cast_on, (0..rows).map(|row| tokens[row % tokens.len()].clone()))
}

/// Repeats the tokens of one motif until they take `count` stitches.
pub fn spread(motif: &str, count: u32) -> String {
    let takes: u32 = parse_tokens(motif).unwrap().iter().map(|s| s.op.takes()).sum();
    let mut out: Vec<String> = vec![motif.to_owned(); (count / takes) as usize];
    if !count.is_multiple_of(takes) {
        out.push(format!("k*{}", count % takes));
    }
    out.join(" ")
}

/// Plain fabric.
pub fn plain(stitches: u32, rows: usize) -> Piece {
    repeated(stitches, rows, &["k", "p"])
}

/// Garter.
pub fn garter(stitches: u32, rows: usize) -> Piece {
    repeated(stitches, rows, &["k", "k"])
}

/// A rib of `knit` and `purl` stitches by turns.
pub fn rib(stitches: u32, rows: usize, knit: u32, purl: u32) -> Piece {
    let front = format!("k*{knit} p*{purl}");
    let back = format!("k*{purl} p*{knit}");
    repeated(stitches, rows, &[&front, &back])
}

/// Cables of six stitches all over, two purl stitches between them.
pub fn cables(stitches: u32, rows: usize) -> Piece {
    let [front, plain, back] = ["p*2 c3/3f", "p*2 k*6", "p*6 k*2"].map(|motif| spread(motif, stitches));
    let rows = (0..rows).map(|row| match row % 8 {
        4 => front.clone(),
        row if row % 2 == 0 => plain.clone(),
        _ => back.clone(),
    });
    piece(Worked::Flat, stitches, rows)
}

/// A garter square from corner to corner, as a dishcloth is knitted: from 4 stitches to `most` by a yarn over after
/// the second stitch of every row, and back by drawing two together there.
pub fn corner_square(most: u32) -> Piece {
    let grow = (4..most).map(|count| format!("k*2 yo k*{}", count - 2));
    let shrink = (5..=most).rev().map(|count| match count {
        5 => "k*2 k2tog k".to_owned(),
        _ => format!("k*2 k2tog k*{}", count - 4),
    });
    piece(Worked::Flat, 4, grow.chain(shrink))
}

/// The same in garter: every other round purl.
pub fn garter_circle(most: u32) -> Piece {
    let mut piece = doubling_circle(most);
    for step in piece.rows.iter_mut().skip(1).step_by(2).flat_map(|row| &mut row.steps) {
        if let Step::Work(op, _) = step
            && *op == Op::K
        {
            *op = Op::P;
        }
    }
    piece
}

/// A circle by doubling: plain rounds between, as many as the round numbers of the rule, up to `most` stitches.
pub fn doubling_circle(most: u32) -> Piece {
    let mut rows = vec!["k*9".to_owned()];
    let (mut count, mut plain) = (9, 3);
    while count * 2 <= most {
        rows.push(vec!["yo k"; count as usize].join(" "));
        count *= 2;
        rows.extend(std::iter::repeat_n(format!("k*{count}"), plain));
        plain *= 2;
    }
    piece(Worked::Round, 9, rows)
}

/// A plain circle begun on `more` stitches, that grows by as many every `every` rounds.
pub fn growing_circle(more: u32, every: u32, rounds: u32) -> Piece {
    let round = |round: u32| match round.is_multiple_of(every) && round > 0 {
        true => vec![format!("k*{} m1", round / every); more as usize].join(" "),
        false => format!("k*{}", more * (round / every + 1)),
    };
    piece(Worked::Round, more, (0..rounds).map(round))
}

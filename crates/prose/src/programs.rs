//! Random programs that a book might hold: laces, textures, edgings, caps, cables, heels.
//!
//! Every program works without a fault; rows number from 1, sides are those of the craft. Knows nothing of words.
//! The shapes are common practice, no published source. Start at [`random_program`].

use loops::{Cross, Multiple, Op, Piece, Row, Side, Step, Worked, side_of};
use span::Span;

use crate::rng::Rng;

/// The widest piece, in stitches cast on.
pub const WIDEST: u32 = 60;

/// The kinds of program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Yarn overs and decreases across, with a multiple.
    Lace,
    /// The same in the round.
    RoundLace,
    /// Knit and purl figures.
    Texture,
    /// The same in the round.
    RoundTexture,
    /// Upright ribs.
    Rib,
    /// A lace edging that grows and is bound off again.
    Edging,
    /// A square from the corner.
    Corner,
    /// Decreasing rounds.
    Cap,
    /// Crossed stitches.
    Cable,
    /// Slipped stitches.
    SlipStitch,
    /// A heel turned with short rows.
    Heel,
    /// A strip between plain borders, told stitch by stitch.
    Insertion,
    /// An edging that grows by casting on at its pointed side and is bound off again.
    Vandyke,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 13] = [
        Kind::Lace,
        Kind::RoundLace,
        Kind::Texture,
        Kind::RoundTexture,
        Kind::Rib,
        Kind::Edging,
        Kind::Corner,
        Kind::Cap,
        Kind::Cable,
        Kind::SlipStitch,
        Kind::Heel,
        Kind::Insertion,
        Kind::Vandyke,
    ];

    /// How often books have it, roughly.
    fn weight(self) -> u32 {
        match self {
            Kind::Lace => 6,
            Kind::Edging => 5,
            Kind::Texture | Kind::RoundLace | Kind::Insertion => 3,
            Kind::Rib | Kind::Cap | Kind::RoundTexture | Kind::Corner | Kind::Cable | Kind::SlipStitch => 2,
            Kind::Heel | Kind::Vandyke => 1,
        }
    }
}

/// A program of a kind drawn from the seed.
pub fn random_program(seed: u64) -> Piece {
    let mut rng = Rng::new(seed);
    let kind = rng.weigh(Kind::ALL.map(|kind| (kind, kind.weight()))).unwrap_or(Kind::Lace);
    program_of(kind, &mut rng)
}

/// A program of one kind.
pub fn program_of(kind: Kind, rng: &mut Rng) -> Piece {
    match kind {
        Kind::Lace => lace(rng, Worked::Flat),
        Kind::RoundLace => lace(rng, Worked::Round),
        Kind::Texture => texture(rng, Worked::Flat),
        Kind::RoundTexture => texture(rng, Worked::Round),
        Kind::Rib => rib(rng),
        Kind::Edging => edging(rng),
        Kind::Corner => corner(rng),
        Kind::Cap => cap(rng),
        Kind::Cable => cable(rng),
        Kind::SlipStitch => slip_stitch(rng),
        Kind::Heel => heel(rng),
        Kind::Insertion => insertion(rng),
        Kind::Vandyke => vandyke(rng),
    }
}

type Ops = Vec<Op>;

/// A run of like operations.
fn run(op: Op, times: u32) -> Ops {
    vec![op; times as usize]
}

fn repeated(unit: &[Op], times: u32) -> Ops {
    unit.repeat(times as usize)
}

fn takes(ops: &[Op]) -> u32 {
    ops.iter().map(|op| op.takes()).sum()
}

fn makes(ops: &[Op]) -> u32 {
    ops.iter().map(|op| op.makes()).sum()
}

fn piece(worked: Worked, cast_on: u32, multiple: Option<Multiple>, rows: Vec<Ops>) -> Piece {
    let row = |(index, ops): (usize, Ops)| Row {
        label: (index + 1).to_string(),
        side: side_of(worked, Side::Right, index),
        steps: ops.into_iter().map(|op| Step::Work(op, Span::DETACHED)).collect(),
        span: Span::DETACHED,
    };
    let rows = rows.into_iter().enumerate().map(row).collect();
    Piece { multiple, ..Piece::of_rows(worked, cast_on, rows) }
}

/// How often a unit fits across, from 1 to 4.
fn repeats(rng: &mut Rng, width: u32, edges: u32) -> u32 {
    let most = ((WIDEST - edges) / width.max(1)).clamp(1, 4);
    rng.between(2.min(most), most)
}

fn multiple(times: u32, of: u32, plus: u32) -> Option<Multiple> {
    (times > 1).then_some(Multiple { of, plus })
}

// ---- lace ------------------------------------------------------------------------------------------------------

/// Pattern rows of one unit with the stitches that close them, all of one width.
fn lace_units(rng: &mut Rng) -> Vec<Ops> {
    match rng.below(4) {
        0 => slanting_holes(rng),
        1 => leaves(rng),
        2 => waves(rng),
        _ => mixed_lace(rng),
    }
}

fn slanting_holes(rng: &mut Rng) -> Vec<Ops> {
    let width = rng.between(3, 8);
    let decrease = if rng.chance(75) { Op::K2tog } else { Op::Skp };
    let first = rng.below(width - 1);
    let row = |index: u32| {
        let before = (first + index) % (width - 1);
        [run(Op::K, before), vec![Op::Yo, decrease], run(Op::K, width - 2 - before)].concat()
    };
    (0..rng.between(1, 6)).map(row).collect()
}

fn leaves(rng: &mut Rng) -> Vec<Ops> {
    let side = rng.between(1, 4);
    let double = [Op::Sk2p, Op::K3tog, Op::Sk2p][rng.below(3) as usize];
    let row = |moved: u32| {
        let [outer, inner] = [run(Op::K, moved), run(Op::K, side - moved)];
        [&outer[..], &[Op::Yo], &inner, &[double], &inner, &[Op::Yo], &outer, &[Op::K]].concat()
    };
    (0..=rng.below(side + 1)).map(row).collect()
}

fn waves(rng: &mut Rng) -> Vec<Ops> {
    let half = rng.between(1, 2);
    let open = [run(Op::K2tog, half), repeated(&[Op::Yo, Op::K], 2 * half), run(Op::K2tog, half)].concat();
    let plain = run(Op::K, 6 * half);
    (0..rng.between(1, 2)).flat_map(|_| [open.clone(), plain.clone()]).collect()
}

fn mixed_lace(rng: &mut Rng) -> Vec<Ops> {
    let width = rng.between(4, 12);
    (0..rng.between(1, 8)).map(|_| balanced(rng, width)).collect()
}

/// A unit that takes and makes `width`, with at least one hole, and no two holes side by side.
fn balanced(rng: &mut Rng, width: u32) -> Ops {
    for _ in 0..8 {
        let mut ops = Vec::new();
        while takes(&ops) < width {
            ops.extend(figure(rng, width - takes(&ops)));
        }
        let around = ops.iter().zip(ops.iter().cycle().skip(1));
        if ops.contains(&Op::Yo) && around.into_iter().all(|pair| pair != (&Op::Yo, &Op::Yo)) {
            return ops;
        }
    }
    [run(Op::K, width - 2), vec![Op::Yo, Op::K2tog]].concat()
}

/// A small balanced figure of at most `room` stitches.
fn figure(rng: &mut Rng, room: u32) -> Ops {
    let between = rng.below(4);
    let made = match rng.below(9) {
        0 | 1 => vec![Op::Yo, Op::K2tog],
        2 => vec![Op::Skp, Op::Yo],
        3 => vec![Op::Yo, Op::Sk2p, Op::Yo],
        4 => [vec![Op::K2tog], run(Op::K, between), vec![Op::Yo]].concat(),
        5 => [vec![Op::Yo], run(Op::K, between), vec![Op::K2tog]].concat(),
        6 => [vec![Op::Yo], run(Op::K, between), vec![Op::Skp]].concat(),
        _ => run(Op::K, between + 1),
    };
    if takes(&made) <= room { made } else { run(Op::K, room.min(between + 1)) }
}

fn lace(rng: &mut Rng, worked: Worked) -> Piece {
    let units = lace_units(rng);
    let width = units.first().map_or(1, |unit| takes(unit));
    let flat = worked == Worked::Flat;
    let edge = if flat { rng.below(4) } else { 0 };
    let times = repeats(rng, width, 2 * edge);
    let cast_on = width * times + 2 * edge;
    let slipped = edge > 0 && rng.chance(25);
    let first = if slipped { Op::Slp } else { Op::K };
    let edged = |middle: Ops, first: Op| {
        let begin = if edge > 0 { [vec![first], run(Op::K, edge - 1)].concat() } else { Vec::new() };
        [begin, middle, run(Op::K, edge)].concat()
    };
    let bordered = edge > 0 && rng.chance(30);
    let ground = if flat && rng.chance(70) { Op::P } else { Op::K };
    let back = match (bordered, slipped) {
        (true, _) => edged(run(ground, cast_on - 2 * edge), first),
        (false, true) => [vec![Op::Slp], run(ground, cast_on - 1)].concat(),
        (false, false) => run(ground, cast_on),
    };
    let told = rng.chance(92);
    let mut rows = Vec::new();
    for unit in &units {
        rows.push(edged(repeated(unit, times), first));
        if told {
            rows.push(back.clone());
        }
    }
    let rows = closed_in_pairs(rows);
    piece(worked, cast_on, multiple(times, width, 2 * edge), rows)
}

/// Rows in pairs, so that a repeat in height begins on the side it began.
fn closed_in_pairs(mut rows: Vec<Ops>) -> Vec<Ops> {
    if rows.len() % 2 == 1 {
        let copy = rows.clone();
        rows.extend(copy);
    }
    rows.truncate(30);
    rows
}

fn insertion(rng: &mut Rng) -> Piece {
    let edge = rng.between(1, 4);
    let width = rng.between(5, 16);
    let slipped = rng.chance(50);
    let begin = if slipped { [vec![Op::Slp], run(Op::K, edge - 1)].concat() } else { run(Op::K, edge) };
    let inner = if rng.chance(60) { Op::P } else { Op::K };
    let figured = rng.chance(40);
    let mut rows = Vec::new();
    for _ in 0..rng.between(1, 7) {
        rows.push([begin.clone(), balanced(rng, width), run(Op::K, edge)].concat());
        let middle = if figured {
            let before = rng.below(width - 1);
            let back = if inner == Op::P { Op::P2tog } else { Op::K2tog };
            [run(inner, before), vec![Op::Yo, back], run(inner, width - 2 - before)].concat()
        } else {
            run(inner, width)
        };
        rows.push([begin.clone(), middle, run(Op::K, edge)].concat());
    }
    piece(Worked::Flat, width + 2 * edge, None, rows)
}

// ---- knit and purl ---------------------------------------------------------------------------------------------

/// A figure of knit and purl cells; on the wrong side each row is worked from its other end.
fn texture(rng: &mut Rng, worked: Worked) -> Piece {
    let width = rng.between(2, 8);
    let height = 2 * rng.between(1, 6);
    let times = repeats(rng, width, width);
    let plus = if worked == Worked::Flat && rng.chance(50) { rng.below(width) } else { 0 };
    let cast_on = width * times + plus;
    let shift = rng.between(1, 3);
    let (block_wide, block_high) = (rng.between(1, width - 1), rng.between(1, height));
    let style = rng.below(3);
    let purled = |x: u32, y: u32| match style {
        0 => (x + (y / block_high) * block_wide) % width < block_wide,
        1 => (x + y * shift) % width < block_wide,
        _ => (x % width < block_wide) != (y / block_high.min(height / 2) % 2 == 1),
    };
    let rows = (0..height).map(|y| {
        let from_right = |x: u32| if purled(x, y) { Op::P } else { Op::K };
        let from_wrong = |x: u32| if purled(cast_on - 1 - x, y) { Op::K } else { Op::P };
        let wrong = worked == Worked::Flat && y % 2 == 1;
        (0..cast_on).map(|x| if wrong { from_wrong(x) } else { from_right(x) }).collect()
    });
    piece(worked, cast_on, multiple(times, width, plus), rows.collect())
}

fn rib(rng: &mut Rng) -> Piece {
    let (knit, purl) = (rng.between(1, 5), rng.between(1, 4));
    let width = knit + purl;
    let times = repeats(rng, width, knit);
    let plus = if rng.chance(60) { knit } else { 0 };
    let unit = [run(Op::K, knit), run(Op::P, purl)].concat();
    let front = [repeated(&unit, times), run(Op::K, plus)].concat();
    let back: Ops = front.iter().rev().map(|op| op.from_behind()).collect();
    let rows = (0..rng.between(1, 6)).flat_map(|_| [front.clone(), back.clone()]).collect();
    piece(Worked::Flat, width * times + plus, multiple(times, width, plus), rows)
}

fn slip_stitch(rng: &mut Rng) -> Piece {
    let (slip, knit) = (rng.between(1, 2), rng.between(1, 4));
    let width = slip + knit;
    let edge = rng.between(1, 2);
    let times = repeats(rng, width, 2 * edge);
    let cast_on = width * times + 2 * edge;
    let unit = [run(Op::Slp, slip), run(Op::K, knit)].concat();
    let front = [run(Op::K, edge), repeated(&unit, times), run(Op::K, edge)].concat();
    let ground = if rng.chance(50) { Op::P } else { Op::K };
    let mut back: Ops = front.iter().rev().map(|&op| if op == Op::K { ground } else { op }).collect();
    let slips_back = rng.chance(50);
    if !slips_back {
        back = run(ground, cast_on);
    }
    let mut rows = vec![front, back];
    if rng.chance(50) {
        rows.extend([run(Op::K, cast_on), run(ground, cast_on)]);
    }
    piece(Worked::Flat, cast_on, multiple(times, width, 2 * edge), rows)
}

fn cable(rng: &mut Rng) -> Piece {
    let half = rng.between(1, 4);
    let ground = rng.between(1, 4);
    let times = rng.between(1, 4.min((WIDEST - ground) / (2 * half + ground)));
    let front = rng.chance(50);
    let side = u8::try_from(half).unwrap_or(1);
    let cross = Op::Cross(Cross { held: side, worked: side, front, held_purl: false, worked_purl: false });
    let row = |middle: &[Op]| {
        [repeated(&[&run(Op::P, ground)[..], middle].concat(), times), run(Op::P, ground)].concat()
    };
    let plain = row(&run(Op::K, 2 * half));
    let back: Ops = plain.iter().rev().map(|op| op.from_behind()).collect();
    let pairs = rng.between(2, 5);
    let at = rng.below(pairs);
    let crossed = row(&[cross]);
    let rows =
        (0..pairs).flat_map(|pair| [if pair == at { crossed.clone() } else { plain.clone() }, back.clone()]);
    let width = 2 * half + ground;
    piece(Worked::Flat, width * times + ground, multiple(times, width, ground), rows.collect())
}

// ---- shaping ---------------------------------------------------------------------------------------------------

/// An edging whose count grows by holes and is bound off to the first count in the last row.
fn edging(rng: &mut Rng) -> Piece {
    let edge = rng.between(1, 3);
    let slipped = rng.chance(70);
    let body = rng.between(2, 6);
    let cast_on = edge + 2 + body;
    let begin = if slipped { [vec![Op::Slp], run(Op::K, edge - 1)].concat() } else { run(Op::K, edge) };
    let insertion = [Op::Yo, Op::K2tog];
    let double = rng.chance(50);
    let garter = rng.chance(75);
    let mut rows: Vec<Ops> = Vec::new();
    if rng.chance(25) {
        rows.push(run(Op::K, cast_on));
    }
    let mut count = cast_on;
    let points = rng.between(1, 6);
    for _ in 0..points {
        let free = count - edge - 2;
        let middle = if double && free >= 3 {
            [run(Op::K, free - 3), vec![Op::K2tog, Op::Yo2], run(Op::K, 1)].concat()
        } else if rng.chance(50) && free >= 4 {
            [run(Op::K, free - 4), vec![Op::Yo, Op::K2tog, Op::Yo], run(Op::K, 2)].concat()
        } else {
            [run(Op::K, free - 1), vec![Op::Yo], run(Op::K, 1)].concat()
        };
        let front = [begin.clone(), insertion.to_vec(), middle].concat();
        count = makes(&front);
        rows.push(front.clone());
        rows.push(back_over(&front, edge, garter));
    }
    let grown = count - cast_on;
    let last = makes(rows.last().map_or(&[], |row| row));
    let plain = [begin.clone(), insertion.to_vec(), run(Op::K, last - edge - 2)].concat();
    rows.push(plain);
    rows.push(
        [run(Op::Bo, grown), run(Op::K, cast_on - edge - 2), insertion.to_vec(), run(Op::K, edge)].concat(),
    );
    piece(Worked::Flat, cast_on, None, rows)
}

/// The row back over an edging row: double loops are knitted and purled, the inner edge has its own holes.
fn back_over(front: &[Op], edge: u32, garter: bool) -> Ops {
    let ground = if garter { Op::K } else { Op::P };
    let mut back = Vec::new();
    for op in front.iter().rev() {
        match op {
            Op::Yo2 => back.extend([Op::K, Op::P]),
            op => back.extend(run(ground, op.makes())),
        }
    }
    let kept = back.len() - (edge + 2) as usize;
    back.truncate(kept);
    [back, vec![Op::Yo, Op::K2tog], run(Op::K, edge)].concat()
}

/// Steps of a pointed edging: so many stitches cast on at the end of each row from the straight side, all bound off
/// on the last way back.
fn vandyke(rng: &mut Rng) -> Piece {
    let edge = rng.between(1, 3);
    let cast_on = edge + 2 + rng.between(1, 5);
    let step = rng.between(2, 4);
    let begin =
        if rng.chance(60) { [vec![Op::Slp], run(Op::K, edge - 1)].concat() } else { run(Op::K, edge) };
    let front = |count: u32| [begin.clone(), vec![Op::Yo, Op::K2tog], run(Op::K, count - edge - 2)].concat();
    let mut rows = Vec::new();
    let mut count = cast_on;
    for _ in 0..rng.between(1, 4) {
        rows.push([front(count), run(Op::Co, step)].concat());
        count += step;
        rows.push(run(Op::K, count));
    }
    rows.push(front(count));
    rows.push([run(Op::Bo, count - cast_on), run(Op::K, cast_on)].concat());
    piece(Worked::Flat, cast_on, None, rows)
}

fn corner(rng: &mut Rng) -> Piece {
    let cast_on = rng.between(2, 4);
    let up = rng.between(3, 14);
    let increase = [Op::Kfb, Op::Yo, Op::Yo][rng.below(3) as usize];
    let before = if increase == Op::Kfb { rng.below(2).min(cast_on - 1) } else { 1 };
    let mut count = cast_on;
    let mut rows = Vec::new();
    for _ in 0..up {
        let rest = count - before - increase.takes();
        rows.push([run(Op::K, before), vec![increase], run(Op::K, rest)].concat());
        count += 1;
    }
    if rng.chance(60) {
        for _ in 0..up {
            let before = before.min(count - 2);
            rows.push([run(Op::K, before), vec![Op::K2tog], run(Op::K, count - before - 2)].concat());
            count -= 1;
        }
    }
    piece(Worked::Flat, cast_on, None, rows)
}

fn cap(rng: &mut Rng) -> Piece {
    let parts = rng.between(3, 8);
    let each = rng.between(4, (WIDEST / parts).clamp(4, 12));
    let cast_on = parts * each;
    let decrease = if rng.chance(80) { Op::K2tog } else { Op::Skp };
    let plain_rounds = rng.between(0, 2);
    let steps = rng.between(1, (each - 2).min(8));
    let mut rows = Vec::new();
    if rng.chance(40) {
        rows.push(run(Op::K, cast_on));
    }
    for step in 0..steps {
        let unit = [run(Op::K, each - step - 2), vec![decrease]].concat();
        rows.push(repeated(&unit, parts));
        for _ in 0..plain_rounds {
            rows.push(run(Op::K, parts * (each - step - 1)));
        }
    }
    if rows.len() < 2 {
        rows.push(run(Op::K, parts * (each - steps)));
    }
    piece(Worked::Round, cast_on, None, rows)
}

/// A heel turned with short rows: the middle is worked to and fro, and each row takes in one stitch of the side,
/// or two where one is worked after the decrease.
fn heel(rng: &mut Rng) -> Piece {
    let middle = rng.between(4, 10);
    let (beyond, wing) = if rng.chance(50) { (0, rng.between(1, 6)) } else { (1, 2 * rng.between(1, 4)) };
    let cast_on = middle + 2 * wing + 2 + beyond;
    let row = |across: Ops, decrease, ground| [across, vec![decrease], run(ground, beyond)].concat();
    let mut rows = vec![row(run(Op::K, middle + wing), Op::Skp, Op::K)];
    for index in 0..=2 * (wing / (1 + beyond)) {
        let (ground, decrease) = if index % 2 == 0 { (Op::P, Op::P2tog) } else { (Op::K, Op::Skp) };
        let across = middle - 2 + beyond * index;
        rows.push(row([vec![Op::Slp], run(ground, across)].concat(), decrease, ground));
    }
    let last = rows.len() - 1;
    rows[..last].iter_mut().for_each(|row| row.push(Op::Turn));
    piece(Worked::Flat, cast_on, None, rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use loops::{ClothGraph, tokens, work};

    #[test]
    fn every_program_works_without_a_fault() {
        for seed in 0..2_000 {
            let piece = random_program(seed);
            let worked = work(&piece);
            let rows: Vec<String> = worked.rows.iter().map(|row| tokens(&row.ops)).collect();
            assert_eq!(worked.faults, [], "seed {seed}, {} on: {rows:#?}", piece.cast_on);
            assert!((2..=30).contains(&piece.rows.len()), "seed {seed}: {rows:#?}");
            assert!((2..=WIDEST).contains(&piece.cast_on), "seed {seed}");
        }
    }

    #[test]
    fn every_program_can_be_knitted_stitch_by_stitch() {
        for seed in 0..500 {
            let graph = ClothGraph::work(&random_program(seed)).map(|graph| graph.check());
            assert!(matches!(graph, Ok(Ok(()))), "seed {seed}: {graph:?}");
        }
    }

    #[test]
    fn every_kind_is_drawn_and_comes_out() {
        for kind in Kind::ALL {
            for seed in 0..50 {
                let piece = program_of(kind, &mut Rng::new(seed));
                assert_eq!(work(&piece).faults, [], "{kind:?} {seed}");
            }
        }
    }

    #[test]
    fn a_multiple_fits_the_number_cast_on() {
        for seed in 0..500 {
            let piece = random_program(seed);
            if let Some(multiple) = piece.multiple {
                assert_eq!((piece.cast_on - multiple.plus) % multiple.of, 0, "seed {seed}");
            }
        }
    }
}

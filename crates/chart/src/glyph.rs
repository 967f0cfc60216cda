//! The shape of each symbol, as strokes in a unit square; our own drawings of the trade's symbols.
//!
//! One column is one unit wide, a row one unit high, y down. What makes several stitches is drawn across as many
//! columns. Where the bar side of the stitch is seen, a dot stands in the free corner of the shape.
//!
//! The shapes are those that the Craft Yarn Council's key and JIS L 0201-1995 describe: empty square for the
//! knit stitch, dot for purl, ring for the yarn over, leaning strokes for decreases (an upright more for each
//! further stitch), a tent for the centred one, V for a slip (with a bar where the yarn lies before it), a loop
//! crossed at its foot for a twist, strokes fanning up from a point for several stitches out of one, an arch for
//! binding off. JIS gives the branched stroke of the stitch passed over, the cap of the brioche stitch and the
//! arch over neighbours. Holder, ladder and turning arrow: common practice, no published source.

use loops::Op;

use crate::symbol::Symbol;

/// A point, x in columns and y in rows.
pub(crate) type Point = (f32, f32);

/// One stroke of the pen.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Mark {
    /// A line through points.
    Line(Vec<Point>),
    /// A curve from a point through cubic pieces.
    Curve(Point, Vec<[Point; 3]>),
    /// An open circle.
    Ring(Point, f32),
    /// A filled circle.
    Dot(Point, f32),
}

const DOT: f32 = 0.085;
const PURL_DOT: f32 = 0.12;
const RISING: [Point; 2] = [(0.16, 0.86), (0.84, 0.14)];
const FALLING: [Point; 2] = [(0.84, 0.86), (0.16, 0.14)];

/// The marks of a symbol; strands of crossings and grounds are drawn elsewhere.
pub(crate) fn marks(symbol: Symbol) -> Vec<Mark> {
    let Some(op) = symbol.shape() else { return Vec::new() };
    let mut marks = shape(op, matches!(symbol, Symbol::Behind(_)));
    if symbol.shows_purl() {
        marks.extend(purl_dot(op));
    }
    marks
}

fn line(points: &[Point]) -> Mark {
    Mark::Line(points.to_vec())
}

/// The dot of a symbol that shows the bar side, in the corner that its shape leaves free.
fn purl_dot(op: Op) -> Option<Mark> {
    let corner = match op {
        Op::K | Op::P => return Some(Mark::Dot((0.5, 0.5), PURL_DOT)),
        Op::Ktbl | Op::Ptbl => (0.5, 0.34),
        Op::Brk | Op::Brp => (0.5, 0.82),
        Op::M1 => (0.5, 0.88),
        Op::Kfb | Op::Pfb => (1.28, 0.74),
        Op::K2tog | Op::P2tog => (0.76, 0.74),
        Op::Ssk | Op::Ssp => (0.24, 0.74),
        Op::Skp | Op::Sk2p | Op::K2togTbl | Op::P2togTbl | Op::K3togTbl | Op::P3togTbl => (0.78, 0.28),
        Op::K3tog | Op::P3tog | Op::K4tog | Op::P4tog | Op::K5tog | Op::P5tog | Op::Spp | Op::Sp2p => {
            (0.22, 0.28)
        }
        Op::S2kp => (0.2, 0.2),
        Op::S1k2po => (1.0, 0.72),
        Op::Pu => (0.82, 0.3),
        Op::Take => (0.84, 0.24),
        _ => return None,
    };
    Some(Mark::Dot(corner, DOT))
}

fn shape(op: Op, behind: bool) -> Vec<Mark> {
    match op {
        Op::K | Op::P | Op::Cross(_) => vec![],
        Op::Ktbl | Op::Ptbl => vec![twisted_loop()],
        Op::SlWyib => vec![vee()],
        Op::SlWyif => vec![vee(), line(&[(0.1, 0.52), (0.9, 0.52)])],
        Op::Slp => vec![line(&[(0.26, 0.46), (0.46, 0.84), (0.8, 0.16)])],
        Op::Slk => vec![slipped_twisted()],
        Op::Yo => vec![Mark::Ring((0.5, 0.5), 0.3)],
        Op::Yo2 => rings(2),
        Op::Yo3 => rings(3),
        Op::SlYo => vec![cap(), line(&[(0.32, 0.44), (0.5, 0.86), (0.68, 0.44)])],
        Op::Brk | Op::Brp => vec![cap(), line(&[(0.5, 0.38), (0.5, 0.64)])],
        Op::M1 => vec![line(&[(0.22, 0.74), (0.22, 0.2), (0.5, 0.58), (0.78, 0.2), (0.78, 0.74)])],
        Op::Kfb | Op::Pfb => fork(),
        Op::K1P1 => fan(2, &[1], behind),
        Op::P1K1 => fan(2, &[0], behind),
        Op::Kyok => ringed(fan(3, &[], behind)),
        Op::K1P1K1 => fan(3, &[1], behind),
        Op::K1P1K1P1 => fan(4, &[1, 3], behind),
        Op::K1P1K1P1K1 => fan(5, &[1, 3], behind),
        Op::K2tog | Op::P2tog => vec![line(&RISING)],
        Op::K3tog | Op::P3tog => leaning(1),
        Op::K4tog | Op::P4tog => leaning(2),
        Op::K5tog | Op::P5tog => leaning(3),
        Op::Ssk | Op::Ssp => vec![line(&FALLING)],
        Op::Skp => passed_over_left(),
        Op::Spp => passed_over_right(),
        Op::Sk2p => with_upright(passed_over_left()),
        Op::Sp2p => with_upright(passed_over_right()),
        Op::K2togTbl | Op::P2togTbl => leaning_twisted(),
        Op::K3togTbl | Op::P3togTbl => with_upright(leaning_twisted()),
        Op::S2kp => vec![line(&[(0.14, 0.86), (0.5, 0.26), (0.86, 0.86)]), line(&[(0.5, 0.1), (0.5, 0.86)])],
        Op::S1k2po => arch_over(),
        Op::Bo => vec![Mark::Curve((0.12, 0.68), vec![[(0.24, 0.24), (0.76, 0.24), (0.88, 0.68)]])],
        Op::Co => vec![pigtail()],
        Op::Pu => vec![line(&[(0.5, 0.84), (0.5, 0.14)]), arrow_head(), line(&[(0.2, 0.84), (0.8, 0.84)])],
        Op::Drop => ladder(),
        Op::Hold => vec![holder()],
        Op::Take => vec![holder(), line(&[(0.5, 0.58), (0.5, 0.14)]), arrow_head()],
        Op::Turn => vec![
            Mark::Curve((0.86, 0.78), vec![[(0.2, 0.78), (0.2, 0.3), (0.66, 0.3)]]),
            line(&[(0.52, 0.14), (0.7, 0.3), (0.52, 0.46)]),
        ],
    }
}

fn vee() -> Mark {
    line(&[(0.2, 0.16), (0.5, 0.84), (0.8, 0.16)])
}

fn arrow_head() -> Mark {
    line(&[(0.3, 0.34), (0.5, 0.14), (0.7, 0.34)])
}

fn twisted_loop() -> Mark {
    Mark::Curve(
        (0.24, 0.88),
        vec![
            [(0.62, 0.62), (0.76, 0.5), (0.74, 0.32)],
            [(0.72, 0.06), (0.28, 0.06), (0.26, 0.32)],
            [(0.24, 0.5), (0.38, 0.62), (0.76, 0.88)],
        ],
    )
}

/// A V whose arms cross at the foot.
fn slipped_twisted() -> Mark {
    Mark::Curve(
        (0.18, 0.14),
        vec![
            [(0.34, 0.48), (0.66, 0.6), (0.62, 0.78)],
            [(0.58, 0.92), (0.42, 0.92), (0.38, 0.78)],
            [(0.34, 0.6), (0.66, 0.48), (0.82, 0.14)],
        ],
    )
}

fn rings(count: u8) -> Vec<Mark> {
    let mut marks: Vec<Mark> = (0..count).map(|ring| Mark::Ring((f32::from(ring) + 0.5, 0.5), 0.3)).collect();
    marks.extend((1..count).map(|ring| line(&[(f32::from(ring) - 0.2, 0.5), (f32::from(ring) + 0.2, 0.5)])));
    marks
}

/// The yarn that lies over a stitch.
fn cap() -> Mark {
    Mark::Curve(
        (0.16, 0.86),
        vec![[(0.16, 0.5), (0.14, 0.16), (0.5, 0.16)], [(0.86, 0.16), (0.84, 0.5), (0.84, 0.86)]],
    )
}

/// Two arms out of one foot, over two columns.
fn fork() -> Vec<Mark> {
    vec![line(&[(0.5, 0.18), (1.0, 0.54), (1.5, 0.18)]), line(&[(1.0, 0.54), (1.0, 0.86)])]
}

/// Strokes out of one point, a dot over each purled one; seen from behind the others are the purled ones.
fn fan(count: u8, purled: &[u8], behind: bool) -> Vec<Mark> {
    let foot = (f32::from(count) / 2.0, 0.88);
    let mut marks = Vec::new();
    for place in 0..count {
        let x = f32::from(place) + 0.5;
        // The first stitch worked on the right side stands at the right.
        let is_purled = purled.contains(&(count - 1 - place)) != behind;
        marks.push(line(&[foot, (x, 0.32)]));
        if is_purled {
            marks.push(Mark::Dot((x, 0.16), DOT));
        }
    }
    marks
}

/// A ring over the middle stroke of a fan of three, instead of a dot.
fn ringed(mut fan: Vec<Mark>) -> Vec<Mark> {
    fan.retain(|mark| !matches!(mark, Mark::Dot((x, _), _) if (x - 1.5).abs() < 0.1));
    fan.push(Mark::Ring((1.5, 0.17), 0.1));
    fan
}

/// A stroke rising to the right with uprights beneath it, one for each stitch above two.
fn leaning(uprights: u8) -> Vec<Mark> {
    let mut marks = vec![line(&RISING)];
    for upright in 0..uprights {
        let x = 0.44 + 0.19 * f32::from(upright);
        marks.push(line(&[(x, 1.03 - x), (x, 0.86)]));
    }
    marks
}

/// A leaning stroke and the branch of the stitch passed over.
fn passed_over_left() -> Vec<Mark> {
    vec![line(&FALLING), line(&[(0.46, 0.46), (0.16, 0.86)])]
}

fn passed_over_right() -> Vec<Mark> {
    vec![line(&RISING), line(&[(0.54, 0.46), (0.84, 0.86)])]
}

fn with_upright(mut marks: Vec<Mark>) -> Vec<Mark> {
    marks.push(line(&[(0.5, 0.5), (0.5, 0.86)]));
    marks
}

/// A stroke rising to the left, crossed near its foot.
fn leaning_twisted() -> Vec<Mark> {
    vec![line(&FALLING), line(&[(0.6, 0.82), (0.86, 0.52)])]
}

/// Two uprights under the stitch that was passed over both.
fn arch_over() -> Vec<Mark> {
    vec![
        line(&[(0.5, 0.52), (0.5, 0.88)]),
        line(&[(1.5, 0.52), (1.5, 0.88)]),
        Mark::Curve((0.3, 0.5), vec![[(0.5, 0.06), (1.5, 0.06), (1.7, 0.5)]]),
    ]
}

fn pigtail() -> Mark {
    Mark::Curve(
        (0.12, 0.78),
        vec![
            [(0.52, 0.78), (0.78, 0.6), (0.72, 0.34)],
            [(0.66, 0.12), (0.34, 0.12), (0.28, 0.34)],
            [(0.22, 0.6), (0.48, 0.78), (0.88, 0.78)],
        ],
    )
}

fn ladder() -> Vec<Mark> {
    let mut marks = vec![line(&[(0.3, 0.12), (0.3, 0.88)]), line(&[(0.7, 0.12), (0.7, 0.88)])];
    marks.extend([0.3, 0.5, 0.7].map(|y| line(&[(0.3, y), (0.7, y)])));
    marks
}

/// A stitch holder, closed.
fn holder() -> Mark {
    Mark::Curve(
        (0.24, 0.58),
        vec![
            [(0.42, 0.58), (0.58, 0.58), (0.76, 0.58)],
            [(0.94, 0.58), (0.94, 0.84), (0.76, 0.84)],
            [(0.58, 0.84), (0.42, 0.84), (0.24, 0.84)],
            [(0.06, 0.84), (0.06, 0.58), (0.24, 0.58)],
        ],
    )
}

#[cfg(test)]
mod tests {
    use loops::Side;

    use super::*;

    #[test]
    fn every_operation_is_drawn_differently_and_only_knit_is_blank() {
        let mut drawn: Vec<(Vec<Mark>, Symbol)> = Vec::new();
        for side in [Side::Right, Side::Wrong] {
            for symbol in Op::NAMED.iter().map(|&op| Symbol::of(op, side)) {
                let marks = marks(symbol);
                assert_eq!(marks.is_empty(), symbol == Symbol::Front(Op::K), "{symbol:?}");
                let twin = drawn.iter().find(|(drawn, other)| *drawn == marks && *other != symbol);
                assert_eq!(twin.map(|(_, other)| other), None, "{symbol:?}");
                drawn.push((marks, symbol));
            }
        }
    }

    #[test]
    fn marks_stay_within_their_columns() {
        for &op in Op::NAMED {
            let width = crate::flow::columns_of(op).max(1) as f32;
            for side in [Side::Right, Side::Wrong] {
                for (x, y) in marks(Symbol::of(op, side)).iter().flat_map(points) {
                    assert!((0.0..=width).contains(&x) && (0.0..=1.0).contains(&y), "{op} {x} {y}");
                }
            }
        }
    }

    fn points(mark: &Mark) -> Vec<Point> {
        match mark {
            Mark::Line(points) => points.clone(),
            Mark::Curve(start, pieces) => {
                std::iter::once(*start).chain(pieces.iter().flatten().copied()).collect()
            }
            Mark::Ring((x, y), r) | Mark::Dot((x, y), r) => vec![(x - r, y - r), (x + r, y + r)],
        }
    }
}

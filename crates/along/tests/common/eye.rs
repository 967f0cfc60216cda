//! An eye that looks at a piece after some of its rows, on the cloth graph.

use along::{Observed, Shows};
use loops::{ClothGraph, Face, Op, Piece, Side, StitchId, side_after, tally, work};
use prose::Rng;

/// What a careful person would say of the piece after so many rows; where she could judge either way, chance decides.
pub fn look(piece: &Piece, rows: usize, rng: &mut Rng) -> Observed {
    let part = Piece { rows: piece.rows[..rows].to_vec(), ..piece.clone() };
    let graph = ClothGraph::work(&part).expect("a piece of common size");
    let side = facing(piece, rows);
    let ops = |row: usize| -> Vec<Op> {
        piece.rows[row].ops().expect("a row of common length").iter().map(|stitch| stitch.op).collect()
    };
    let is_open =
        |row: &usize| ops(*row).iter().any(|op| matches!(op, Op::Yo | Op::Yo2 | Op::Yo3 | Op::Kyok));
    let is_crossed = |row: &usize| ops(*row).iter().any(|op| matches!(op, Op::Cross(_)));
    let open: Vec<usize> = (0..rows).filter(is_open).collect();
    let crossed: Vec<usize> = (0..rows).filter(is_crossed).collect();
    let count = |rows: usize| u32::try_from(rows).expect("few rows");
    let above = |row: &usize| count(rows - 1 - row);
    // Where stitches wait behind a turn, she counts all of them or those that she has worked.
    let worked = rows.checked_sub(1).filter(|&row| ops(row).contains(&Op::Turn) && rng.chance(50));
    let worked = worked.map(|row| ops(row).iter().map(|op| op.makes()).sum());
    Observed {
        count: worked.or(Some(count(graph.live().len()))),
        shows: shows(&graph, side, rng),
        side: Some(side),
        ridges: Some(ridges(piece, rows, side, rng)),
        hole_rows: Some(count(open.len())),
        above_holes: open.last().map(above),
        hole_at: open.last().and_then(|&row| first_hole(piece, row, &ops(row), side)),
        cross_rows: Some(count(crossed.len())),
        above_crosses: crossed.last().map(above),
        height: Some(count(rows)),
        at_most: None,
    }
}

fn facing(piece: &Piece, rows: usize) -> Side {
    let worked = work(piece).rows;
    match (worked.get(rows), worked.get(rows.wrapping_sub(1))) {
        (Some(next), _) => next.side,
        (None, Some(last)) => side_after(piece.worked, last.side, tally(&last.ops).turns),
        (None, None) => piece.first_side,
    }
}

/// The face of a stitch on the needle; a slipped one is still the stitch it was.
fn face(graph: &ClothGraph, id: StitchId, side: Side) -> Face {
    let stitch = graph.stitch(id).expect("a stitch of this graph");
    if stitch.op.is_slip() {
        return graph.parents(id).first().map_or(Face::Open, |&parent| face(graph, parent, side));
    }
    let made = graph.rows()[stitch.row.index()].side;
    match stitch.op.loop_face(u32::from(stitch.index)) {
        Face::Plain if made != side => Face::Purl,
        Face::Purl if made != side => Face::Plain,
        face => face,
    }
}

fn shows(graph: &ClothGraph, side: Side, rng: &mut Rng) -> Option<Shows> {
    let faces: Vec<Face> = graph.live().iter().map(|&id| face(graph, id, side)).collect();
    let count = |wanted: Face| faces.iter().filter(|&&face| face == wanted).count();
    let (plain, purl) = (count(Face::Plain), count(Face::Purl));
    let total = plain + purl;
    if total == 0 {
        return None;
    }
    let share = purl as f64 / total as f64;
    let wobble = f64::from(rng.below(21)) / 100.0 - 0.1;
    Some(match share + if (0.1..=0.9).contains(&share) { wobble } else { 0.0 } {
        share if share < 0.2 => Shows::Plain,
        share if share > 0.8 => Shows::Purl,
        _ => Shows::Mixed,
    })
}

/// Ridges on a side; ground that is all ridges is counted as one, or row by row, as the person likes.
fn ridges(piece: &Piece, rows: usize, side: Side, rng: &mut Rng) -> u32 {
    let by_row = rng.chance(50);
    let (mut count, mut on_ridge) = (0, false);
    for row in &piece.rows[..rows] {
        let ops = row.ops().expect("a row of common length");
        let faces =
            ops.iter().flat_map(|stitch| (0..stitch.op.makes()).map(|index| stitch.op.loop_face(index)));
        let (mut bars, mut smooth) = (0, 0);
        for face in faces {
            let seen_purl = (face == Face::Purl) == (row.side == side);
            if face != Face::Open {
                bars += u32::from(seen_purl);
                smooth += u32::from(!seen_purl);
            }
        }
        let is_ridge = bars > smooth;
        count += u32::from(is_ridge && (by_row || !on_ridge));
        on_ridge = is_ridge;
    }
    count
}

fn first_hole(piece: &Piece, row: usize, ops: &[Op], side: Side) -> Option<u32> {
    if ops.contains(&Op::Turn) {
        return None;
    }
    let mut holes: Vec<bool> = ops
        .iter()
        .flat_map(|&op| {
            (0..op.makes())
                .map(move |index| matches!(op, Op::Yo | Op::Yo2 | Op::Yo3) || (op == Op::Kyok && index == 1))
        })
        .collect();
    if piece.rows[row].side != side {
        holes.reverse();
    }
    holes.iter().position(|&hole| hole).and_then(|place| u32::try_from(place + 1).ok())
}

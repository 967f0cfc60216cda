//! Where the stitches of a repeat stand that takes more and fewer columns in turn.
//!
//! Where decreases of one row are made good only in a later one, the squares between must stay empty beside the
//! decreases, or all stitches of the repeat slip out of line. So here a row may have gaps. The first of the widest
//! rows is set without gaps; from there upward each stitch goes as near as it can to the ones it grew from, and
//! downward to those that grow from it, in the sense of least squares. Order is kept and nothing overlaps.
//!
//! ```text
//! .  #  sk2p #     the decrease stands above the middle of its three,
//! .  yo  .  yo     an empty square on either side
//! ```
//!
//! Stitches wanted before their neighbours are pooled with them (the pool-adjacent-violators method of monotone
//! regression: Ayer and others, 1955, from memory).

use crate::flow::Loose;
use crate::place::Placed;

/// Whether a zone loses columns and wins them back, ending with the stitches that it began with.
pub(crate) fn comes_back(strips: &[&[Loose]]) -> bool {
    let count = |cells: &[Loose], per: fn(loops::Op) -> u32| -> u32 {
        cells.iter().filter_map(|cell| cell.op).map(per).sum()
    };
    let start = strips.first().map(|cells| count(cells, loops::Op::takes));
    let end = strips.iter().map(|cells| count(cells, loops::Op::makes)).rfind(|&count| count > 0);
    start == end && strips.windows(2).any(|pair| width(pair[0]) != width(pair[1]))
}

/// Places the strips of one zone; `below` tells for each where the part under it begins in its run.
pub(crate) fn settle(strips: &[&[Loose]], below: &[usize]) -> Placed {
    let full = strips.iter().map(|cells| width(cells)).max().unwrap_or(0);
    let widest = strips.iter().position(|cells| width(cells) == full).unwrap_or(0);
    let mut columns: Vec<Vec<usize>> = strips.iter().map(|cells| starts(cells)).collect();
    for row in widest + 1..strips.len() {
        let wishes = wishes_above(strips[row - 1], &columns[row - 1], strips[row], below[row]);
        columns[row] = spread(strips[row], &wishes, full);
    }
    for row in (0..widest).rev() {
        let wishes = wishes_below(strips[row], strips[row + 1], &columns[row + 1], below[row + 1]);
        columns[row] = spread(strips[row], &wishes, full);
    }
    Placed { width: full, columns }
}

fn width(cells: &[Loose]) -> usize {
    cells.iter().map(|cell| cell.width).sum()
}

/// The first column of each cell of a run without gaps.
pub(crate) fn starts(cells: &[Loose]) -> Vec<usize> {
    let mut at = 0;
    let start = |cell: &Loose| {
        let start = at;
        at += cell.width;
        start
    };
    cells.iter().map(start).collect()
}

/// The first column that a cell would like to have, if it minds.
type Wish = Option<f64>;

/// Each cell over the middle of the columns it grew from.
fn wishes_above(under: &[Loose], columns: &[usize], cells: &[Loose], below: usize) -> Vec<Wish> {
    // The column of each place of the run without gaps.
    let placed: Vec<usize> =
        under.iter().zip(columns).flat_map(|(cell, &column)| column..column + cell.width).collect();
    let wish = |cell: &Loose| {
        let (first, last) = cell.from?;
        let (first, last) = (placed.get(first.checked_sub(below)?)?, placed.get(last.checked_sub(below)?)?);
        Some((first + last) as f64 / 2.0 - (cell.width as f64 - 1.0) / 2.0)
    };
    cells.iter().map(wish).collect()
}

/// Each cell under the ones that grow from it, as far to a side of their middle as it stands among their parents.
fn wishes_below(cells: &[Loose], above: &[Loose], columns: &[usize], below: usize) -> Vec<Wish> {
    let mut sums = vec![(0.0, 0); width(cells)];
    for (child, &column) in above.iter().zip(columns) {
        let Some((first, last)) = child.from else { continue };
        let (Some(first), Some(last)) = (first.checked_sub(below), last.checked_sub(below)) else { continue };
        let middle = column as f64 + (child.width as f64 - 1.0) / 2.0;
        for (place, sum) in sums.iter_mut().enumerate().take(last + 1).skip(first) {
            *sum = (sum.0 + middle + place as f64 - (first + last) as f64 / 2.0, sum.1 + 1);
        }
    }
    let wish = |(cell, start): (&Loose, usize)| {
        let (sum, count) =
            sums.get(start..start + cell.width)?.iter().enumerate().fold((0.0, 0), |all, (within, sum)| {
                (all.0 + sum.0 - f64::from(sum.1) * within as f64, all.1 + sum.1)
            });
        (count > 0).then(|| sum / f64::from(count))
    };
    cells.iter().zip(starts(cells)).map(wish).collect()
}

/// Columns for the cells, in order and apart, as near to the wishes as can be.
fn spread(cells: &[Loose], wishes: &[Wish], full: usize) -> Vec<usize> {
    let close = starts(cells);
    let slack = (full - width(cells)) as f64;
    // How far each cell is moved from where it would stand without gaps: never less than its left neighbour.
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (wish, &start) in wishes.iter().zip(&close) {
        let Some(wish) = wish else { continue };
        let mut pool = (wish - start as f64, 1);
        while let Some(last) = pools.pop_if(|last| last.0 / last.1 as f64 > pool.0 / pool.1 as f64) {
            pool = (pool.0 + last.0, pool.1 + last.1);
        }
        pools.push(pool);
    }
    let mut moves = pools.iter().flat_map(|&(sum, count)| std::iter::repeat_n(sum / count as f64, count));
    let mut moved = 0;
    let columns = wishes.iter().zip(&close).map(|(wish, &start)| {
        if wish.is_some() {
            moved = moves.next().map_or(moved, |by| to_whole(by.clamp(0.0, slack), slack / 2.0));
        }
        start + moved
    });
    columns.collect()
}

/// The nearest whole number; halves go toward the middle, so that halves of a motif mirror each other.
fn to_whole(by: f64, middle: f64) -> usize {
    (if by < middle { (by + 0.5).floor() } else { (by - 0.5).ceil() }) as usize
}

#[cfg(test)]
mod tests {
    use loops::Op;

    use super::*;

    fn cells(ops: &[(Op, Option<(usize, usize)>)]) -> Vec<Loose> {
        ops.iter()
            .map(|&(op, from)| Loose { op: Some(op), width: crate::flow::columns_of(op), from })
            .collect()
    }

    #[test]
    fn a_decrease_stands_over_the_middle_and_the_stitch_above_it_too() {
        let wide = cells(&[(Op::K, None), (Op::Yo, None), (Op::K, None), (Op::Yo, None)]);
        let narrow = cells(&[(Op::K, Some((0, 0))), (Op::Sk2p, Some((1, 3)))]);
        let plain = cells(&[(Op::K, Some((0, 0))), (Op::K, Some((1, 1)))]);
        let placed = settle(&[&wide, &narrow, &plain], &[0, 0, 0]);
        assert_eq!(placed.columns, [vec![0, 1, 2, 3], vec![0, 2], vec![0, 2]]);
    }

    #[test]
    fn rows_below_the_widest_stand_under_what_grows_from_them() {
        let narrow = cells(&[(Op::K, None), (Op::K, None)]);
        let wide = cells(&[(Op::K, Some((0, 0))), (Op::Yo, None), (Op::Yo, None), (Op::K, Some((1, 1)))]);
        assert_eq!(settle(&[&narrow, &wide], &[0, 0]).columns, [vec![0, 3], vec![0, 1, 2, 3]]);
    }

    #[test]
    fn stitches_that_want_one_column_stand_side_by_side() {
        let row = cells(&[(Op::K, None), (Op::K, None), (Op::K, None)]);
        assert_eq!(spread(&row, &[Some(2.0), Some(2.0), Some(2.0)], 5), [1, 2, 3]);
        assert_eq!(spread(&row, &[Some(9.0), None, Some(-4.0)], 5), [1, 2, 3]);
    }
}

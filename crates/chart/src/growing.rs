//! Repeats that grow and shrink: where to cut the rows of a piece so that each repeat is laid out by itself.
//!
//! Idea: choose `left` stitches at the left edge and `width` stitches of one repeat in the cast-on, then follow
//! the cuts upward. In every row the cuts must fall between operations, and the cells between them must be the
//! same in every repeat. What is left over is the right edge.
//!
//! Limits: a cut through a decrease is no cut, so a repeat that a decrease straddles is not found here; rows of
//! even count need none of this and are left whole. The search stops after [`EFFORT`] steps with the best so far.

use std::cmp::Reverse;

use loops::Op;

use crate::flow::Loose;

/// Cells compared before the search gives up: about a tenth of a second; more finds repeats in larger pieces.
const EFFORT: usize = 20_000_000;

/// For each row the cells at which the repeats begin, and the end of the last.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Cuts(pub Vec<Vec<usize>>);

/// Finds the growing repeat that covers most of the cast-on, at least half.
pub(crate) fn find(rows: &[Vec<Loose>], cast_on: usize) -> Option<Cuts> {
    let rows = rows.iter().map(|row| Flowing::new(row)).collect::<Option<Vec<_>>>()?;
    let flat = |row: &Flowing| row.ops.iter().all(|op| op.takes() == op.makes());
    if rows.iter().all(flat) || !counts_flow(&rows, cast_on) {
        return None;
    }
    let mut effort = EFFORT;
    let mut best: Option<Guess> = None;
    for width in 1..=cast_on / 2 {
        for left in 0..=cast_on - 2 * width {
            let reach = (cast_on - left) / width * width;
            if effort == 0 || reach * 2 < cast_on || best.is_some_and(|best| reach < best.covers()) {
                continue;
            }
            let guess = follow(&rows, Guess { left, width, times: usize::MAX }, &mut effort, None);
            let guess = guess.filter(|guess| guess.covers() * 2 >= cast_on);
            if guess.is_some_and(|guess| best.is_none_or(|best| guess.score(cast_on) > best.score(cast_on))) {
                best = guess;
            }
        }
    }
    let mut cuts = Vec::new();
    let mut unlimited = usize::MAX;
    follow(&rows, best?, &mut unlimited, Some(&mut cuts))?;
    // With fewer repeats asked for, a yarn over between them may be cut on its other side, and one repeat less be found.
    let fewest = cuts.iter().map(Vec::len).min()?;
    cuts.iter_mut().for_each(|row| row.truncate(fewest));
    Some(Cuts(cuts))
}

/// A row whose stitches all go on into the next.
struct Flowing {
    ops: Vec<Op>,
    /// For each number of stitches taken, the first and last gap between cells where just that many are; an
    /// empty range inside of an operation.
    gaps: Vec<(usize, usize)>,
    /// One plain operation from end to end: every cut fits.
    uniform: bool,
}

#[derive(Clone, Copy)]
struct Guess {
    left: usize,
    width: usize,
    times: usize,
}

impl Guess {
    fn covers(self) -> usize {
        self.width.saturating_mul(self.times)
    }

    /// The more stitches in repeats the better, then the smaller the repeat, then the evener the edges.
    fn score(self, cast_on: usize) -> (usize, Reverse<usize>, Reverse<usize>) {
        let right = cast_on - self.left - self.covers();
        (self.covers(), Reverse(self.width), Reverse(self.left.abs_diff(right)))
    }
}

impl Flowing {
    /// `None` for a row with resting stitches.
    fn new(row: &[Loose]) -> Option<Flowing> {
        let ops = row.iter().map(|cell| cell.op).collect::<Option<Vec<Op>>>()?;
        if ops.contains(&Op::Turn) {
            return None;
        }
        let mut gaps = vec![(0, 0)];
        for (cell, op) in ops.iter().enumerate() {
            for _ in 0..op.takes() {
                gaps.push((1, 0));
            }
            match (gaps.last_mut(), op.takes()) {
                (Some(gap), 0) => gap.1 = cell + 1,
                (Some(gap), _) => *gap = (cell + 1, cell + 1),
                (None, _) => {}
            }
        }
        let uniform = ops.windows(2).all(|pair| pair[0] == pair[1])
            && ops.iter().all(|op| (op.takes(), op.makes()) == (1, 1));
        Some(Flowing { ops, gaps, uniform })
    }

    fn takes(&self) -> usize {
        self.gaps.len() - 1
    }

    fn cut(&self, stitch: usize, end: End) -> Option<usize> {
        let &(first, last) = self.gaps.get(stitch)?;
        (first <= last).then_some(match end {
            End::First => first,
            End::Last => last,
        })
    }

    /// The cuts of as many equal repeats as there are, at most `guess.times`.
    fn cuts(&self, guess: Guess, end: End, effort: &mut usize) -> Option<Vec<usize>> {
        let from = self.cut(guess.left, end)?;
        let first = self.cut(guess.left + guess.width, end)?;
        let mut cuts = vec![from, first];
        while cuts.len() <= guess.times {
            let last = cuts[cuts.len() - 1];
            let Some(next) = self.cut(guess.left + guess.width * cuts.len(), end) else { break };
            *effort = effort.saturating_sub(first - from + 1);
            if self.ops[last..next] != self.ops[from..first] {
                break;
            }
            cuts.push(next);
        }
        Some(cuts)
    }
}

/// Which gap is cut where operations stand that take nothing, such as yarn overs.
#[derive(Clone, Copy)]
enum End {
    First,
    Last,
}

/// Whether each row takes what the one below makes.
fn counts_flow(rows: &[Flowing], cast_on: usize) -> bool {
    let mut on_needle = cast_on;
    rows.iter().all(|row| {
        let fits = row.takes() == on_needle;
        on_needle = makes(&row.ops);
        fits
    })
}

fn makes(ops: &[Op]) -> usize {
    ops.iter().map(|op| op.makes() as usize).sum()
}

/// Follows a guess through all rows; `None` when fewer than two repeats are left or the repeat never changes.
fn follow(
    rows: &[Flowing],
    guess: Guess,
    effort: &mut usize,
    mut keep: Option<&mut Vec<Vec<usize>>>,
) -> Option<Guess> {
    let mut now = guess;
    let mut changes = false;
    for row in rows {
        *effort = effort.saturating_sub(1);
        if row.uniform {
            let fitting = row.takes().saturating_sub(now.left).checked_div(now.width);
            now.times = now.times.min(fitting.unwrap_or(now.times));
            if let Some(keep) = &mut keep {
                keep.push((0..=now.times).map(|time| now.left + time * now.width).collect());
            }
            continue;
        }
        let cuts = [End::First, End::Last].map(|end| row.cuts(now, end, effort));
        let cuts = cuts.into_iter().flatten().max_by_key(Vec::len)?;
        now.times = cuts.len() - 1;
        if now.times < 2 || *effort == 0 {
            return None;
        }
        let width = makes(&row.ops[cuts[0]..cuts[1]]);
        changes |= width != now.width;
        now = Guess { left: makes(&row.ops[..cuts[0]]), width, ..now };
        if let Some(keep) = &mut keep {
            keep.push(cuts);
        }
    }
    (changes && now.times >= 2).then_some(Guess { times: now.times, ..guess })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(rows: &[&str]) -> Vec<Vec<Loose>> {
        let row = |text: &&str| {
            let ops = loops::parse_tokens(text).expect("tokens");
            ops.iter().map(|stitch| Loose { op: Some(stitch.op), width: 1, from: None }).collect()
        };
        rows.iter().map(row).collect()
    }

    #[test]
    fn a_crown_of_six_wedges_is_cut_into_six() {
        let cuts = find(&rows(&["k k2tog k k2tog k k2tog", "k*6", "k2tog k2tog k2tog"]), 9);
        assert_eq!(cuts, Some(Cuts(vec![vec![0, 2, 4, 6], vec![0, 2, 4, 6], vec![0, 1, 2, 3]])));
    }

    #[test]
    fn edges_stay_outside_and_yarn_overs_go_with_their_repeat() {
        let cuts = find(&rows(&["k yo k*2 yo k*2 yo k*2 k"]), 8);
        assert_eq!(cuts, Some(Cuts(vec![vec![1, 4, 7, 10]])));
    }

    #[test]
    fn even_counts_and_turns_are_left_whole() {
        assert_eq!(find(&rows(&["yo k2tog yo k2tog yo k2tog"]), 6), None);
        assert_eq!(find(&rows(&["k2tog k2tog k2tog turn"]), 6), None);
        assert_eq!(find(&rows(&["k2tog k2tog k2tog"]), 7), None);
    }
}

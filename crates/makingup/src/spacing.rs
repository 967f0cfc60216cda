//! Increases and decreases spread evenly across a row, and written out.

use crate::Problem;
use crate::length::counted;

/// What is spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// One stitch made between two.
    Increase,
    /// Two stitches taken together.
    Decrease,
}

/// Where the row begins and ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Half a gap at each end, so that a flat row is the same from both sides.
    Half,
    /// The last change ends the row, so that a round goes on with a whole gap.
    Closed,
}

/// A row with its changes spread.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spread {
    /// Plain stitches before each change, and those after the last.
    pub gaps: Vec<u32>,
    /// What is spread.
    pub change: Change,
    /// Stitches after the row.
    pub after: u32,
}

/// Spreads `changes` over `stitches`.
///
/// Gaps between changes differ by one at most, and by turns as evenly as whole numbers allow.
///
/// # Errors
/// A [`Problem`] when there are fewer stitches than the changes take, or nothing to spread.
pub fn spread(stitches: u32, changes: u32, change: Change, ends: Ends) -> Result<Spread, Problem> {
    let takes = if change == Change::Decrease { 2 } else { 0 };
    let plain = changes.checked_mul(takes).and_then(|taken| stitches.checked_sub(taken));
    let (Some(plain), true) = (plain, changes > 0 && changes <= stitches) else {
        let many = counted(changes as usize, "change", "changes");
        return Err(Problem::new(
            format!("{many} cannot be spread over {}", counted(stitches as usize, "stitch", "stitches")),
            "spread them over two rows, or count the stitches again",
        ));
    };
    // The place of a change in half gaps: 1, 3, 5 … with halves at the ends; 2, 4, 6 … when closed.
    let first = if ends == Ends::Half { 1 } else { 2 };
    let place = |index: u64| {
        let halves = first + 2 * index;
        (halves * u64::from(plain) + u64::from(changes)) / (2 * u64::from(changes))
    };
    let mut gaps = Vec::with_capacity(changes as usize + 1);
    let mut reached = 0;
    for index in 0..u64::from(changes) {
        // The last of a closed row takes what is left, whichever way the halves were rounded.
        let to = if ends == Ends::Closed { place(index).min(u64::from(plain)) } else { place(index) };
        gaps.push((to - reached) as u32);
        reached = to;
    }
    gaps.push((u64::from(plain) - reached) as u32);
    let after = if change == Change::Increase { stitches + changes } else { stitches - changes };
    Ok(Spread { gaps, change, after })
}

/// "k4, (m1, k7) 6 times, m1, k4".
impl std::fmt::Display for Spread {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let change = if self.change == Change::Increase { "m1" } else { "k2tog" };
        let mut words = Vec::new();
        for (index, gap) in self.gaps.iter().enumerate() {
            if *gap > 0 {
                words.push(format!("k{gap}"));
            }
            if index + 1 < self.gaps.len() {
                words.push(change.to_owned());
            }
        }
        f.write_str(&folded(&words))
    }
}

/// Folds what repeats: the run that covers most, the shortest of equal ones.
fn folded(words: &[String]) -> String {
    let mut out = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let rest = &words[at..];
        let run =
            |period: usize| rest.chunks_exact(period).take_while(|chunk| *chunk == &rest[..period]).count();
        let best =
            (2..=8.min(rest.len())).map(|period| (period, run(period))).filter(|(_, times)| *times > 1);
        let best = best.max_by_key(|&(period, times)| (period * times, std::cmp::Reverse(period)));
        match best {
            Some((period, times)) => {
                out.push(format!("({}) {times} times", rest[..period].join(", ")));
                at += period * times;
            }
            None => {
                out.push(rest[0].clone());
                at += 1;
            }
        }
    }
    out.join(", ")
}

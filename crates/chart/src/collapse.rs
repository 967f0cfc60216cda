//! Long runs of rows that are all alike, drawn once.
//!
//! A run repeats one row (in the round) or a pair of rows (there and back). The first drawn row carries the
//! numbers of the whole run, such as `13–30`; the second of a pair tells how many times the pair is worked.

use crate::chart::ChartRow;

/// Draws each run of at least `from` like rows as one row or one pair.
pub(crate) fn collapse(rows: &[ChartRow], from: usize) -> Vec<ChartRow> {
    let mut out = Vec::new();
    let mut next = 0;
    while next < rows.len() {
        let run = [1, 2].map(|period| (period, run_length(&rows[next..], period)));
        match run.into_iter().find(|&(period, length)| length >= from.max(2 * period)) {
            Some((period, length)) => {
                let times = length / period;
                out.extend(drawn_once(&rows[next..next + times * period], period));
                next += times * period;
            }
            None => {
                out.push(rows[next].clone());
                next += 1;
            }
        }
    }
    out
}

/// How many rows from the first each equal the one `period` before.
fn run_length(rows: &[ChartRow], period: usize) -> usize {
    let alike = rows.iter().zip(rows.iter().skip(period)).take_while(|(a, b)| alike(a, b)).count();
    if alike == 0 { 1 } else { alike + period }
}

fn alike(a: &ChartRow, b: &ChartRow) -> bool {
    (a.side, a.after, &a.cells) == (b.side, b.after, &b.cells)
}

fn drawn_once(run: &[ChartRow], period: usize) -> Vec<ChartRow> {
    let times = run.len() / period;
    let mut drawn = run[..period].to_vec();
    for (place, row) in drawn.iter_mut().enumerate() {
        (row.times, row.step) = (times, period);
        row.label = match place {
            0 => format!("{}–{}", run[0].label, run[run.len() - 1].label),
            _ => format!("{times} times"),
        };
    }
    drawn
}

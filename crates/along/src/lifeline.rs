//! Lifelines: rows after which a thread through all stitches is worth its minute.
//!
//! A row is easy where nothing but knitting and purling is done: its count is quickly checked, and its loops take up
//! quickly. A row is risky where it has holes, decreases, increases or crossings. A lifeline is worth it right before
//! risky rows, and again only when much would be lost by ripping back to the one before. Where no row is easy for long,
//! the one with the least in it must do. Where rows begin again, the last easy row before they do is such a place too; a
//! time through that holds less than a lifeline is worth has one now and then only. Common practice, no published source; the numbers are guesses.

use loops::{Op, WorkedRow};

/// Stitches of risky rows from which on another lifeline is worth it.
const STITCHES_AT_RISK: u32 = 400;
/// Risky rows from which on it is, however narrow they are.
const ROWS_AT_RISK: u32 = 8;
/// As many times that must be at risk before a row that is not easy will do.
const MAKESHIFT: u32 = 2;

/// What can go wrong in a row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Risk {
    holes: u32,
    decreases: u32,
    increases: u32,
    crossings: u32,
}

/// What would be lost by ripping back to the last lifeline.
#[derive(Clone, Copy, Debug, Default)]
struct AtRisk {
    /// Risky rows.
    rows: u32,
    /// Their stitches.
    stitches: u32,
}

/// The rows after which a lifeline is worth it, each with the reason, in order. `again` is the row at which the rows
/// begin again, where they do.
pub(crate) fn lifelines(rows: &[WorkedRow], again: Option<usize>) -> Vec<(usize, String)> {
    let risks: Vec<Risk> = rows.iter().map(Risk::of).collect();
    let again = again.filter(|&again| again < rows.len());
    match again.and_then(|again| Some((again, times_between(&rows[again..])?))) {
        Some((again, times)) => in_short_repeat(rows, &risks, again, times),
        None => all_through(rows, &risks, again),
    }
}

/// How many times through so few rows are worked before another lifeline is worth it; `None` where it is after one, or
/// nothing is risky.
fn times_between(rows: &[WorkedRow]) -> Option<u32> {
    let at_risk = at_risk(rows);
    let times = |enough: u32, one: u32| enough.div_ceil(one.max(1));
    let times = times(STITCHES_AT_RISK, at_risk.stitches).min(times(ROWS_AT_RISK, at_risk.rows));
    (at_risk.rows > 0 && times > 1).then_some(times)
}

/// Lifelines where a time through is too short for one of its own: the last easy row before risky ones, now and then;
/// and one before the rows begin again, if only rows that are worked once lead up to them.
fn in_short_repeat(rows: &[WorkedRow], risks: &[Risk], again: usize, times: u32) -> Vec<(usize, String)> {
    let leads = |row: usize| is_easy(&rows[row]) && next(risks, Some(again), row).total() > 0;
    let first = (0..again).find(|&row| leads(row));
    let last = (again..rows.len()).rev().find(|&row| leads(row));
    let told = |row: usize| reason(&rows[row], &following(risks, Some(again), row), true);
    let every = |row: usize| (row, format!("{}; every {} through", told(row), nth_time(times)));
    first.map(|row| (row, told(row))).into_iter().chain(last.map(every)).collect()
}

/// Lifelines in rows that hold as much as one is worth, or that are worked once.
fn all_through(rows: &[WorkedRow], risks: &[Risk], again: Option<usize>) -> Vec<(usize, String)> {
    let mut lines = Vec::new();
    let mut since = AtRisk::default();
    for (index, row) in rows.iter().enumerate() {
        since.add(row, risks[index]);
        if next(risks, again, index).total() == 0 {
            continue;
        }
        let easy = is_easy(row);
        let is_first = lines.is_empty() && easy;
        let begins_again = index + 1 == rows.len() && easy && since.rows > 0;
        let least = is_least(risks, index);
        if is_first || begins_again || (easy && since.is_much(1)) || (least && since.is_much(MAKESHIFT)) {
            lines.push((index, reason(row, &following(risks, again, index), easy)));
            since = AtRisk::default();
        }
    }
    lines
}

/// The risk of the row that comes next; none after the last, unless the rows begin again.
fn next(risks: &[Risk], again: Option<usize>, row: usize) -> Risk {
    risks.get(row + 1).or_else(|| risks.get(again?)).copied().unwrap_or_default()
}

/// The risks of the rows that come next, after the last those that begin again, up to where she is now.
fn following(risks: &[Risk], again: Option<usize>, row: usize) -> Vec<Risk> {
    let again = again.map_or(&[][..], |again| &risks[again..(row + 1).max(again)]);
    [&risks[row + 1..], again].concat()
}

fn at_risk(rows: &[WorkedRow]) -> AtRisk {
    let mut sum = AtRisk::default();
    for row in rows {
        sum.add(row, Risk::of(row));
    }
    sum
}

fn nth_time(times: u32) -> String {
    match times {
        2 => "second time".to_owned(),
        3 => "third time".to_owned(),
        times => format!("{times}th time"),
    }
}

fn is_easy(row: &WorkedRow) -> bool {
    let plain = |op: Op| matches!(op, Op::K | Op::P | Op::Slp | Op::Slk | Op::SlWyif | Op::SlWyib);
    !row.ops.is_empty() && row.ops.iter().all(|stitch| plain(stitch.op))
}

/// Whether a row has no more in it than the two rows before and after it.
fn is_least(risks: &[Risk], index: usize) -> bool {
    let near = &risks[index.saturating_sub(2)..(index + 3).min(risks.len())];
    near.iter().all(|risk| risk.total() >= risks[index].total())
}

fn reason(row: &WorkedRow, next: &[Risk], easy: bool) -> String {
    // The rows up to the next rest of two plain rows, or eight of them, whichever is less.
    let quiet = next.windows(2).position(|pair| pair.iter().all(|risk| risk.total() == 0));
    let rows = quiet.unwrap_or(next.len()).clamp(1, 8).min(next.len());
    let risk = next[..rows].iter().fold(Risk::default(), |sum, risk| sum.plus(*risk));
    let easily = if easy { "easy to count" } else { "and the least to go wrong hereabouts" };
    let span = if rows == 1 { "the next row has".to_owned() } else { format!("the next {rows} rows have") };
    let stitches = if row.after == 1 { "1 stitch" } else { &format!("{} stitches", row.after) };
    format!("{stitches}, {easily}; {span} {}", risk.words())
}

impl AtRisk {
    fn add(&mut self, row: &WorkedRow, risk: Risk) {
        if risk.total() > 0 {
            self.rows += 1;
            self.stitches += row.ops.len() as u32;
        }
    }

    /// Whether it is so many times as much as another lifeline is worth.
    fn is_much(self, times: u32) -> bool {
        self.stitches >= times * STITCHES_AT_RISK || self.rows >= times * ROWS_AT_RISK
    }
}

impl Risk {
    fn of(row: &WorkedRow) -> Risk {
        let mut risk = Risk::default();
        for stitch in &row.ops {
            match stitch.op {
                Op::Cross(_) => risk.crossings += 1,
                Op::Yo | Op::Yo2 | Op::Yo3 => risk.holes += 1,
                Op::Co | Op::Pu | Op::Take | Op::Hold | Op::Bo => {}
                op if op.is_decrease() => risk.decreases += 1,
                op if op.is_increase() => risk.increases += 1,
                _ => {}
            }
        }
        risk
    }

    fn total(self) -> u32 {
        self.holes + self.decreases + self.increases + self.crossings
    }

    fn plus(self, other: Risk) -> Risk {
        Risk {
            holes: self.holes + other.holes,
            decreases: self.decreases + other.decreases,
            increases: self.increases + other.increases,
            crossings: self.crossings + other.crossings,
        }
    }

    fn words(self) -> String {
        let said = [
            (self.holes, "yarn over", "yarn overs"),
            (self.decreases, "decrease", "decreases"),
            (self.increases, "increase", "increases"),
            (self.crossings, "crossing", "crossings"),
        ];
        let words: Vec<String> = said
            .into_iter()
            .filter(|&(count, ..)| count > 0)
            .map(|(count, one, many)| format!("{count} {}", if count == 1 { one } else { many }))
            .collect();
        match words.as_slice() {
            [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
            words => words.concat(),
        }
    }
}

#[cfg(test)]
mod tests {
    use loops::{Side, parse_tokens};
    use span::Span;

    use super::*;

    fn rows(tokens: &[&str]) -> Vec<WorkedRow> {
        let row = |tokens: &&str| WorkedRow {
            label: String::new(),
            side: Side::Right,
            before: 12,
            ops: parse_tokens(tokens).expect("known tokens"),
            after: 12,
            span: Span::DETACHED,
        };
        tokens.iter().map(row).collect()
    }

    #[test]
    fn the_first_is_right_before_the_first_holes() {
        let rows = rows(&["k*12", "p*12", "k*12", "p*12", "yo k2tog k*10", "p*12", "k*12"]);
        let reason = "12 stitches, easy to count; the next row has 1 yarn over and 1 decrease";
        assert_eq!(lifelines(&rows, None), [(3, reason.to_owned())]);
    }

    #[test]
    fn plain_work_needs_none_and_lace_not_one_every_other_row() {
        assert_eq!(lifelines(&rows(&["k*12"; 40]), Some(0)), []);
        let lace = rows(&["yo k2tog k*10", "p*12"].repeat(20));
        let places: Vec<usize> = lifelines(&lace, None).into_iter().map(|(row, _)| row).collect();
        assert_eq!(places, [1, 17, 33]);
    }

    #[test]
    fn without_a_plain_row_the_least_risky_one_will_do() {
        let rows = rows(&["yo k2tog yo k2tog k*8", "yo k2tog k*10"].repeat(20));
        let places: Vec<usize> = lifelines(&rows, None).into_iter().map(|(row, _)| row).collect();
        assert_eq!(places, [15, 31]);
    }

    #[test]
    fn a_long_repeat_has_one_before_it_begins_again() {
        let lace = ["yo k2tog k*10", "p*12"].repeat(8);
        let told = lifelines(&rows(&[&["k*12", "p*12"][..], &lace].concat()), Some(2));
        let reason = "12 stitches, easy to count; the next 8 rows have 4 yarn overs and 4 decreases";
        assert_eq!(told, [(1, reason.to_owned()), (17, reason.to_owned())]);
        // Rows that are not worked again end without one.
        assert_eq!(lifelines(&rows(&[&["k*12", "p*12"][..], &lace].concat()), None).len(), 1);
    }

    #[test]
    fn a_short_repeat_has_one_now_and_then() {
        let told = lifelines(&rows(&["k*12", "p*12", "yo k2tog k*10", "p*12"]), Some(2));
        let reason = "12 stitches, easy to count; the next 2 rows have 1 yarn over and 1 decrease";
        assert_eq!(told, [(1, reason.to_owned()), (3, format!("{reason}; every 8th time through"))]);
    }
}

//! Lifelines: rows after which a thread through all stitches is worth its minute.
//!
//! A row is easy where nothing but knitting and purling is done: its count is quickly checked, and its loops take up
//! quickly. A row is risky where it has holes, decreases, increases or crossings. A lifeline is worth it right before
//! risky rows, and again only when much would be lost by ripping back to the one before. Where no row is easy for long,
//! the one with the least in it must do. Common practice, no published source; the numbers are guesses.

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

/// The rows after which a lifeline is worth it, each with the reason, in order.
pub(crate) fn lifelines(rows: &[WorkedRow]) -> Vec<(usize, String)> {
    let risks: Vec<Risk> = rows.iter().map(Risk::of).collect();
    let mut lines = Vec::new();
    let (mut stitches, mut risky) = (0u32, 0u32);
    for (index, row) in rows.iter().enumerate() {
        if risks[index].total() > 0 {
            risky += 1;
            stitches += row.ops.len() as u32;
        }
        if risks.get(index + 1).is_none_or(|next| next.total() == 0) {
            continue;
        }
        let much = |times: u32| stitches >= times * STITCHES_AT_RISK || risky >= times * ROWS_AT_RISK;
        let easy = is_easy(row);
        let is_first = lines.is_empty() && easy;
        let least = is_least(&risks, index);
        if is_first || (easy && much(1)) || (least && much(MAKESHIFT)) {
            lines.push((index, reason(row, &risks[index + 1..], easy)));
            (stitches, risky) = (0, 0);
        }
    }
    lines
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
        assert_eq!(lifelines(&rows), [(3, reason.to_owned())]);
    }

    #[test]
    fn plain_work_needs_none_and_lace_not_one_every_other_row() {
        assert_eq!(lifelines(&rows(&["k*12"; 40])), []);
        let lace = rows(&["yo k2tog k*10", "p*12"].repeat(20));
        let places: Vec<usize> = lifelines(&lace).into_iter().map(|(row, _)| row).collect();
        assert_eq!(places, [1, 17, 33]);
    }

    #[test]
    fn without_a_plain_row_the_least_risky_one_will_do() {
        let rows = rows(&["yo k2tog yo k2tog k*8", "yo k2tog k*10"].repeat(20));
        let places: Vec<usize> = lifelines(&rows).into_iter().map(|(row, _)| row).collect();
        assert_eq!(places, [15, 31]);
    }
}

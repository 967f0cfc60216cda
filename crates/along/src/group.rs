//! A row as groups: what is done before the next look at the page, each with its stitches and the count after it.

use std::ops::Range;

use loops::{Op, Stitch, WorkedRow};
use serde::Serialize;
use wording::{Part, Phrase, Step, Terms, Width, fold, sentence};

/// A part of a row that is worked in one go.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Group {
    /// What to do.
    pub words: String,
    /// Its operations, as a range of those of the row.
    #[serde(serialize_with = "crate::json::pair")]
    pub ops: Range<usize>,
    /// Which time of how many, where the group is repeated.
    pub repeat: Option<Nth>,
    /// Stitches worked in this row when the group is done, those slipped among them.
    pub done: u32,
    /// Stitches on the needles when the group is done.
    pub on_needles: u32,
    /// Stitches that wait on a spare needle meanwhile, at most.
    pub spare: u32,
}

/// One of several times.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Nth {
    /// Which, from 1.
    pub nth: u32,
    /// Of how many.
    pub of: u32,
}

/// What is worked, with the operations it takes and how often it is repeated.
struct Piecemeal {
    words: String,
    length: usize,
    times: u32,
}

/// The groups of a row, and the whole row in words.
pub(crate) fn groups(row: &WorkedRow, terms: Terms) -> (Vec<Group>, String) {
    let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
    let phrase = fold(&ops, row.before, Width::Fixed);
    let mut groups = Vec::new();
    let mut start = 0;
    for (index, step) in phrase.steps.iter().enumerate() {
        let after = &phrase.steps[index + 1..];
        let Piecemeal { words, length, times } = piecemeal(step, ops.len() - start, after, terms);
        for nth in 1..=times {
            let range = start..start + length;
            let repeat = (times > 1).then_some(Nth { nth, of: times });
            groups.push(group(row, range, words.clone(), repeat));
            start += length;
        }
    }
    (groups, sentence(&phrase, terms))
}

/// The text with its first letter small: a group stands within a row.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect()
}

/// One step of a row with `left` operations from its start on.
fn piecemeal(step: &Step, left: usize, after: &[Step], terms: Terms) -> Piecemeal {
    let said = |steps: Vec<Step>| lower(&sentence(&Phrase { steps, unworked: 0 }, terms));
    let as_steps = |parts: &[Part]| said(parts.iter().cloned().map(Step::Part).collect());
    // What follows a star or a sweep is always told by numbers, so that its length is known.
    let reach = || left - after.iter().map(step_length).sum::<usize>();
    match step {
        Step::Part(Part::Times { runs, times }) => {
            let parts: Vec<Part> = runs.iter().copied().map(Part::Run).collect();
            let length = parts.iter().map(part_length).sum();
            Piecemeal { words: as_steps(&parts), length, times: *times }
        }
        Step::Across { unit, .. } => {
            let length: usize = unit.iter().map(part_length).sum();
            let times = u32::try_from(reach() / length.max(1)).unwrap_or(u32::MAX);
            Piecemeal { words: as_steps(unit), length, times }
        }
        Step::Part(part) => {
            Piecemeal { words: said(vec![step.clone()]), length: part_length(part), times: 1 }
        }
        Step::Sweep { .. } | Step::BindOffAll => {
            Piecemeal { words: said(vec![step.clone()]), length: reach(), times: 1 }
        }
    }
}

fn step_length(step: &Step) -> usize {
    match step {
        Step::Part(part) => part_length(part),
        Step::Across { .. } | Step::Sweep { .. } | Step::BindOffAll => 0,
    }
}

fn part_length(part: &Part) -> usize {
    let times = if let Part::Times { times, .. } = part { *times as usize } else { 1 };
    times * part.runs().iter().map(|run| run.count as usize).sum::<usize>()
}

fn group(row: &WorkedRow, ops: Range<usize>, words: String, repeat: Option<Nth>) -> Group {
    let sum = |count: fn(Op) -> u32, ops: &[Stitch]| ops.iter().map(|stitch| count(stitch.op)).sum::<u32>();
    let so_far = &row.ops[..ops.end];
    let done = sum(Op::makes, so_far);
    let left = row.before.saturating_sub(sum(Op::takes, so_far));
    let spare = row.ops[ops.clone()].iter().map(|stitch| spare(stitch.op)).max().unwrap_or(0);
    Group { words, ops, repeat, done, on_needles: done + left, spare }
}

/// Stitches that an operation puts on a spare needle.
fn spare(op: Op) -> u32 {
    if let Op::Cross(cross) = op { u32::from(cross.held) } else { 0 }
}

#[cfg(test)]
mod tests {
    use loops::{Side, parse_tokens, tally};
    use span::Span;

    use super::*;

    fn row(tokens: &str, before: u32) -> WorkedRow {
        let ops = parse_tokens(tokens).expect("known tokens");
        let tally = tally(&ops);
        let after = before - tally.takes + tally.makes;
        WorkedRow { label: "1".to_owned(), side: Side::Right, before, ops, after, span: Span::DETACHED }
    }

    #[test]
    fn each_repeat_is_a_group_with_its_count() {
        let row = row("k*2 yo k2tog k yo k2tog k yo k2tog k yo k2tog k k*2 yo k*2", 18);
        let (groups, text) = groups(&row, Terms::Us);
        assert!(text.contains("repeat from *"), "{text}");
        let repeats: Vec<_> = groups.iter().filter_map(|group| group.repeat).collect();
        assert_eq!(repeats.first(), Some(&Nth { nth: 1, of: 4 }));
        assert_eq!(groups.last().map(|group| (group.ops.end, group.done)), Some((19, 19)));
        assert!(groups.windows(2).all(|pair| pair[0].ops.end == pair[1].ops.start));
    }

    #[test]
    fn a_sweep_takes_what_is_left() {
        let (groups, _) = groups(&row("k*3 p*17", 20), Terms::Us);
        assert_eq!(groups.iter().map(|group| group.ops.clone()).collect::<Vec<_>>(), [0..3, 3..20]);
    }
}

//! What an earlier search found, for a text that has changed a little since and was not yet searched again.
//!
//! While she types, corrections that stand elsewhere neither vanish nor flicker: their places move with the words, and
//! those whose words were touched are left out until the next search.

use mending::Ruling;
use span::Span;

use super::diff::Difference;
use crate::app::utf16::Places;
use crate::app::wire::{At, Change, Doubt, DoubtKind, DoubtState, View};
use crate::checked::Checked;

/// What a search found, and the text that it searched.
#[derive(Clone, Debug)]
pub struct Earlier {
    text: String,
    /// The corrections that were sure, and so applied.
    applied: Vec<Ruling>,
    /// The doubts about misprints.
    corrections: Vec<Doubt>,
}

impl Earlier {
    /// What there is to remember of a view that was searched.
    pub fn of(checked: &Checked, view: &View) -> Earlier {
        let taken = checked.mending.taken.len();
        let applied = checked.emendations().skip(taken).map(|one| Ruling {
            span: one.span,
            printed: one.printed.clone(),
            corrected: one.corrected.clone(),
            why: one.why.clone(),
            taken: true,
        });
        let corrections = view.doubts.iter().filter(|doubt| doubt.kind == DoubtKind::Correction);
        Earlier {
            text: checked.source.text.clone(),
            applied: applied.collect(),
            corrections: corrections.cloned().collect(),
        }
    }

    /// The corrections that were sure, where their words stand in the text now and she has not decided about them.
    pub fn applied_in(&self, text: &str, decided: &[Ruling]) -> Vec<Ruling> {
        let moves = Moves::between(&self.text, text);
        let moved = self.applied.iter().filter_map(|ruling| {
            let span = moves.bytes.follow(At(ruling.span.start, ruling.span.end))?;
            Some(Ruling { span: Span { start: span.0, end: span.1 }, ..ruling.clone() })
        });
        let is_open = |ruling: &Ruling| !decided.iter().any(|other| touch(other.span, ruling.span));
        moved.filter(is_open).collect()
    }

    /// The doubts that were open or settled, where their words stand in the text now.
    pub fn corrections_in(&self, text: &str) -> Vec<Doubt> {
        let moves = Moves::between(&self.text, text).units;
        let undecided = |doubt: &&Doubt| matches!(doubt.state, DoubtState::Open | DoubtState::Settled);
        self.corrections.iter().filter(undecided).filter_map(|doubt| moved(doubt, &moves)).collect()
    }

    /// What a correction changes, as told before.
    pub fn difference_of(&self, corrected: &str, printed: &str) -> Option<Difference> {
        let rules = |change: &Change| matches!(change, Change::Rule { ruling } if (&*ruling.corrected, &*ruling.printed) == (corrected, printed));
        let mut options = self.corrections.iter().flat_map(|doubt| &doubt.options);
        options
            .find(|option| option.change.iter().any(rules) && !option.rows.is_empty())
            .map(|option| Difference { rows: option.rows.clone(), patch: option.patch.clone() })
    }
}

/// Whether two places overlap or are one.
pub fn touch(one: Span, other: Span) -> bool {
    one == other || one.start < other.end && other.start < one.end
}

fn moved(doubt: &Doubt, moves: &Move) -> Option<Doubt> {
    let mut doubt = doubt.clone();
    doubt.at = match doubt.at {
        Some(at) => Some(moves.follow(at)?),
        None => None,
    };
    for change in doubt.options.iter_mut().flat_map(|option| &mut option.change) {
        if let Change::Rule { ruling } = change {
            ruling.at = moves.follow(ruling.at)?;
        }
    }
    Some(doubt)
}

/// How places go from one text to another that has one stretch otherwise.
struct Moves {
    bytes: Move,
    units: Move,
}

/// The stretch that was replaced, and how much further on what is after it stands.
struct Move {
    start: u32,
    end: u32,
    by: i64,
}

impl Moves {
    fn between(before: &str, after: &str) -> Moves {
        let head = common(before.chars(), after.chars());
        let tail = common(before[head..].chars().rev(), after[head..].chars().rev());
        let (end, new_end) = (before.len() - tail, after.len() - tail);
        let bytes =
            Move { start: head as u32, end: end as u32, by: after.len() as i64 - before.len() as i64 };
        let (old, new) = (Places::of(before), Places::of(after));
        let (end, new_end) = (old.units(end as u32), new.units(new_end as u32));
        let units = Move { start: old.units(head as u32), end, by: i64::from(new_end) - i64::from(end) };
        Moves { bytes, units }
    }
}

/// How many bytes two texts have alike at the beginning.
fn common(one: impl Iterator<Item = char>, other: impl Iterator<Item = char>) -> usize {
    one.zip(other).take_while(|(a, b)| a == b).map(|(letter, _)| letter.len_utf8()).sum()
}

impl Move {
    /// Where words stand afterwards; `None` for words that were touched.
    fn follow(&self, At(start, end): At) -> Option<At> {
        let on = |place: u32| u32::try_from(i64::from(place) + self.by).ok();
        if self.start == self.end && self.by == 0 || end < self.start || end == self.start && start < end {
            Some(At(start, end))
        } else if start > self.end || start == self.end && start < end {
            Some(At(on(start)?, on(end)?))
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Moves;
    use crate::app::wire::At;

    /// Where the words of one text stand in another.
    fn found<'a>(before: &str, after: &'a str, words: &str) -> Option<&'a str> {
        let start = before.find(words).unwrap() as u32;
        let moves = Moves::between(before, after);
        let at = moves.bytes.follow(At(start, start + words.len() as u32))?;
        after.get(at.0 as usize..at.1 as usize)
    }

    #[test]
    fn words_move_with_the_text_and_touched_ones_are_lost() {
        let before = "½ row: knit 4, purl 3, knit 9";
        let after = "½ row: knit 4, purl 13, knit 9";
        assert_eq!(found(before, after, "knit 4"), Some("knit 4"));
        assert_eq!(found(before, after, "knit 9"), Some("knit 9"));
        assert_eq!(found(before, after, "purl 3"), None);
        assert_eq!(found(before, before, "purl 3"), Some("purl 3"));
        assert_eq!(found("knit 4", "purl", "knit 4"), None);
    }

    #[test]
    fn places_in_code_units_move_by_code_units() {
        let moves = Moves::between("½ knit 4", "½🧶 knit 4").units;
        assert_eq!(moves.follow(At(2, 6)), Some(At(4, 8)));
    }
}

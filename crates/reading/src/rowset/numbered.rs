//! Rows named by their numbers: `3rd and 5th rows`, `Rows 2 to 12, even`, `2nd and every alternate row`.
//!
//! Knows how numbers are listed and what may follow a list; not how rows are counted or told by their kind.

use super::kinds::parity;
use super::{RUN_LIMIT, RowSet, Scan, Which, row_or_pin, row_word};
use crate::lexer::{Gap, TokenKind};

/// Words for all of a kind.
const EVERY: [&str; 3] = ["every", "all", "each"];

/// The kind of row that a number is of.
fn of_parity(number: u32) -> Which {
    if number.is_multiple_of(2) { Which::Even } else { Which::Odd }
}

/// The rows of the same parity as the first or second, named by itself.
fn same_parity(numbers: &[u32]) -> Option<Which> {
    match numbers {
        [first @ 1..=2] => Some(of_parity(*first)),
        _ => None,
    }
}

impl Scan<'_> {
    /// `3rd row`, `the 2nd, 4th and 6th rows`, `3rd to 8th round`, `1st and 2nd`.
    pub(super) fn ordinals(&self, out: &mut Vec<(usize, RowSet)>) {
        let at = self.skip_the();
        let Some((mut end, numbers, mut round)) = self.list(at, |token| token.ordinal) else { return };
        // "Like the 3rd, 6th like the 2nd": what follows the comma may be another sentence.
        if numbers.len() > 1 && round.is_none() {
            out.push(self.found(at + 1, Which::Numbers(numbers[..1].to_vec()), false, false));
        }
        if round.is_none()
            && self.is(end, &["pattern", "plain", "open", "fancy", "lace", "figured"])
            && self.close(end)
            && let Some(kind) = self.tokens.get(end + 1).and_then(row_word)
        {
            round = Some(kind);
            end += 2;
        }
        // "1st turn": a row, in books from the French.
        if round.is_none() && self.is(end, &["turn", "turns"]) && self.tokens[end].gap == Gap::None {
            round = Some(false);
            end += 1;
        }
        // "The 14th and last is purled."
        if self.is(end, &["and"]) && self.is(end + 1, &["last"]) && self.close(end + 1) {
            let word = self.tokens.get(end + 2).and_then(row_word);
            let end = end + 2 + usize::from(word.is_some());
            out.push(self.found(end, Which::Numbers(numbers.clone()), word.unwrap_or(false), true));
        }
        if let Some(of_end) = self.of_these(end) {
            out.push(self.found(of_end, Which::Numbers(numbers.clone()), round.unwrap_or(false), true));
        }
        let one_of = ["stitch", "stitches", "st", "sts", "loop", "one", "last"];
        let and = self.is(end, &["and"]) && self.tokens[end].gap < Gap::Comma;
        let of_stitches = and || self.is(end, &one_of) && self.close(end);
        out.extend(self.and_every_up_to(end, &numbers));
        out.extend(self.and_every(end, &numbers));
        out.extend(self.and_the_rest(end, &numbers));
        if round.is_some() || !of_stitches {
            out.push(self.found(end, Which::Numbers(numbers), round.unwrap_or(false), round.is_some()));
        }
    }

    /// `(2nd and every alternate row) to the 6th`: so many apart, from the one told.
    fn up_to(&self, at: usize, told: &[u32], step: usize) -> Option<(usize, RowSet)> {
        let up = usize::from(self.is(at, &["up"]));
        let far = self.is(at, &["as"]) && self.is(at + 1, &["far"]) && self.is(at + 2, &["as"]);
        let to = (far || self.is(at + up, &["to", "till", "until"])) && self.close(at);
        let at = at + if far { 3 } else { 1 + up };
        let at = at + usize::from(self.is(at, &["the"]));
        let at = at + usize::from(self.tokens.get(at).and_then(row_word).is_some());
        let last = self.tokens.get(at).and_then(|token| token.ordinal.or(token.number)).filter(|_| to)?;
        let [first] = told else { return None };
        let numbers: Vec<u32> = (*first..=last.min(RUN_LIMIT)).step_by(step).collect();
        let end = at + 1;
        let end = end
            + usize::from(
                self.tokens.get(end).is_some_and(|next| self.close(end) && row_word(next).is_some()),
            );
        let end = end + usize::from(self.is(end, &["inclusive", "included"]));
        (numbers.len() > 1).then(|| self.found(end, Which::Numbers(numbers), false, true))
    }

    /// `(3rd row), and all the rest to the 8th`: each from the one told.
    fn and_the_rest(&self, at: usize, told: &[u32]) -> Option<(usize, RowSet)> {
        let and = self.is(at, &["and"]) && self.is(at + 1, &["all", "each", "every"]) && self.close(at);
        let at = at + 2 + usize::from(self.is(at + 2, &["the"]));
        let rest = self.is(at, &["rest", "others", "following", "row", "rows", "rounds", "succeeding", "1"]);
        let at = at + 1 + usize::from(self.tokens.get(at + 1).and_then(row_word).is_some());
        self.up_to(at, told, 1).filter(|_| and && rest)
    }

    /// `(2nd) and every alternate row`: the rows of the same parity.
    fn and_every(&self, at: usize, numbers: &[u32]) -> Option<(usize, RowSet)> {
        if !(self.is(at, &["and"]) && self.close(at)) {
            return None;
        }
        let kind = at + 1 + usize::from(self.is(at + 1, &["in"]));
        self.those_back(kind, numbers).or_else(|| self.alternate(kind, numbers))
    }

    /// `(2nd needle and) all those which return`.
    fn those_back(&self, at: usize, numbers: &[u32]) -> Option<(usize, RowSet)> {
        let those = self.is(at, &EVERY) && self.is(at + 1, &["those", "the", "others"]);
        let back =
            self.is(at + 2, &["which", "that"]) && self.is(at + 3, &["return", "returns", "come", "go"]);
        let end = at + 4 + usize::from(self.is(at + 4, &["back"]));
        let which = same_parity(numbers)?;
        (those && back).then(|| self.found(end, which, false, true))
    }

    /// `(2nd and) every other row`, `(2 and) alternate rows`, `(the 4th and) all other even rows`.
    fn alternate(&self, at: usize, numbers: &[u32]) -> Option<(usize, RowSet)> {
        let (end, kind, round) = self.every_other(at)?;
        let said = kind.filter(|kind| numbers.len() == 1 && of_parity(numbers[0]) == *kind);
        Some(self.found(end, said.or_else(|| same_parity(numbers))?, round, true))
    }

    /// `(4th) and every alternate row as far as the 12th`: every other one from the one told.
    fn and_every_up_to(&self, at: usize, told: &[u32]) -> Option<(usize, RowSet)> {
        let and = self.is(at, &["and"]) && self.close(at);
        let every = at + 1 + usize::from(self.is(at + 1, &["in"]));
        let (end, kind, _) = self.every_other(every).filter(|_| and)?;
        let [first] = told else { return None };
        let alike = kind.is_none_or(|kind| of_parity(*first) == kind);
        self.up_to(end, told, 2).filter(|_| alike)
    }

    /// `every other row`, `alternate rows`, `all other even rows`: the end, the kind where it is said, and whether of rounds.
    fn every_other(&self, at: usize) -> Option<(usize, Option<Which>, bool)> {
        const OTHER: [&str; 7] = ["alternate", "other", "even", "following", "succeeding", "second", "2nd"];
        let word = at + usize::from(!self.is(at, &["alternate"]));
        if word > at && !self.is(at, &EVERY) || !self.is(word, &OTHER) {
            return None;
        }
        let kind = parity(self.text(word + 1)).filter(|_| self.is(word, &["other", "following"]));
        let row = word + 1 + usize::from(kind.is_some());
        Some((row + 1, kind, self.tokens.get(row).and_then(row_or_pin)?))
    }

    /// `(the first) of these two rounds`, `(the second) of these`: the end.
    fn of_these(&self, at: usize) -> Option<usize> {
        let named =
            self.is(at, &["of"]) && self.is(at + 1, &["these", "those", "the", "them"]) && self.close(at + 1);
        let after = at + 2 + usize::from(self.tokens.get(at + 2).is_some_and(|token| token.number.is_some()));
        let word = self.tokens.get(after).and_then(row_word).is_some();
        let pointed = after == at + 2 && !self.is(at + 1, &["the"]);
        (named && (word || pointed)).then_some(after + usize::from(word))
    }

    /// `Row 3`, `Rows 2 to 12, even`.
    pub(super) fn row_then_numbers(&self, out: &mut Vec<(usize, RowSet)>) {
        let Some(round) = self.tokens.get(self.start).and_then(row_word) else { return };
        let at = self.start + 1;
        if !self.close(at) {
            return;
        }
        let Some((end, mut numbers, _)) = self.list(at, |token| token.number) else { return };
        if let Some((end, stepped)) = self.every_so_many(end, &numbers) {
            out.push(self.found(end, Which::Numbers(stepped), round, true));
        }
        let parity = |end: usize| match self.text(end) {
            "even" => Some(0),
            "odd" => Some(1),
            _ => None,
        };
        let open = usize::from(self.tokens.get(end).is_some_and(|token| token.kind == TokenKind::Open));
        if let Some(rest) = parity(end + open) {
            numbers.retain(|number| number % 2 == rest);
            out.push(self.found(end + 1 + 2 * open, Which::Numbers(numbers), round, true));
        } else {
            out.push(self.found(end, Which::Numbers(numbers), round, true));
        }
    }

    /// `(Row 2) and every 2nd row to row 16`: the end, and the numbers from the one told.
    fn every_so_many(&self, at: usize, told: &[u32]) -> Option<(usize, Vec<u32>)> {
        let word = |at: usize| self.tokens.get(at).and_then(row_word).is_some();
        let step = self.tokens.get(at + 2)?.ordinal.filter(|step| *step > 0)?;
        let named =
            self.is(at, &["and"]) && self.is(at + 1, &["every"]) && word(at + 3) && self.is(at + 4, &["to"]);
        let last = self.tokens.get(at + 6)?.number.filter(|last| *last < RUN_LIMIT)?;
        let [first] = told else { return None };
        (named && word(at + 5)).then(|| (at + 7, (*first..=last).step_by(step as usize).collect()))
    }

    /// `3.` or `2, 4.` at the beginning of a line, `4, 6, 8.` after any full point.
    pub(super) fn bare_numbers(&self, out: &mut Vec<(usize, RowSet)>) {
        let first = &self.tokens[self.start];
        let refers = self.start > 0
            && matches!(
                self.tokens[self.start - 1].text.as_str(),
                "as" | "like" | "in" | "from" | "repeat" | "rep"
            );
        let opens = first.line_start && first.gap >= Gap::Point || first.gap >= Gap::Period || refers;
        let figures = (first.span.end - first.span.start) as usize == first.text.len();
        if !opens && first.gap != Gap::Point || !figures || first.text.len() > 3 {
            return;
        }
        let Some((end, numbers, None)) = self.list(self.start, |token| token.number) else { return };
        let ascend = numbers.len() > 1 && numbers.is_sorted_by(|a, b| a < b);
        if !opens && !ascend {
            return;
        }
        if !refers {
            out.extend(self.and_every_up_to(end, &numbers));
            out.extend(self.and_every(end, &numbers));
        }
        let parted = self
            .tokens
            .get(end)
            .map_or(refers, |next| next.gap >= Gap::Point && (refers || next.gap != Gap::Comma));
        if parted && numbers.iter().all(|number| (1..RUN_LIMIT).contains(number)) {
            out.push(self.found(end, Which::Numbers(numbers), false, false));
        }
    }

    /// `2 Row:`, `15 and 16 Rows:` at the beginning of a sentence; tells whether it is one.
    pub(super) fn numbers_then_row(&self, out: &mut Vec<(usize, RowSet)>) -> bool {
        let first = &self.tokens[self.start];
        let opens = first.gap >= Gap::Period || first.line_start && first.gap >= Gap::Point;
        let figures = first.number.is_some() && first.text.len() == first.span.range().len();
        if !(opens && figures) {
            return false;
        }
        let Some((end, numbers, Some(round))) = self.list(self.start, |token| token.number) else {
            return false;
        };
        let one = matches!(self.text(end - 1), "row" | "round" | "rnd" | "rd");
        let parted =
            self.tokens.get(end).is_some_and(|next| next.gap >= Gap::Colon || next.gap == Gap::Point);
        let names =
            parted && (one || numbers.len() > 1) && numbers.iter().all(|n| (1..RUN_LIMIT).contains(n));
        if names {
            out.push(self.found(end, Which::Numbers(numbers), round, true));
        }
        names
    }
}

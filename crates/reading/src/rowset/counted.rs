//! Rows told by how many they are and where they stand: `the first 8 rows`, `these four rows`, `6 ridges`.
//!
//! Knows counts and words of place; not rows that bear numbers.

use loops::Op;

use super::{RUN_LIMIT, RowSet, Scan, Which, row_word};
use crate::lexer::Gap;

/// What a row is called that is worked plain or purled throughout.
const PLAIN_OR_PURLED: [&str; 7] = ["plain", "knit", "purl", "pearl", "seamed", "purled", "pearled"];

impl Scan<'_> {
    /// `the first 8 rows`, `the 8 first rows`, `these four rows`, `the last 3 rounds`, `6 rows`, `next row`.
    pub(super) fn counted(&self, out: &mut Vec<(usize, RowSet)>) {
        let each = self.is(self.start, &["each", "both"]) && self.is(self.start + 1, &["of"]);
        let mut at = self.start + 2 * usize::from(each);
        at += usize::from(self.is(at, &["the", "all"]));
        at += usize::from(self.is(at, &["entire", "whole"]));
        let mut kind = None;
        let mut count = None;
        for _ in 0..3 {
            match self.text(at) {
                "1st" if kind.is_none() && count.is_none_or(|count| count > 1) => kind = Some("first"),
                "last" | "preceding" | "previous" | "foregoing" | "above" | "past" => kind = Some("last"),
                "these" | "this" | "those" => kind = Some("these"),
                "next" | "following" | "succeeding" | "foundation" | "preparatory" | "preparation"
                | "preliminary" | "introductory" => kind = Some("next"),
                "other" | "same" | "entire" | "whole" if kind.is_some() => {}
                // "Do the same four rounds."
                "same" if count.is_none() && self.is(at - 1, &["the"]) && self.counts(at + 1) => {
                    kind = Some("these");
                }
                "a" if count.is_none() && kind.is_none() => count = Some(1),
                "another"
                    if count.is_none()
                        && kind.is_none()
                        && (self.is(at + 1, &PLAIN_OR_PURLED) || self.is(at + 1, &["ridge"])) =>
                {
                    count = Some(1);
                }
                _ => match self.tokens.get(at).and_then(|token| token.number).filter(|_| count.is_none()) {
                    Some(number) => count = Some(number),
                    None => break,
                },
            }
            at += 1;
            if !self.close(at) {
                break;
            }
        }
        // "Knit 6 to 10 rounds, according to the size of the cotton": the fewest will do.
        let number = |at: usize| self.tokens.get(at).and_then(|token| token.number);
        if kind.is_none()
            && self.is(at, &["to", "or"])
            && count.zip(number(at + 1)).is_some_and(|(few, more)| few < more)
        {
            at += 2;
        }
        if let Some(rows) = self.ridges(at, kind.is_none(), count) {
            out.push(rows);
            return;
        }
        at += usize::from(count.is_some() && self.is(at, &["of"]));
        at += usize::from(self.is(at, &["entire", "whole", "pattern", "more"]));
        let told = match self.text(at) {
            "plain" | "knit" => Some(Op::K),
            word if PLAIN_OR_PURLED.contains(&word) => Some(Op::P),
            _ => None,
        };
        at += usize::from(told.is_some());
        // "The same as the first four" needs no word for row.
        let refers = matches!(kind, Some("first" | "these" | "last"))
            && count.is_some_and(|count| count > 1)
            && self.start > 0
            && matches!(self.tokens[self.start - 1].text.as_str(), "as" | "like" | "of" | "repeat");
        let refers = refers || self.last_alone(at, kind, count) || self.gone_through(at, kind, count);
        // "Two purled ones."
        let ones = told.is_some() && self.is(at, &["ones"]);
        let word = self.tokens.get(at).filter(|word| word.gap < Gap::Comma).and_then(row_word);
        let of_kind = self.of_a_kind_too(at, told, count);
        let named = word.or((ones || of_kind).then_some(false));
        let Some(round) = named.or(refers.then_some(false)) else { return };
        let end = at + usize::from(named.is_some() && !of_kind);
        let end = end + usize::from(named.is_some() && self.is(end, &["more"]));
        let numbers_a_size = self.start > 0 && self.tokens[self.start - 1].text == "no";
        if count.is_some_and(|count| count > RUN_LIMIT || numbers_a_size) {
            return;
        }
        // "The row that follows", "the six rows that follow".
        let relates = self.is(end, &["that", "which"])
            && self.is(end + 1, &["follows", "comes", "follow", "come", "succeed"]);
        let the = self.tokens[self.start..end].iter().any(|token| token.text == "the");
        if relates && kind.is_none() && the {
            let end = end + 2 + usize::from(self.is(end + 2, &["next", "now", "after"]));
            out.push(self.found(end, Which::Next(count.unwrap_or(1)), round, true));
            return;
        }
        // "The two rows after."
        let after = usize::from(self.is(end, &["after", "following"]) && each);
        let (kind, end) = if after > 0 { (kind.or(Some("next")), end + after) } else { (kind, end) };
        let which = match (kind, count) {
            (Some("first"), None) | (None, None) => return,
            // "Knit first one row."
            (Some("first"), Some(1)) => Which::Next(1),
            (Some("first"), Some(n)) => Which::First(n),
            (Some("last" | "these"), n) => Which::Last(n.unwrap_or(1)),
            (Some(_), n) => Which::Next(n.unwrap_or(1)),
            (None, Some(n)) if self.gone_through(at, kind, count) => Which::Last(n),
            (None, Some(_)) if self.heads(end) => return,
            (None, Some(n)) => Which::Count(n),
        };
        let (end, mut rows) = self.found(end, which, round, true);
        rows.told = told;
        out.push((end, rows));
    }

    /// Whether it is a number, and rows are what it counts.
    fn counts(&self, at: usize) -> bool {
        let number = self.tokens.get(at).is_some_and(|token| token.number.is_some());
        number && self.tokens.get(at + 1).and_then(row_word).is_some()
    }

    /// `(two rows of plain knitting) and two of purl`.
    fn of_a_kind_too(&self, end: usize, told: Option<Op>, count: Option<u32>) -> bool {
        let also = self.start > 0 && matches!(self.tokens[self.start - 1].text.as_str(), "and" | "then");
        let of = end >= 2 && self.is(end - 2, &["of"]);
        also && of && told.is_some() && count.is_some_and(|count| count > 1)
    }

    /// `(go through) the four`, once more.
    fn gone_through(&self, end: usize, kind: Option<&str>, count: Option<u32>) -> bool {
        let named = self.start > 0 && matches!(self.tokens[self.start - 1].text.as_str(), "through" | "over");
        let again = self.is(end, &["once", "twice", "again", "thrice"]);
        kind.is_none()
            && count.is_some_and(|count| count > 1)
            && self.is(self.start, &["the"])
            && named
            && again
    }

    /// `13 Row: (the same)`: the number of one row, and a mark between it and its work.
    fn heads(&self, end: usize) -> bool {
        let several = self.tokens[self.start].number.is_some_and(|number| number > 1);
        let figure = self.text(self.start).bytes().all(|byte| byte.is_ascii_digit());
        let one = end == self.start + 2 && self.is(self.start + 1, &["row", "round", "needle"]);
        several && figure && one && self.tokens.get(end).is_some_and(|next| next.gap >= Gap::Colon)
    }

    /// `(as the) last`, where the sentence ends.
    fn last_alone(&self, end: usize, kind: Option<&str>, count: Option<u32>) -> bool {
        let alone = kind == Some("last") && count.is_none() && self.is(self.start, &["the"]);
        let named = self.start > 0 && matches!(self.tokens[self.start - 1].text.as_str(), "as" | "like");
        alone && named && self.tokens.get(end).is_none_or(|next| next.gap >= Gap::Period)
    }

    /// `6 turns`, `4 ridges`, `2 ribs of plain knitting`: a turn is there and back, and so is a ridge,
    /// which is plain.
    fn ridges(&self, at: usize, alone: bool, count: Option<u32>) -> Option<(usize, RowSet)> {
        let count = count.filter(|count| alone && *count <= RUN_LIMIT / 2)?;
        let at = at + usize::from(self.is(at, &["more"]));
        let plain = usize::from(self.is(at + 1, &["of"]));
        let of_plain = self.is(at + 1 + plain, &["plain", "garter"]).then_some(at + 2 + plain);
        let of_plain = of_plain.map(|end| end + usize::from(self.is(end, &["knitting", "work", "stitch"])));
        let close = self.tokens.get(at).is_some_and(|token| token.gap == Gap::None);
        let end = if self.is(at, &["turns", "ridges", "ridge"]) {
            of_plain.unwrap_or(at + 1 + usize::from(self.is(at + 1, &["more"])))
        } else {
            of_plain.filter(|_| self.is(at, &["ribs"]))?
        };
        let (end, mut rows) = self.found(end, Which::Count(2 * count), false, true);
        rows.told = (of_plain.is_some() || self.is(at, &["ridges", "ridge"])).then_some(Op::K);
        close.then_some((end, rows))
    }
}

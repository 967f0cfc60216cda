//! Rows named by their kind or by a name of their own: `every alternate row`, `the rows between`, `Ribbon Row`.
//!
//! Knows words for kinds of rows and what a name may be; not numbers and counts.

use std::rc::Rc;

use notation::numeral::ORDINALS;

use super::{RowSet, Scan, Which, row_or_pin, row_word};
use crate::lexer::{Gap, Token, TokenKind};
use crate::words::WORDS;

/// The most words that a row's own name has.
const LONGEST_NAME: usize = 3;

/// The name that some words are.
fn name_of(words: &[Token]) -> Rc<str> {
    let words: Vec<&str> = words.iter().map(|token| token.text.as_str()).collect();
    words.join(" ").into()
}

/// Whether a word tells only how a row is worked.
fn of_a_kind(token: &Token) -> bool {
    matches!(token.text.as_str(), "plain" | "purl" | "pearl" | "knit" | "stitch")
}

/// Whether a word is likely a misprint of an ordinal: "thlrd".
fn is_nearly_an_ordinal(word: &str) -> bool {
    let differ =
        |ordinal: &str| ordinal.bytes().zip(word.bytes()).filter(|(one, other)| one != other).count();
    let mut alike = ORDINALS[1..=12].iter().filter(|ordinal| ordinal.len() == word.len());
    alike.any(|ordinal| differ(ordinal) <= 2)
}

/// Whether these words can be the name of a row: they describe it, and are no instruction.
fn is_a_name(words: &[Token]) -> bool {
    let plain = |token: &Token| {
        let word = token.text.as_str();
        token.kind == TokenKind::Word
            && token.number.is_none()
            && !WORDS.no_name.contains(word)
            && !is_nearly_an_ordinal(word)
    };
    let (ordinal, rest) = match words {
        [first, rest @ ..] if first.ordinal.is_some() && !rest.is_empty() => (true, rest),
        words => (false, words),
    };
    rest.iter().all(|token| plain(token) && token.ordinal.is_none())
        && !(ordinal && rest.iter().all(of_a_kind))
}

impl Scan<'_> {
    /// `Ribbon Row: …`, `First Shell Row. …`, `(like) the shell row`, `another purl row`: a name that the text
    /// gives a row.
    pub(super) fn called(&self, out: &mut Vec<(usize, RowSet)>) {
        let mut at = self.start;
        let opens = self.tokens[at].line_start || self.tokens[at].gap >= Gap::Semicolon;
        let refers = at > 0 && matches!(self.tokens[at - 1].text.as_str(), "as" | "like");
        at += usize::from(self.is(at, &["then", "next", "now", "and"]));
        at += usize::from(self.is(at, &["comes", "follows", "work", "make"]));
        let again = self.is(at, &["another"]);
        at += usize::from(self.is(at, &["the", "a", "an", "another"]));
        let Some(len) = (1..=LONGEST_NAME).find(|len| self.tokens.get(at + len).and_then(row_word).is_some())
        else {
            return;
        };
        let (names, end) = (&self.tokens[at..at + len], at + len + 1);
        let round = self.tokens.get(at + len).and_then(row_word).unwrap_or(false);
        let joined =
            names[1..].iter().all(|token| token.gap == Gap::None) && self.tokens[at + len].gap == Gap::None;
        let next = self.tokens.get(end).map_or(Gap::Paragraph, |token| token.gap);
        // "Fourth round. Plain row": what is told of a row that has its name already.
        let kind = names.iter().all(of_a_kind);
        let heads = opens && next >= Gap::Colon && (!kind || self.tokens[self.start].line_start);
        let ended = next >= Gap::Semicolon && (refers || again && opens);
        let known = out.iter().any(|(known, _)| *known >= end);
        if joined && !known && (heads || ended) && is_a_name(names) {
            out.push(self.found(end, Which::Called(name_of(names)), round, true));
        }
    }

    /// `(11th row) (cable row)`: the end, and the name.
    pub(super) fn beside(&self, at: usize) -> Option<(usize, Rc<str>)> {
        let opened = self.tokens.get(at).is_some_and(|token| token.kind == TokenKind::Open);
        let begins = at + 1 + usize::from(self.is(at + 1, &["the", "a"]));
        let len =
            (1..=LONGEST_NAME).find(|len| self.tokens.get(begins + len).and_then(row_word).is_some())?;
        let names = &self.tokens[begins..begins + len];
        let end = begins + len + 1;
        let closed = self.tokens.get(end).is_some_and(|token| token.kind == TokenKind::Close);
        (opened && closed && is_a_name(names)).then(|| (end + 1, name_of(names)))
    }

    /// `the rows between`, `all rounds in between`.
    pub(super) fn between(&self, out: &mut Vec<(usize, RowSet)>) {
        let at = self.start + usize::from(self.is(self.start, &["the", "all"]));
        let at = at + usize::from(at > self.start && self.is(at, &["the"]));
        let Some(round) = self.tokens.get(at).and_then(row_word).filter(|_| self.close(at + 1)) else {
            return;
        };
        let end = at + 1 + usize::from(self.is(at + 1, &["in", "that", "lying"]));
        if self.is(end, &["between"]) {
            out.push(self.found(end + 1, Which::Alternate, round, true));
        }
    }

    /// How many rows a word for rows stands for, and whether for rounds: a rib of plain knitting is there and back.
    fn rows_of(&self, at: usize) -> Option<(u32, bool)> {
        let token = self.tokens.get(at).filter(|_| self.close(at))?;
        let ribs = self.is(at, &["rib", "ridge"]).then_some((2, false));
        ribs.or_else(|| row_word(token).map(|round| (1, round)))
    }

    /// `every alternate row`, `all even rows`, `every pattern round`, `each row marked by an even number`.
    pub(super) fn by_kind(&self, out: &mut Vec<(usize, RowSet)>) {
        let mut at = self.start + usize::from(self.is(self.start, &["the"]));
        let every = self.is(at, &["every", "each", "all", "in"]);
        at += usize::from(every);
        at += usize::from(every && self.is(at, &["of"]));
        // "Like the other even rows", "as the rest of the even rounds".
        let rest = self.is(at, &["rest"]) && self.is(at + 1, &["of"]) && self.is(at + 2, &["the"]);
        let others = if rest { 3 } else { usize::from(self.is(at, &["other", "remaining"])) };
        at += others * usize::from(parity(self.text(at + others)).is_some());
        at += usize::from(every && self.is(at, &["the", "these", "those"]));
        // "Every following 4th row."
        let further = self.is(at, &["following", "succeeding"])
            && self.tokens.get(at + 1).is_some_and(|token| token.ordinal.is_some());
        at += usize::from(further);
        let nth = self.tokens.get(at).and_then(|token| token.ordinal).filter(|nth| (2..=40).contains(nth));
        if let (Some(nth), true) =
            (nth, self.is(at - usize::from(every) - usize::from(further), &["every", "each"]))
            && let Some((rows, round)) = self.rows_of(at + 1)
            && nth * rows > 2
        {
            let (end, which) = (at + 2, Which::EveryNth(nth * rows));
            let end = end + usize::from(self.is(end, &["following"]));
            out.push(self.found(end, which, round, true));
            return;
        }
        let which = match self.text(at) {
            "wrong" if self.is(at + 1, &["side"]) && self.is(at + 2, &["is"]) && !every => {
                out.push(self.found(at + 2, Which::Back, false, true));
                return;
            }
            "even" | "evenly" | "equal" => Which::Even,
            "odd" | "uneven" | "unequal" => Which::Odd,
            "2nd" if self.is(self.start, &["in", "the"]) => return,
            "alternate" | "other" | "2nd" | "intermediate" | "intervening" | "ws" | "wrong" => {
                Which::Alternate
            }
            // Of smooth knitting every second row is knitted.
            "k" | "knit" if every && self.is(self.start, &["every", "each"]) => Which::Alternate,
            "back" | "return" | "returning" | "reverse" => Which::Back,
            // "All the rows of return."
            "rows" | "rounds" if self.is(at + 1, &["of"]) && self.is(at + 2, &["return"]) => {
                out.push(self.found(at + 3, Which::Back, false, true));
                return;
            }
            "pattern" | "open" | "fancy" | "closing" | "narrowing" | "decreasing" | "intake"
            | "increasing" | "widening" | "decrease" | "increase" | "shaped"
                if every =>
            {
                Which::Pattern
            }
            "succeeding" | "following" | "subsequent" | "remaining" if every => Which::Every,
            // "All round" is no name of rounds.
            "round" | "row" if self.is(self.start, &["all"]) => return,
            // Nor does what "eight are left on each needle" end with.
            "needle" | "needles" if self.lies_on() => return,
            // "The rounds designated by even numbers."
            "rounds" | "rows" if !every && self.numbered(at + 1).is_some() => {
                at -= usize::from(at > self.start);
                Which::Every
            }
            // "In rows backwards and forwards" names none either.
            _ if every
                && !self.is(self.start, &["in"])
                && self.tokens.get(at).is_some_and(|token| row_word(token).is_some()) =>
            {
                at -= 1;
                Which::Every
            }
            _ => return,
        };
        if which == Which::Alternate && !every && self.is(at, &["other", "2nd"]) {
            return;
        }
        at += 1;
        at += usize::from(self.is(at, &["numbered", "pattern", "side"]));
        let Some(round) = self.tokens.get(at).filter(|_| self.close(at)).and_then(row_or_pin) else { return };
        let mut end = at + 1;
        end += usize::from(
            self.is(end, &["henceforward", "henceforth", "hereafter", "throughout", "afterwards"]),
        );
        end += 2 * usize::from(self.is(end, &["after"]) && self.is(end + 1, &["it", "this", "that"]));
        end = self.past_last(end);
        // "All the even needles which follow."
        if self.is(end, &["which", "that"]) && self.is(end + 1, &["follow", "come", "succeed"]) {
            end += 2;
        }
        if let Some((end, which)) = self.numbered(end) {
            out.push(self.found(end, which, round, true));
            return;
        }
        out.push(self.found(end, which, round, true));
    }

    /// "(Every second row) to the 16th": where the last of such rows is named.
    fn past_last(&self, at: usize) -> usize {
        let up = at + usize::from(self.is(at, &["up"]));
        let the = up + 1 + usize::from(self.is(up + 1, &["the"]));
        let nth = self.tokens.get(the).filter(|token| token.ordinal.is_some() && self.close(the));
        let to = self.is(up, &["to", "till", "until"]) && self.close(at) && nth.is_some();
        if !to {
            return at;
        }
        let row = self.tokens.get(the + 1).filter(|_| self.close(the + 1)).and_then(row_word);
        the + 1 + usize::from(row.is_some())
    }

    /// "With an uneven number", "marked by even numbers": the end of such words and the rows that they leave.
    fn numbered(&self, at: usize) -> Option<(usize, Which)> {
        let said = ["marked", "designated", "denoted", "distinguished", "indicated", "numbered"];
        let by = at + usize::from(self.is(at, &said));
        let kind = by + 1 + usize::from(self.is(by + 1, &["an", "a", "the"]));
        let counts = self.is(kind + 1, &["number", "numbers", "figure", "figures"]);
        let leads = self.is(by, &["with", "of", "having", "bearing", "by"]) && counts;
        parity(self.text(kind)).filter(|_| leads).map(|which| (kind + 2, which))
    }

    /// Whether it goes on from what stitches do: "(eight are left on) each needle".
    fn lies_on(&self) -> bool {
        let Some(on) = self.start.checked_sub(1) else { return false };
        self.is(on, &["on", "upon"])
            && self.tokens[on].gap == Gap::None
            && self.tokens[self.start].gap == Gap::None
    }
}

/// The rows of even or odd numbers.
pub(super) fn parity(word: &str) -> Option<Which> {
    match word {
        "even" | "equal" => Some(Which::Even),
        "odd" | "uneven" | "unequal" => Some(Which::Odd),
        _ => None,
    }
}

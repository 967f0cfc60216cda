//! Rows as a text names them: `3rd and 5th rows`, `Rows 2 to 12`, `every alternate row`, `the last three rows`.
//!
//! Finds every such name in a run of tokens. Whether a name labels a row or refers to one is for the grammar.

use std::rc::Rc;

use loops::Op;
use span::Span;

use crate::lexer::{Gap, Token, TokenKind};

/// The most rows that one name may cover, and the highest number of a row; beyond it is no row's name.
const RUN_LIMIT: u32 = 2_000;

/// Which rows are named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// By number, in the order named.
    Numbers(Vec<u32>),
    /// The first so many.
    First(u32),
    /// The so many just told.
    Last(u32),
    /// The so many that follow.
    Next(u32),
    /// Rows with even numbers.
    Even,
    /// Rows with odd numbers.
    Odd,
    /// Every other row, counted from those that are told.
    Alternate,
    /// The rows back, which may have no numbers.
    Back,
    /// The rows of the pattern, against the plain ones between them.
    Pattern,
    /// Every row.
    Every,
    /// Every fourth row, or the like.
    EveryNth(u32),
    /// So many rows, no matter which.
    Count(u32),
    /// The part of a round on the next needle.
    NextNeedle,
    /// As many rows as were last told by how many they are.
    AsMany,
    /// The row that the text gives this name: "Ribbon Row".
    Called(Rc<str>),
    /// As many rows as a length asks for, which the knitter measures.
    Measure,
}

/// A name of rows found in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowSet {
    /// The rows.
    pub which: Which,
    /// Whether the text says round.
    pub round: bool,
    /// Whether a word for row stands with it.
    pub explicit: bool,
    /// Whether that word is needle, which is a row in some books and a part of a round in others.
    pub needle: bool,
    /// The operation that the name itself tells: "two plain rows".
    pub told: Option<Op>,
    /// The words.
    pub span: Span,
}

impl RowSet {
    /// Rows named by no words of the text.
    pub fn named(which: Which) -> RowSet {
        RowSet { which, round: false, explicit: true, needle: false, told: None, span: Span::DETACHED }
    }

    /// How many rows one after the other it names by their numbers, if several.
    pub fn several(&self) -> Option<u32> {
        let Which::Numbers(numbers) = &self.which else { return None };
        let together = numbers.windows(2).all(|pair| pair[1] == pair[0] + 1);
        u32::try_from(numbers.len()).ok().filter(|many| *many > 1 && together)
    }
}

/// Whether a word tells only how a row is worked.
fn of_a_kind(token: &Token) -> bool {
    matches!(token.text.as_str(), "plain" | "purl" | "pearl" | "knit" | "stitch")
}

/// Whether a word is likely a misprint of an ordinal: "thlrd".
fn is_nearly_an_ordinal(word: &str) -> bool {
    const ORDINALS: [&str; 12] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
        "eleventh", "twelfth",
    ];
    let differ =
        |ordinal: &str| ordinal.bytes().zip(word.bytes()).filter(|(one, other)| one != other).count();
    ORDINALS.iter().filter(|ordinal| ordinal.len() == word.len()).any(|ordinal| differ(ordinal) <= 2)
}

/// Whether these words can be the name of a row: they describe it, and are no instruction.
fn is_a_name(words: &[Token]) -> bool {
    const NONE: [&str; 30] = [
        "the",
        "a",
        "an",
        "of",
        "to",
        "in",
        "on",
        "at",
        "for",
        "from",
        "with",
        "and",
        "or",
        "this",
        "these",
        "each",
        "every",
        "all",
        "next",
        "last",
        "knit",
        "work",
        "repeat",
        "same",
        "pattern",
        "whole",
        "entire",
        "following",
        "is",
        "no",
    ];
    let plain = |token: &Token| {
        let word = token.text.as_str();
        token.kind == TokenKind::Word
            && token.number.is_none()
            && !NONE.contains(&word)
            && !is_nearly_an_ordinal(word)
    };
    let (ordinal, rest) = match words {
        [first, rest @ ..] if first.ordinal.is_some() && !rest.is_empty() => (true, rest),
        words => (false, words),
    };
    rest.iter().all(|token| plain(token) && token.ordinal.is_none())
        && !(ordinal && rest.iter().all(of_a_kind))
}

/// Whether a word means row or round, and which.
pub fn row_word(token: &Token) -> Option<bool> {
    match token.text.as_str() {
        "row" | "rows" | "needle" | "needles" | "r" | "rs" | "course" | "line" => Some(false),
        "round" | "rounds" | "rnd" | "rnds" | "rd" | "rds" => Some(true),
        _ => None,
    }
}

/// Finds the names of rows that start at `tokens[at]`; each with the index one past its last token.
pub fn rows_at(tokens: &[Token], at: usize, out: &mut Vec<(usize, RowSet)>) {
    let scan = Scan { tokens, start: at };
    scan.ordinals(out);
    scan.row_then_numbers(out);
    scan.bare_numbers(out);
    if !scan.numbers_then_row(out) {
        scan.counted(out);
    }
    scan.by_kind(out);
    scan.between(out);
    scan.called(out);
}

struct Scan<'a> {
    tokens: &'a [Token],
    start: usize,
}

impl Scan<'_> {
    fn text(&self, at: usize) -> &str {
        self.tokens.get(at).filter(|token| token.kind == TokenKind::Word).map_or("", |token| &token.text)
    }

    /// Whether the token at `at` follows the one before without a strong gap.
    fn close(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|token| token.gap < Gap::Semicolon)
    }

    fn is(&self, at: usize, words: &[&str]) -> bool {
        words.contains(&self.text(at))
    }

    fn found(&self, end: usize, which: Which, round: bool, explicit: bool) -> (usize, RowSet) {
        let span = self.tokens[self.start].span.to(self.tokens[end - 1].span);
        let names = |token: &Token| matches!(token.text.as_str(), "needle" | "needles");
        let needle = self.tokens[self.start..end].iter().any(names);
        (end, RowSet { which, round, explicit, needle, told: None, span })
    }

    fn skip_the(&self) -> usize {
        self.start + usize::from(self.is(self.start, &["the", "each"]))
    }

    /// A list of numbers joined by commas, `and`, `to`; `value` tells a member. Row words between are skipped.
    fn list(
        &self,
        mut at: usize,
        value: impl Fn(&Token) -> Option<u32>,
    ) -> Option<(usize, Vec<u32>, Option<bool>)> {
        let value = |token: &Token| value(token).filter(|number| *number <= RUN_LIMIT);
        let mut numbers = vec![value(self.tokens.get(at)?)?];
        let mut round = None;
        at += 1;
        loop {
            if let Some(kind) = self.tokens.get(at).filter(|_| self.close(at)).and_then(row_word) {
                round = Some(kind);
                at += 1;
            }
            let mut next = at;
            let to = self.is(next, &["to", "till", "through", "until"]) && self.close(next);
            let and = self.is(next, &["and"]) && self.close(next);
            next += usize::from(to || and);
            next += usize::from(self.is(next, &["the"]));
            let Some(token) = self.tokens.get(next) else { break };
            let listed = to || and || token.gap == Gap::Comma || (token.gap == Gap::Point && round.is_none());
            let counts = self.is(next + 1, &["times", "time"]);
            let Some(number) = value(token).filter(|_| listed && !counts && token.gap < Gap::Semicolon)
            else {
                break;
            };
            if to {
                let first = numbers.last().copied().unwrap_or(0) + 1;
                if number < first {
                    break;
                }
                numbers.extend(first..=number);
            } else {
                numbers.push(number);
            }
            at = next + 1;
        }
        Some((at, numbers, round))
    }

    /// `3rd row`, `the 2nd, 4th and 6th rows`, `3rd to 8th round`, `1st and 2nd`.
    fn ordinals(&self, out: &mut Vec<(usize, RowSet)>) {
        let at = self.skip_the();
        let Some((mut end, numbers, mut round)) = self.list(at, |token| token.ordinal) else { return };
        // "Like the 3rd, 6th like the 2nd": what follows the comma may be another sentence.
        if numbers.len() > 1 && round.is_none() {
            out.push(self.found(at + 1, Which::Numbers(numbers[..1].to_vec()), false, false));
        }
        if round.is_none()
            && self.is(end, &["pattern", "plain"])
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
        if let Some(every) = self.and_every(end, &numbers) {
            out.extend(self.up_to(every.0, &numbers, 2));
            out.push(every);
        }
        out.extend(self.and_the_rest(end, &numbers));
        if round.is_some() || !of_stitches {
            out.push(self.found(end, Which::Numbers(numbers), round.unwrap_or(false), round.is_some()));
        }
    }

    /// `(2nd and every alternate row) to the 6th`: so many apart, from the one told.
    fn up_to(&self, at: usize, told: &[u32], step: usize) -> Option<(usize, RowSet)> {
        let to = self.is(at, &["to", "till", "until"]) && self.close(at);
        let at = at + 1 + usize::from(self.is(at + 1, &["the"]));
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
        let joined = self.is(at, &["and"]) && self.close(at);
        let kind = at + 1 + usize::from(self.is(at + 1, &["in"]));
        let every = self.is(kind, &["every", "all", "each"]);
        // "(2nd needle), and all those which return".
        let which = match numbers {
            [first @ 1..=2] if *first == 2 => Some(Which::Even),
            [1] => Some(Which::Odd),
            _ => None,
        };
        if joined
            && every
            && self.is(kind + 1, &["those", "the", "others"])
            && self.is(kind + 2, &["which", "that"])
            && self.is(kind + 3, &["return", "returns", "come", "go"])
        {
            let end = kind + 4 + usize::from(self.is(kind + 4, &["back"]));
            return Some(self.found(end, which?, false, true));
        }
        // "2 and alternate rows."
        let every = every || self.is(at + 1, &["alternate"]);
        let kind = if every && self.is(at + 1, &["alternate"]) { at } else { kind };
        let alternate =
            self.is(kind + 1, &["alternate", "other", "even", "following", "succeeding", "second", "2nd"]);
        // "(The 4th) and all other even rows".
        let parity =
            self.is(kind + 1, &["other", "following"]) && self.is(kind + 2, &["even", "odd", "uneven"]);
        let at = kind + 2 + usize::from(parity);
        let which = match numbers {
            [first] if parity && first.is_multiple_of(2) == self.is(at - 1, &["even"]) => {
                Some(if first % 2 == 0 { Which::Even } else { Which::Odd })
            }
            _ => which,
        };
        let round = self.tokens.get(at).and_then(row_word)?;
        let which = which?;
        (joined && every && alternate).then(|| self.found(at + 1, which, round, true))
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
    fn row_then_numbers(&self, out: &mut Vec<(usize, RowSet)>) {
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

    /// `3.` or `2, 4.` at the beginning of a line.
    fn bare_numbers(&self, out: &mut Vec<(usize, RowSet)>) {
        let first = &self.tokens[self.start];
        let refers = self.start > 0
            && matches!(
                self.tokens[self.start - 1].text.as_str(),
                "as" | "like" | "in" | "from" | "repeat" | "rep"
            );
        let opens = first.line_start && first.gap >= Gap::Point || first.gap >= Gap::Period || refers;
        let figures = (first.span.end - first.span.start) as usize == first.text.len();
        if !opens || !figures || first.text.len() > 3 {
            return;
        }
        let Some((end, numbers, None)) = self.list(self.start, |token| token.number) else { return };
        if let Some(every) = self.and_every(end, &numbers).filter(|_| !refers) {
            out.extend(self.up_to(every.0, &numbers, 2));
            out.push(every);
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
    fn numbers_then_row(&self, out: &mut Vec<(usize, RowSet)>) -> bool {
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

    /// `the first 8 rows`, `the 8 first rows`, `these four rows`, `the last 3 rounds`, `6 rows`, `next row`.
    fn counted(&self, out: &mut Vec<(usize, RowSet)>) {
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
                "a" if count.is_none() && kind.is_none() => count = Some(1),
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
            "purl" | "pearl" | "seamed" | "purled" => Some(Op::P),
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
        // "The row that follows."
        let relates = self.is(end, &["that", "which"]) && self.is(end + 1, &["follows", "comes"]);
        if relates
            && kind.is_none()
            && count.is_none()
            && self.is(self.start, &["the"])
            && end == self.start + 2
        {
            let end = end + 2 + usize::from(self.is(end + 2, &["next", "now", "after"]));
            out.push(self.found(end, Which::Next(1), round, true));
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
            (None, Some(n)) => Which::Count(n),
        };
        let (end, mut rows) = self.found(end, which, round, true);
        rows.told = told;
        out.push((end, rows));
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
        let end = if self.is(at, &["turns", "ridges"]) {
            of_plain.unwrap_or(at + 1 + usize::from(self.is(at + 1, &["more"])))
        } else {
            of_plain.filter(|_| self.is(at, &["ribs"]))?
        };
        let (end, mut rows) = self.found(end, Which::Count(2 * count), false, true);
        rows.told = (of_plain.is_some() || self.is(at, &["ridges"])).then_some(Op::K);
        close.then_some((end, rows))
    }

    /// `Ribbon Row: …`, `First Shell Row. …`, `(like) the shell row`, `another purl row`: a name that the text gives a row.
    fn called(&self, out: &mut Vec<(usize, RowSet)>) {
        const LONGEST: usize = 3;
        let mut at = self.start;
        let opens = self.tokens[at].line_start || self.tokens[at].gap >= Gap::Semicolon;
        let refers = at > 0 && matches!(self.tokens[at - 1].text.as_str(), "as" | "like");
        at += usize::from(self.is(at, &["then", "next", "now", "and"]));
        at += usize::from(self.is(at, &["comes", "follows", "work", "make"]));
        let again = self.is(at, &["another"]);
        at += usize::from(self.is(at, &["the", "a", "an", "another"]));
        let Some(len) = (1..=LONGEST).find(|len| self.tokens.get(at + len).and_then(row_word).is_some())
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
            let name: Vec<&str> = names.iter().map(|token| token.text.as_str()).collect();
            out.push(self.found(end, Which::Called(name.join(" ").into()), round, true));
        }
    }

    /// `the rows between`, `all rounds in between`.
    fn between(&self, out: &mut Vec<(usize, RowSet)>) {
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

    /// `every alternate row`, `all even rows`, `every pattern round`, `each row marked by an even number`.
    fn by_kind(&self, out: &mut Vec<(usize, RowSet)>) {
        let mut at = self.start + usize::from(self.is(self.start, &["the"]));
        let every = self.is(at, &["every", "each", "all", "in"]);
        at += usize::from(every);
        at += usize::from(every && self.is(at, &["the", "of"]));
        // "Every following 4th row."
        let further = self.is(at, &["following", "succeeding"])
            && self.tokens.get(at + 1).is_some_and(|token| token.ordinal.is_some());
        at += usize::from(further);
        let nth = self.tokens.get(at).and_then(|token| token.ordinal).filter(|nth| (3..=40).contains(nth));
        if let (Some(nth), true) =
            (nth, self.is(at - usize::from(every) - usize::from(further), &["every", "each"]))
            && let Some(round) = self.tokens.get(at + 1).filter(|_| self.close(at + 1)).and_then(row_word)
        {
            let (end, which) = (at + 2, Which::EveryNth(nth));
            let end = end + usize::from(self.is(end, &["following"]));
            out.push(self.found(end, which, round, true));
            return;
        }
        let which = match self.text(at) {
            "wrong" if self.is(at + 1, &["side"]) && self.is(at + 2, &["is"]) && !every => {
                out.push(self.found(at + 2, Which::Back, false, true));
                return;
            }
            "even" | "evenly" => Which::Even,
            "odd" | "uneven" => Which::Odd,
            "2nd" if self.is(self.start, &["in", "the"]) => return,
            "alternate" | "other" | "2nd" | "intermediate" | "intervening" | "ws" | "wrong" => {
                Which::Alternate
            }
            "back" | "return" | "returning" | "reverse" => Which::Back,
            "pattern" | "open" | "fancy" | "closing" | "narrowing" | "decreasing" | "intake"
            | "increasing" | "widening" | "decrease" | "increase" | "shaped"
                if every =>
            {
                Which::Pattern
            }
            "succeeding" | "following" | "subsequent" | "remaining" if every => Which::Every,
            // "All round" is no name of rounds.
            "round" | "row" if self.is(self.start, &["all"]) => return,
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
        let Some(round) = self.tokens.get(at).filter(|_| self.close(at)).and_then(row_word) else { return };
        let mut end = at + 1;
        end += usize::from(
            self.is(end, &["henceforward", "henceforth", "hereafter", "throughout", "afterwards"]),
        );
        // "Each following round with an uneven number."
        // "All the rows with even numbers."
        let kind = end + 1 + usize::from(self.is(end + 1, &["an", "a", "the"]));
        let numbered =
            self.is(end, &["with", "of", "having", "bearing"]) && self.is(kind + 1, &["number", "numbers"]);
        if numbered && let Some(which) = parity(self.text(kind)) {
            out.push(self.found(kind + 2, which, round, true));
            return;
        }
        let marked = ["marked", "by", "an", "even", "number"];
        if (0..5).all(|step| self.is(end + step, &marked[step..=step])) {
            end += 5;
            out.push(self.found(end, Which::Even, round, true));
            return;
        }
        out.push(self.found(end, which, round, true));
    }
}

/// The rows of even or odd numbers.
fn parity(word: &str) -> Option<Which> {
    match word {
        "even" => Some(Which::Even),
        "odd" | "uneven" => Some(Which::Odd),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lexer::lex;

    fn longest(text: &str) -> Option<Which> {
        let mut out = Vec::new();
        rows_at(&lex(text), 0, &mut out);
        out.into_iter().max_by_key(|(end, _)| *end).map(|(_, set)| set.which)
    }

    #[test]
    fn rows_are_named_in_many_ways() {
        use Which::*;
        for (text, which) in [
            ("3rd row: knit", Numbers(vec![3])),
            ("_First and second rows_--plain", Numbers(vec![1, 2])),
            ("3rd, 5th and 7th rows", Numbers(vec![3, 5, 7])),
            ("3rd to 6th round: With white", Numbers(vec![3, 4, 5, 6])),
            ("13th round to 15th round: Alternately", Numbers(vec![13, 14, 15])),
            ("Rows 2 to 6, even: purl", Numbers(vec![2, 4, 6])),
            ("7, 9. With white, purl.", Numbers(vec![7, 9])),
            ("9. 10, 11. Knit plain.", Numbers(vec![9, 10, 11])),
            ("1 to 4. Purl", Numbers(vec![1, 2, 3, 4])),
            ("The 8 first rows", First(8)),
            ("the first 8 rows", First(8)),
            ("these four rows", Last(4)),
            ("the entire next row", Next(1)),
            ("the row that follows is purled", Next(1)),
            ("all the rows with even numbers", Even),
            ("every alternate row", Alternate),
            ("Row 2 and every 2nd row to row 8", Numbers(vec![2, 4, 6, 8])),
            ("The rows between are purled", Alternate),
            ("every row", Every),
            ("every pattern round", Pattern),
            ("The 2nd, 4th, and 6th needle, purled", Numbers(vec![2, 4, 6])),
            ("6 rows plain", Count(6)),
        ] {
            assert_eq!(longest(text), Some(which), "{text}");
        }
        assert_eq!(longest("the 1st stitch"), None);
        assert_eq!(longest("knit the row"), None);
        assert_eq!(longest("3. "), None);
    }
}

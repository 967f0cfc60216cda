//! Printed text to words with spans.
//!
//! Survives what print and scans do: italics marked with underscores, long dashes, words broken at a line's end,
//! figures glued to letters, page marks, captions, footnote marks, `l` for 1 and `O` for 0. Punctuation is no
//! token: each word carries the [`Gap`] that stands before it. Knows nothing of what a word means.

use notation::{Printed, WordId, numeral};
use span::Span;

use crate::fractions;
use crate::linebreak::settle;
use crate::numbers::{join_numbers, mend_figures, with_tens};
use crate::runin::part;
use crate::starmarks::{close_lines, crosses, name_stars};

/// What stands between a word and the one before it; later ones part more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gap {
    /// White space or a hyphen.
    None,
    /// A full stop that may only end an abbreviation.
    Point,
    /// A comma.
    Comma,
    /// A semicolon.
    Semicolon,
    /// A colon.
    Colon,
    /// A long dash.
    Dash,
    /// The end of a sentence.
    Period,
    /// An empty line, or the beginning of the text.
    Paragraph,
}

/// The kinds of token.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TokenKind {
    /// A word or number.
    Word,
    /// An opening bracket.
    Open,
    /// A closing bracket.
    Close,
    /// A repeat mark: a star, a dagger, a letter in brackets.
    Star,
}

/// One word, bracket or mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Token {
    /// Lower case, numbers brought to one spelling.
    pub text: String,
    /// Where it stands.
    pub span: Span,
    /// What parts it from the token before.
    pub gap: Gap,
    /// The kind.
    pub kind: TokenKind,
    /// Its value, if it is a cardinal number.
    pub number: Option<u32>,
    /// Its value, if it is an ordinal number.
    pub ordinal: Option<u32>,
    /// Whether it is the first token of its line.
    pub line_start: bool,
    /// Whether it is printed with a capital letter.
    pub capital: bool,
}

impl Token {
    /// What a phrase book sees of it; no phrase runs on over a colon or what parts more.
    pub fn printed(&self, word: Option<WordId>) -> Printed {
        Printed { word, number: self.number, nth: self.ordinal, joins: self.gap < Gap::Colon }
    }

    /// The same token so many bytes further on.
    pub fn moved(&self, by: i64) -> Token {
        Token { span: self.span.moved(by), ..self.clone() }
    }
}

/// Cuts a text into tokens.
pub fn lex(text: &str) -> Vec<Token> {
    let mut lexer = Lexer {
        text,
        at: 0,
        gap: Gap::Paragraph,
        line_start: true,
        stroke: false,
        emphasis: None,
        tokens: Vec::new(),
    };
    while lexer.step() {}
    let mut tokens = fractions::join(&join_numbers(lexer.tokens));
    settle(&mut tokens);
    part(&mut tokens);
    crosses(&mut tokens);
    name_stars(&mut tokens);
    close_lines(&mut tokens);
    over_and_over(tokens)
}

/// "Over and over" says how often, and puts no yarn over.
fn over_and_over(tokens: Vec<Token>) -> Vec<Token> {
    let says = |three: &[Token]| {
        let close = three[1..].iter().all(|token| token.gap == Gap::None);
        close && three.iter().map(|token| token.text.as_str()).eq(["over", "and", "over"])
    };
    if !tokens.windows(3).any(says) {
        return tokens;
    }
    let mut out = Vec::with_capacity(tokens.len());
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        let three = tokens.get(at..at + 3).filter(|three| says(three));
        out.push(match three {
            Some([first, _, last]) => {
                Token { text: "repeatedly".to_owned(), span: first.span.to(last.span), ..first.clone() }
            }
            _ => token.clone(),
        });
        at += if three.is_some() { 3 } else { 1 };
    }
    out
}

struct Lexer<'a> {
    text: &'a str,
    at: usize,
    gap: Gap,
    line_start: bool,
    /// Whether an upright stroke is open.
    stroke: bool,
    /// Where the asterisk is that ends an emphasised name of a row.
    emphasis: Option<usize>,
    tokens: Vec<Token>,
}

impl<'a> Lexer<'a> {
    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn part(&mut self, gap: Gap) {
        self.gap = self.gap.max(gap);
    }

    /// Reads one token or separator; false at the end.
    fn step(&mut self) -> bool {
        let rest = self.rest();
        let Some(letter) = rest.chars().next() else { return false };
        if letter.is_alphanumeric() || "½¼¾⅓⅔".contains(letter) {
            self.word();
            return true;
        }
        match letter {
            '\n' => return self.line_break(),
            '[' if self.skip_note() => return true,
            '(' if self.letter_mark() || self.skip_aside() => return true,
            '[' | '(' => self.mark(TokenKind::Open, 1),
            ']' | ')' => {
                // A full stop inside the bracket ends the sentence after it.
                let gap = self.gap;
                self.gap = if gap == Gap::Period { Gap::None } else { gap };
                self.mark(TokenKind::Close, 1);
                self.part(gap);
            }
            '*' if self.emphasises() => {}
            '*' | '†' | '‡' | '#' | '§' | '+' | '×' | '°' | 'º' | '¤' | '¶' | '☆' | '★' | '✱' | '✶' | '⁂'
            | '※' => {
                let run = rest.chars().take_while(|other| *other == letter).count();
                self.mark(TokenKind::Star, run * letter.len_utf8());
                return true;
            }
            ',' => self.part(Gap::Comma),
            ';' => self.part(Gap::Semicolon),
            ':' => self.part(Gap::Colon),
            '.' if self.skip_leaders() => {
                self.part(Gap::Dash);
                return true;
            }
            '.' | '!' | '?' => {
                let gap = self.full_stop();
                self.part(gap);
            }
            '—' | '―' => self.part(Gap::Dash),
            '-' | '–' => return self.dash(letter),
            '&' => self.mark(TokenKind::Word, 1),
            '|' if self.stroke() => return true,
            '|' | '{' | '}' => self.part(Gap::Comma),
            _ => {}
        }
        if !matches!(letter, '[' | ']' | '(' | ')' | '&') {
            self.at += letter.len_utf8();
        }
        true
    }

    /// Upright strokes around what is worked several times: `| Knit 1, over | 4 times`.
    fn stroke(&mut self) -> bool {
        const OFTEN: [&str; 9] = ["twice", "thrice", "two", "three", "four", "five", "six", "to ", "repeat"];
        let often = |after: &str| {
            let after = after.trim_start().to_lowercase();
            after.starts_with(|letter: char| letter.is_ascii_digit())
                || OFTEN.iter().any(|word| after.starts_with(word))
        };
        let closes = |rest: &str| {
            let paragraph = rest.split("\n\n").next().unwrap_or("");
            paragraph.split_once('|').is_some_and(|(inner, after)| !inner.trim().is_empty() && often(after))
        };
        let opens = !self.stroke && closes(&self.rest()[1..]);
        if !opens && !self.stroke {
            return false;
        }
        self.mark(if opens { TokenKind::Open } else { TokenKind::Close }, 1);
        self.stroke = opens;
        true
    }

    fn line_break(&mut self) -> bool {
        let after = &self.rest()[1..];
        let blank = after.trim_start_matches([' ', '\t', '\r']).starts_with('\n');
        self.part(if blank && !self.runs_on(after) { Gap::Paragraph } else { Gap::None });
        self.at += 1;
        self.line_start = true;
        true
    }

    /// Whether a sentence goes on after an empty line, as it does where a picture or the end of a page parts it.
    fn runs_on(&self, after: &str) -> bool {
        let said = self.text[..self.at].trim_end_matches(['_', ' ', '\r', ']']);
        let open = said.ends_with([',', ';']) || said.ends_with(|letter: char| letter.is_lowercase());
        open && !self.tokens.is_empty() && after.trim_start().starts_with(char::is_lowercase)
    }

    /// One hyphen joins; two or more, or a spaced one, part.
    fn dash(&mut self, letter: char) -> bool {
        let run: usize = self.rest().chars().take_while(|other| *other == letter).map(char::len_utf8).sum();
        let spaced = self.text[..self.at].ends_with(' ') && self.rest()[run..].starts_with(' ');
        let figure = |letter: char| letter.is_ascii_digit();
        let after = &self.rest()[run..];
        let range = run == letter.len_utf8()
            && self.text[..self.at].ends_with(figure)
            && (letter == '–' || after.starts_with(figure));
        // "7th-12th rounds", "2d--5th row".
        let before = self.text[..self.at].rsplit(|letter: char| !letter.is_alphanumeric()).next();
        if range || before.is_some_and(is_ordinal) && is_ordinal(after) {
            self.mark(TokenKind::Word, run);
            return true;
        }
        if run > 1 || spaced || letter == '–' {
            self.part(Gap::Dash);
        }
        self.at += run;
        true
    }

    /// "*16th row*--Plain.": asterisks around the name of a row are no marks.
    fn emphasises(&mut self) -> bool {
        const LONGEST: usize = 40;
        if self.emphasis.take_if(|end| *end == self.at).is_some() {
            return true;
        }
        let inside = &self.rest()[1..];
        let close = inside.find('*').filter(|close| *close <= LONGEST);
        let named = close.is_some_and(|close| {
            let name = inside[..close].trim_end_matches('.');
            let ends = ["row", "rows", "round", "rounds", "needle", "needles"];
            name.starts_with(char::is_alphanumeric)
                && ends.iter().any(|word| name.split_whitespace().next_back() == Some(*word))
        });
        if named {
            self.emphasis = close.map(|close| self.at + 1 + close);
        }
        named
    }

    /// A full stop ends a sentence at the end of a paragraph, and before a capital, an ordinal or the number of a row at
    /// the beginning of a line; after a single letter only before a whole word with a capital.
    fn full_stop(&self) -> Gap {
        let rest = &self.rest()[1..];
        if rest.trim_start_matches('_').starts_with(['—', '-']) {
            return Gap::Period;
        }
        let after = rest.trim_start_matches([' ', '_', '"', '\'', ')', ']', '\r']);
        let next = after.trim_start_matches(['\n', ' ', '_', '"', '*', '(', '\r']);
        let letters = next.chars().take_while(|letter| letter.is_alphabetic()).count();
        let capital = next.starts_with(char::is_uppercase);
        let ends = next.is_empty() || after.trim_start_matches([' ', '\r']).starts_with("\n\n");
        // An ordinal that begins a line begins a row, whatever abbreviation ends the line before.
        if after.starts_with('\n') && is_ordinal(next) {
            return Gap::Period;
        }
        let row = is_ordinal(next) || after.starts_with('\n') && is_row_number(next);
        let letter =
            |last: &Token| last.text.len() == 1 && last.number.is_none() && last.kind == TokenKind::Word;
        // "Sl. P2": a letter with its number after an abbreviation.
        let figured = letters == 1 && next.chars().nth(1).is_some_and(|after| after.is_ascii_digit());
        let abbreviated = |last: &Token| last.text.len() <= 3 && last.number.is_none();
        let short =
            self.tokens.last().is_some_and(|last| letter(last) || capital && figured && abbreviated(last));
        let heading = self.tokens.last().is_some_and(|last| is_set_in_capitals(last.span.of(self.text)));
        let aside = after.starts_with('(') && letters > 1;
        // "P. K 6 rows."
        let rows = || {
            let mut words = next.split_whitespace().skip(1);
            let counted = words.next().is_some_and(|word| word.bytes().all(|byte| byte.is_ascii_digit()));
            let told = words.next().map(|word| word.trim_end_matches(|last: char| !last.is_alphanumeric()));
            counted && matches!(told, Some("rows" | "rounds"))
        };
        if capital && (letters > 2 || aside || letters == 1 && rows())
            || ends
            || heading
            || (capital || row) && !short
        {
            Gap::Period
        } else {
            Gap::Point
        }
    }

    /// Passes over the dots that lead the eye along a line of a table: `Round 3 . . . . knit`.
    fn skip_leaders(&mut self) -> bool {
        const FEWEST: usize = 3;
        let dots = |letter: &char| matches!(letter, '.' | ' ');
        let run: String = self.rest().chars().take_while(dots).collect();
        let spaced = run.trim_end();
        let leads = spaced.contains(". .") && spaced.matches('.').count() >= FEWEST
            || spaced.matches('.').count() > FEWEST;
        if leads {
            self.at += spaced.len();
        }
        leads
    }

    fn word(&mut self) {
        let start = self.at;
        let mut raw = String::new();
        let mut ends = Vec::new();
        let rest = self.rest();
        for (offset, letter) in rest.char_indices() {
            let joined = matches!(letter, '_' | '\'' | '’');
            if !(letter.is_alphanumeric() || joined || "½¼¾⅓⅔".contains(letter)) {
                break;
            }
            if joined && !rest[offset + letter.len_utf8()..].starts_with(char::is_alphanumeric) {
                break;
            }
            if !joined {
                raw.push(letter);
                ends.push((raw.len(), start + offset, start + offset + letter.len_utf8()));
            }
            self.at = start + offset + letter.len_utf8();
        }
        if let Some((value, len)) = with_tens(&raw, self.rest()) {
            self.at += len;
            self.push(TokenKind::Word, &value.to_string(), Span::new(start, self.at), false);
            return;
        }
        let capital = raw.starts_with(char::is_uppercase);
        let mended = mend_figures(&raw);
        let mut from = 0;
        for piece in numeral::pieces(&mended) {
            let to = from + piece.len();
            let first = ends.iter().find(|(len, ..)| *len > from).map_or(start, |(_, at, _)| *at);
            let last = ends.iter().rev().find(|(len, ..)| *len <= to).map_or(self.at, |(.., end)| *end);
            self.push(TokenKind::Word, piece, Span::new(first, last), capital && from == 0);
            from = to;
        }
    }

    fn mark(&mut self, kind: TokenKind, len: usize) {
        let span = Span::new(self.at, self.at + len);
        let text =
            if self.rest().starts_with('&') { "and".to_owned() } else { self.rest()[..len].to_owned() };
        let text = if kind == TokenKind::Word && matches!(text.as_str(), "–" | "-") {
            "to".to_owned()
        } else {
            text
        };
        self.at += len;
        self.push(kind, &text, span, false);
    }

    fn push(&mut self, kind: TokenKind, text: &str, span: Span, capital: bool) {
        let lower = text.to_lowercase();
        // A line that ends with a bracket and is followed by a capital ends a sentence.
        let closed = self.tokens.last().is_some_and(|last| last.kind == TokenKind::Close);
        if closed && self.line_start && capital {
            self.part(Gap::Period);
        }
        let lower = if self.is_one(&lower) { "1".to_owned() } else { lower };
        let number = numeral::cardinal(&lower);
        let ordinal = if number.is_none() { numeral::ordinal(&lower) } else { None };
        let text = match (number, ordinal) {
            (Some(value), _) => value.to_string(),
            (None, Some(value)) => numeral::ordinal_spelling(value),
            (None, None) => lower,
        };
        self.tokens.push(Token {
            text,
            span,
            gap: self.gap,
            kind,
            number,
            ordinal,
            line_start: self.line_start,
            capital,
        });
        self.gap = Gap::None;
        self.line_start = false;
    }

    /// Whether a letter alone stands for the figure 1: `k l`, `purl I`.
    fn is_one(&self, word: &str) -> bool {
        const BEFORE: [&str; 14] =
            ["k", "kn", "knit", "p", "pl", "purl", "pearl", "sl", "slip", "make", "m", "n", "row", "round"];
        let last = self.tokens.last().map(|last| last.text.as_str());
        matches!(word, "l" | "i") && self.gap < Gap::Comma && last.is_some_and(|last| BEFORE.contains(&last))
    }

    /// `(a)`: a letter that marks the beginning of a repeat.
    fn letter_mark(&mut self) -> bool {
        let mut letters = self.rest()[1..].chars();
        let (Some(letter), Some(')')) = (letters.next(), letters.next()) else { return false };
        if !letter.is_ascii_lowercase() {
            return false;
        }
        self.mark(TokenKind::Star, 3);
        true
    }

    /// Captions, page marks and footnote marks in square brackets.
    fn skip_note(&mut self) -> bool {
        let inside = &self.rest()[1..];
        let lower = inside.get(..12.min(inside.len())).unwrap_or("").to_lowercase();
        let note =
            ["illustration", "pg ", "page ", "pg.", "footnote"].iter().any(|head| lower.starts_with(head));
        let short = inside.find(']').is_some_and(|end| {
            let mark = &inside[..end];
            mark.len() <= 3
                && !mark.is_empty()
                && mark.chars().all(|c| c.is_ascii_uppercase() || c.is_ascii_digit())
        });
        (note || short) && self.skip_to_close('[', ']')
    }

    /// `(see page 9)`, `(fig. 40)`.
    fn skip_aside(&mut self) -> bool {
        const LONGEST: usize = 6;
        let inside = self.rest()[1..].trim_start_matches(['_', ' ']);
        let begins: String = inside.chars().take(LONGEST).flat_map(char::to_lowercase).collect();
        let aside = ["see ", "see_ ", "fig", "no. ", "shown "].iter().any(|head| begins.starts_with(head));
        aside && self.skip_to_close('(', ')')
    }

    fn skip_to_close(&mut self, open: char, close: char) -> bool {
        let mut depth = 0;
        for (offset, letter) in self.rest().char_indices() {
            if letter == open {
                depth += 1;
            } else if letter == close {
                depth -= 1;
                if depth == 0 {
                    self.at += offset + letter.len_utf8();
                    return true;
                }
            }
        }
        false
    }
}

/// Whether a word is set in capitals, as headings are.
fn is_set_in_capitals(word: &str) -> bool {
    word.len() > 3 && word.chars().all(char::is_uppercase)
}

/// Whether a text begins with an ordinal in figures.
fn is_ordinal(text: &str) -> bool {
    let figures = text.bytes().take_while(u8::is_ascii_digit).count();
    let ends = |end: &str| {
        text[figures..]
            .trim_start_matches('_')
            .strip_prefix(end)
            .is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
    };
    figures > 0 && ["st", "nd", "rd", "th", "d"].into_iter().any(ends)
}

/// Whether a line begins with the number of a row, or several: `3.`, `2, 4.`, `1 to 6.`
fn is_row_number(line: &str) -> bool {
    let number = |word: &str| word.trim_end_matches([',', '.']).bytes().all(|byte| byte.is_ascii_digit());
    let words = line.split([' ', '\n']).take_while(|word| number(word) || matches!(*word, "to" | "and"));
    words.last().is_some_and(|last| last.ends_with('.') && last.len() > 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<String> {
        lex(text).into_iter().map(|token| token.text).collect()
    }

    #[test]
    fn over_and_over_is_one_word() {
        assert_eq!(words("knit, over and over again"), ["knit", "repeatedly", "again"]);
        assert_eq!(words("over, and over"), ["over", "and", "over"]);
        assert_eq!(words(&"over and over ".repeat(20_000)).len(), 20_000);
    }

    #[test]
    fn leaders_of_a_table_part_its_columns() {
        let tokens = lex("Round 3 . . . . knit 2 ..... 41 st.");
        let gap = |word: &str| tokens.iter().find(|token| token.text == word).map(|token| token.gap);
        assert_eq!((gap("knit"), gap("41")), (Some(Gap::Dash), Some(Gap::Dash)));
    }

    #[test]
    fn quirks_of_print_are_read() {
        assert_eq!(words("1_st Row_.--2 plain"), ["1st", "row", "2", "plain"]);
        assert_eq!(words("Twenty-first row: knit twenty four"), ["21st", "row", "knit", "24"]);
        assert_eq!(
            words("two dozen, half-a-dozen times, a score, a couple, lst row"),
            ["24", "6", "times", "20", "2", "1st", "row"]
        );
        assert_eq!(words("one hundred and two stitches, a hundred"), ["102", "stitches", "100"]);
        assert_eq!(words("one-and-twenty, K l, purl l; half dozen"), ["21", "k", "1", "purl", "1", "6"]);
        assert_eq!(words("rows 1-4"), ["rows", "1", "to", "4"]);
        assert_eq!(words("sl2, k 2"), ["sl", "2", "k", "2"]);
        assert_eq!(words("K2tog, k1O; [Pg 23] p 3"), ["k", "2", "tog", "k", "10", "p", "3"]);
        assert_eq!(
            words("knit two;(a) over (see fig. 3) [Illustration: x [A]] k"),
            ["knit", "2", "(a)", "over", "k"]
        );
        assert_eq!(words("Rows 5–8, slip-stitch"), ["rows", "5", "to", "8", "slip", "stitch"]);
    }

    #[test]
    fn gaps_tell_sentences_from_abbreviations() {
        let gaps: Vec<Gap> =
            lex("K. 2 tog.; sl. 1, knit 3. throw it. Knit.\n\nPurl").iter().map(|t| t.gap).collect();
        use Gap::*;
        assert_eq!(
            gaps,
            [Paragraph, Point, None, Semicolon, Point, Comma, None, Point, None, Period, Paragraph]
        );
    }

    #[test]
    fn apostrophes_are_no_breaks() {
        assert_eq!(words("a gentleman's purse d'oyley ’tis"), ["a", "gentlemans", "purse", "doyley", "tis"]);
    }

    #[test]
    fn spans_point_into_the_text() {
        let text = "_Second row_--p2tog — ½ ſ";
        for token in lex(text) {
            assert!(!token.span.of(text).is_empty());
        }
        assert_eq!(lex(text)[0].span.of(text), "Second");
        assert_eq!(lex(text)[3].span.of(text), "2");
    }
}

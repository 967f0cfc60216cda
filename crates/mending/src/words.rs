//! Numbers and separators as a text prints them.
//!
//! Knows how to write a number in the manner of the one it replaces, where the numbers of a stretch stand, and what
//! parts two instructions. Knows nothing of stitches.

use std::cell::RefCell;
use std::rc::Rc;

use notation::numeral;
use reading::{Token, TokenKind, lex};
use rustc_hash::FxHashMap;
use span::Span;

/// A text with its tokens.
pub struct Words<'t> {
    /// The text.
    pub text: &'t str,
    tokens: Vec<Token>,
    /// Words that are put in somewhere, cut into tokens.
    cut: RefCell<FxHashMap<String, Rc<[Token]>>>,
}

/// A number as printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Figure {
    /// Its value.
    pub value: u32,
    /// Where it stands.
    pub span: Span,
}

impl<'t> Words<'t> {
    /// Cuts a text into tokens.
    pub fn new(text: &'t str) -> Words<'t> {
        Words { text, tokens: lex(text), cut: RefCell::default() }
    }

    /// The tokens of words that are put in somewhere; each are cut but once.
    pub fn cut(&self, words: &str) -> Rc<[Token]> {
        if let Some(known) = self.cut.borrow().get(words) {
            return Rc::clone(known);
        }
        let tokens: Rc<[Token]> = lex(words).into();
        self.cut.borrow_mut().insert(words.to_owned(), Rc::clone(&tokens));
        tokens
    }

    /// All tokens.
    pub fn tokens(&self) -> &[Token] {
        &self.tokens
    }

    /// Whether a word stands in the text.
    pub fn has(&self, word: &str) -> bool {
        self.tokens.iter().any(|token| token.text == word)
    }

    /// The tokens under a span.
    pub fn within(&self, span: Span) -> &[Token] {
        if span.is_detached() {
            return &[];
        }
        let from = self.tokens.partition_point(|token| token.span.start < span.start);
        let to = self.tokens.partition_point(|token| token.span.end <= span.end);
        self.tokens.get(from..to.max(from)).unwrap_or(&[])
    }

    /// The numbers under a span, `twice` and ordinals among them.
    pub fn figures(&self, span: Span) -> Vec<Figure> {
        let value = |token: &Token| token.number.or(token.ordinal).or(adverb(&token.text));
        self.within(span)
            .iter()
            .filter_map(|token| Some(Figure { value: value(token)?, span: token.span }))
            .collect()
    }

    /// The repeat mark that stands right before a place.
    pub fn mark_before(&self, place: Span) -> Option<Span> {
        let next = self.tokens.partition_point(|token| token.span.start < place.start);
        let before = self.tokens.get(next.checked_sub(1)?)?;
        (before.kind == TokenKind::Star).then_some(before.span)
    }

    /// The words under `whole` with those under `part` replaced.
    pub fn replaced(&self, whole: Span, part: Span, by: &str) -> String {
        let text = whole.of(self.text);
        let (from, to) = (
            part.range().start.saturating_sub(whole.range().start),
            part.range().end.saturating_sub(whole.range().start),
        );
        match (text.get(..from), text.get(to..)) {
            (Some(before), Some(after)) => format!("{before}{by}{after}"),
            _ => text.to_owned(),
        }
    }

    /// What parts two instructions between these places, or a comma where something else stands there.
    pub fn separator(&self, from: u32, to: u32) -> &'t str {
        let between = self.text.get(from as usize..to as usize).unwrap_or("");
        let plain = !between.is_empty() && between.chars().all(|letter| matches!(letter, ',' | ';' | ' '));
        if plain && between.trim() != "" { between } else { ", " }
    }
}

/// How often an adverb says.
pub fn adverb(word: &str) -> Option<u32> {
    match word {
        "once" => Some(1),
        "twice" => Some(2),
        "thrice" => Some(3),
        _ => None,
    }
}

/// Whether a word is one of any pattern that names no stitch.
pub fn is_craft(word: &str) -> bool {
    const CRAFT: [&str; 22] = [
        "repeat",
        "row",
        "rows",
        "round",
        "rounds",
        "needle",
        "needles",
        "end",
        "ending",
        "from",
        "like",
        "same",
        "twice",
        "times",
        "stitch",
        "stitches",
        "together",
        "cast",
        "every",
        "alternate",
        "other",
        "work",
    ];
    CRAFT.contains(&word)
}

/// Whether a word is none of the common ones and one letter from a number word.
pub fn is_number_misread(token: &Token) -> bool {
    const COMMON: [&str; 24] = [
        "for", "then", "out", "off", "her", "his", "one", "none", "once", "even", "the", "tin", "our", "own",
        "won", "sit", "side", "sides", "give", "live", "fine", "line", "eigth", "hole",
    ];
    let plain = token.kind == TokenKind::Word
        && token.number.is_none()
        && token.ordinal.is_none()
        && token.text.len() > 2;
    plain && !COMMON.contains(&token.text.as_str()) && !numbers_one_letter_off(&token.text).is_empty()
}

/// The number words that differ from a word in one letter.
pub fn numbers_one_letter_off(word: &str) -> Vec<String> {
    let mut out = one_letter_off(word);
    out.retain(|other| {
        other.len() > 2 && numeral::cardinal(other).is_some() && !matches!(other.as_str(), "pair" | "score")
    });
    out
}

/// Every word that differs in one letter, put in, left out, changed, or changed about with the next.
pub fn one_letter_off(word: &str) -> Vec<String> {
    const LONGEST: usize = 14;
    if !word.bytes().all(|byte| byte.is_ascii_lowercase()) || word.len() > LONGEST {
        return Vec::new();
    }
    let mut out = Vec::new();
    for at in 0..=word.len() {
        let (before, after) = word.split_at(at);
        for letter in 'a'..='z' {
            out.push(format!("{before}{letter}{after}"));
            out.extend(after.get(1..).map(|rest| format!("{before}{letter}{rest}")));
        }
        out.extend(after.get(1..).map(|rest| format!("{before}{rest}")));
        if let (Some(first), Some(second)) = (after.get(..1), after.get(1..2)) {
            out.push(format!("{before}{second}{first}{}", &after[2..]));
        }
    }
    out.sort_unstable();
    out.dedup();
    out.retain(|other| other != word);
    out
}

/// A number written in the manner of the one it replaces; `None` where that manner has no word for it.
pub fn in_the_manner_of(printed: &str, value: u32) -> Option<String> {
    let bare = printed.trim_matches(|letter: char| !letter.is_alphanumeric());
    let digits = bare.bytes().take_while(u8::is_ascii_digit).count();
    let written = if digits == bare.len() && digits > 0 {
        value.to_string()
    } else if digits > 0 {
        ordinal_figure(&bare[digits..], value)
    } else if adverb(&bare.to_lowercase()).is_some() {
        adverb_for(value)?
    } else if numeral::ordinal(last_word(bare)).is_some() {
        numeral::ordinal_word(value)?
    } else if numeral::cardinal(last_word(bare)).is_some() {
        numeral::cardinal_word(value)?
    } else {
        value.to_string()
    };
    Some(if bare.starts_with(char::is_uppercase) { capital(&written) } else { written })
}

/// The last part of a number of several words, in lower case where it is so printed.
fn last_word(printed: &str) -> &str {
    let last = printed.rsplit(['-', ' ', '\n']).next().unwrap_or(printed);
    if last.starts_with(char::is_uppercase) { lower(last) } else { last }
}

/// The number words whose capital form may begin a sentence.
fn lower(word: &str) -> &str {
    numeral::SMALL
        .iter()
        .chain(numeral::ORDINALS.iter())
        .chain(numeral::TENS.iter())
        .find(|known| known.eq_ignore_ascii_case(word))
        .copied()
        .unwrap_or(word)
}

/// The word with a capital letter.
pub fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn adverb_for(value: u32) -> Option<String> {
    match value {
        1 => Some("once".to_owned()),
        2 => Some("twice".to_owned()),
        n => Some(format!("{} times", numeral::cardinal_word(n)?)),
    }
}

/// `4th` beside `6th`; where the print says `2d`, so does this.
fn ordinal_figure(ending: &str, value: u32) -> String {
    let old = ending == "d" || ending == "ds";
    let spelled = numeral::ordinal_spelling(value);
    if old && (spelled.ends_with("nd") || spelled.ends_with("rd")) { format!("{value}d") } else { spelled }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_the_manner_of_the_print() {
        for (printed, value, written) in [
            ("12", 11, Some("11")),
            ("twelve", 11, Some("eleven")),
            ("Twelve", 21, Some("Twenty-one")),
            ("4th", 2, Some("2nd")),
            ("3d", 22, Some("22d")),
            ("3d", 6, Some("6th")),
            ("fourth", 2, Some("second")),
            ("Eighth", 20, Some("Twentieth")),
            ("twice", 4, Some("four times")),
            ("twelve", 120, None),
        ] {
            assert_eq!(in_the_manner_of(printed, value).as_deref(), written, "{printed} {value}");
        }
    }

    #[test]
    fn words_one_letter_off_are_found() {
        let off = one_letter_off("ton");
        for word in ["ten", "tons", "on", "tno"] {
            assert!(off.iter().any(|other| other == word), "{word}");
        }
        assert!(!off.iter().any(|other| other == "ton" || other == "tin cup"));
        assert!(one_letter_off("überzug").is_empty());
        assert_eq!(numbers_one_letter_off("fuor"), ["four"]);
        let misread = |text: &str| lex(text).iter().any(is_number_misread);
        assert!(
            misread("pearl ton") && misread("knit sevn") && !misread("knit then") && !misread("knit ten")
        );
    }

    #[test]
    fn words_put_in_are_cut_like_the_text() {
        let words = Words::new("knit three, over");
        let cut = words.cut("knit three, over");
        assert_eq!(cut.as_ref(), words.tokens());
        assert!(Rc::ptr_eq(&cut, &words.cut("knit three, over")));
    }

    #[test]
    fn figures_are_found_under_a_span() {
        let words = Words::new("k 3, (o, n) twice, k to the last 12");
        let all = words.figures(Span::new(0, words.text.len()));
        assert_eq!(all.iter().map(|figure| figure.value).collect::<Vec<_>>(), [3, 2, 12]);
        assert_eq!(words.figures(Span::new(5, 17))[0].span.of(words.text), "twice");
        assert_eq!(words.replaced(Span::new(0, 3), Span::new(2, 3), "14"), "k 14");
        assert_eq!(words.replaced(Span::DETACHED, Span::new(2, 3), "14"), "");
    }
}

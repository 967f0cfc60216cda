//! Makes any string safe to print.
//!
//! A PDF for the archive must not hold a character that no face can draw, so one such character in a note
//! would cost the whole booklet. Here control and format characters are taken out, blanks are made plain, and
//! a character that no face has is spelt out as `[U+1F9F6]`: ugly, but nothing is silently lost. An endless
//! word gets invisible places to break. Knows nothing of the fields of an edition.

use crate::faces;

/// Makes one line: every kind of break or blank becomes a single space.
pub(crate) fn line(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for ch in text.chars() {
        let ch = if ch.is_whitespace() && ch != NO_BREAK { ' ' } else { ch };
        if !(ch == ' ' && (out.is_empty() || out.ends_with(' '))) {
            push(&mut out, ch);
        }
    }
    out.truncate(out.trim_end().len());
    breakable(out)
}

/// Keeps the lines and their indents, with `\n` as the only break; blank lines at both ends are taken off.
pub(crate) fn lines(text: &str) -> String {
    let text = text.replace("\r\n", "\n");
    let mut out = String::with_capacity(text.len());
    for ch in text.chars() {
        match ch {
            '\n' | '\r' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => out.push('\n'),
            '\t' => out.push_str("    "),
            NO_BREAK => out.push(ch),
            _ if ch.is_whitespace() => out.push(' '),
            _ => push(&mut out, ch),
        }
    }
    let lines: Vec<&str> = out.lines().map(str::trim_end).collect();
    let first = lines.iter().position(|line| !line.is_empty()).unwrap_or(lines.len());
    let last = lines.iter().rposition(|line| !line.is_empty()).map_or(first, |last| last + 1);
    breakable(lines[first..last].join("\n"))
}

/// Puts U+FFFD for the characters of an SVG that no face has; control characters stay, for the parser to
/// refuse.
pub(crate) fn drawing(svg: &str) -> String {
    let printable = |ch: char| ch.is_whitespace() || ch.is_control() || faces::cover(ch);
    svg.chars().filter(|&ch| !is_format(ch)).map(|ch| if printable(ch) { ch } else { '\u{fffd}' }).collect()
}

const NO_BREAK: char = '\u{a0}';
const MAY_BREAK: char = '\u{200b}';
/// Letters of a word that are kept together; longer than any word of the trade, shorter than a line.
const LONGEST_WORD: usize = 24;

/// Lets a word longer than any real one break, since it would run off the page.
fn breakable(text: String) -> String {
    let is_end = |ch: char| ch.is_whitespace() && ch != NO_BREAK;
    if text.split(is_end).all(|word| word.chars().count() <= LONGEST_WORD) {
        return text;
    }
    let mut out = String::with_capacity(text.len() + text.len() / 8);
    let mut length = 0;
    for ch in text.chars() {
        length = if is_end(ch) { 0 } else { length + 1 };
        if length > LONGEST_WORD {
            out.push(MAY_BREAK);
            length = 1;
        }
        out.push(ch);
    }
    out
}

fn push(out: &mut String, ch: char) {
    if ch == ' ' || ch == NO_BREAK {
        out.push(ch);
    } else if ch.is_control() || is_format(ch) {
        // Nothing to see, and nothing to print.
    } else if faces::cover(ch) && !is_private(ch) {
        out.push(ch);
    } else {
        out.push_str(&format!("[U+{:04X}]", u32::from(ch)));
    }
}

/// Characters that only steer: joiners, marks of direction, soft hyphens, variation selectors, tags.
fn is_format(ch: char) -> bool {
    matches!(u32::from(ch),
        0xAD | 0x34F | 0x61C | 0x115F..=0x1160 | 0x17B4..=0x17B5 | 0x180B..=0x180F | 0x200B..=0x200F
        | 0x202A..=0x202E | 0x2060..=0x206F | 0x3164 | 0xFE00..=0xFE0F | 0xFEFF | 0xFFA0 | 0xFFF0..=0xFFFB
        | 0x1BCA0..=0x1BCA3 | 0x1D173..=0x1D17A | 0xE0000..=0xE0FFF)
}

/// Private-use characters mean nothing outside of the face that has them; archives refuse them.
fn is_private(ch: char) -> bool {
    matches!(u32::from(ch), 0xE000..=0xF8FF | 0xF0000..=0xFFFFD | 0x100000..=0x10FFFD)
}

#[cfg(test)]
mod tests {
    use super::{drawing, line, lines};

    #[test]
    fn a_line_loses_what_cannot_be_printed() {
        let cases = [
            ("k 2 tog.", "k 2 tog."),
            ("  two\n lines\tand\u{2028}more \r\n", "two lines and more"),
            ("— ½ ſ é * # _ $x$ \\ \" '", "— ½ ſ é * # _ $x$ \\ \" '"),
            ("a\0b\u{1b}[31mc\u{7f}", "ab[31mc"),
            ("soft\u{ad}hyphen \u{202e}turned\u{200b}", "softhyphen turned"),
            ("wool 🧶", "wool [U+1F9F6]"),
            ("private \u{e000}", "private [U+E000]"),
            ("1\u{a0}in.", "1\u{a0}in."),
            (" \u{3000} ", ""),
        ];
        for (given, wanted) in cases {
            assert_eq!(line(given), wanted, "{given:?}");
        }
    }

    #[test]
    fn an_endless_word_may_break() {
        let word = |letters: usize| "k".repeat(letters);
        assert_eq!(line(&word(24)), word(24));
        assert_eq!(line(&format!("{} {}", word(24), word(50))).replace('\u{200b}', "|"), {
            format!("{} {}|{}|{}", word(24), word(24), word(24), word(2))
        });
        assert_eq!(lines(&format!("{}\n{}", word(20), word(20))), format!("{}\n{}", word(20), word(20)));
    }

    #[test]
    fn lines_keep_their_breaks_and_indents() {
        let cases = [
            (
                "\r\n\nFirst row.\r\n  Second,  row.  \n\nThird\tx\n\n",
                "First row.\n  Second,  row.\n\nThird    x",
            ),
            ("a\rb\u{c}c", "a\nb\nc"),
            ("\n \n", ""),
        ];
        for (given, wanted) in cases {
            assert_eq!(lines(given), wanted, "{given:?}");
        }
    }

    #[test]
    fn a_drawing_shows_that_a_character_is_missing() {
        assert_eq!(drawing("<text>🧶 ok\u{200d}</text>\n"), "<text>\u{fffd} ok</text>\n");
    }
}

//! The printer's small niceties, only where there is no doubt.
//!
//! An apostrophe between letters is curled, and double quotes that open and close around words. Everything
//! else stays: after a figure a quote may be inches, and one on its own tells nothing. A figure is kept on one
//! line with its unit. Not for text that must stay as it was printed.

/// Units a figure is not parted from.
const UNITS: [&str; 14] =
    ["g", "kg", "m", "cm", "mm", "in", "in.", "ft", "yd", "yds", "oz", "oz.", "lb", "°C"];

/// Sets one line as a printer would.
pub(crate) fn polish(text: &str) -> String {
    tie(&curl(text))
}

/// Puts a no-break space between a figure and its unit.
fn tie(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut after_figure = false;
    for (at, word) in text.split(' ').enumerate() {
        let bare = word.trim_end_matches([',', ';', ':', ')', '.']);
        let is_unit = UNITS.contains(&word) || UNITS.contains(&bare);
        if at > 0 {
            out.push(if after_figure && is_unit { '\u{a0}' } else { ' ' });
        }
        out.push_str(word);
        after_figure = word.ends_with(|ch: char| ch.is_numeric());
    }
    out
}

/// Curls the quotes of one line.
fn curl(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let mut out = chars.clone();
    let mut open = None;
    for (at, &ch) in chars.iter().enumerate() {
        let before = at.checked_sub(1).map(|at| chars[at]);
        let after = chars.get(at + 1).copied();
        match ch {
            '\'' if is_letter(before) && is_letter(after) => out[at] = '’',
            '"' => match open {
                None if opens(before, after) => open = Some(at),
                Some(start) if closes(before, after) => {
                    out[start] = '“';
                    out[at] = '”';
                    open = None;
                }
                _ => {}
            },
            _ => {}
        }
    }
    out.into_iter().collect()
}

fn is_letter(ch: Option<char>) -> bool {
    ch.is_some_and(char::is_alphabetic)
}

fn opens(before: Option<char>, after: Option<char>) -> bool {
    before.is_none_or(|ch| ch.is_whitespace() || "([—–".contains(ch))
        && after.is_some_and(char::is_alphanumeric)
}

fn closes(before: Option<char>, after: Option<char>) -> bool {
    before.is_some_and(|ch| ch.is_alphabetic() || ".,;:!?…".contains(ch))
        && after.is_none_or(|ch| !ch.is_alphanumeric())
}

#[cfg(test)]
mod tests {
    use super::{curl, tie};

    #[test]
    fn only_sure_quotes_are_curled() {
        let cases = [
            ("the worker's hand", "the worker’s hand"),
            ("called \"leaf pattern\" here", "called “leaf pattern” here"),
            ("\"Turn,\" she says", "“Turn,” she says"),
            ("12\" by 10\"", "12\" by 10\""),
            ("the \"12 inch\" rug, 3' long", "the “12 inch” rug, 3' long"),
            ("a lone \"quote", "a lone \"quote"),
            ("'single' stays", "'single' stays"),
            ("\"\"\"", "\"\"\""),
            ("", ""),
        ];
        for (given, wanted) in cases {
            assert_eq!(curl(given), wanted, "{given:?}");
        }
    }

    #[test]
    fn a_figure_keeps_its_unit() {
        let cases = [
            ("350 g of wool, 4½ in. wide", "350\u{a0}g of wool, 4½\u{a0}in. wide"),
            ("(4 mm)", "(4\u{a0}mm)"),
            ("knit 2 in the next, purl 3 gently", "knit 2\u{a0}in the next, purl 3 gently"),
            ("9 m.", "9\u{a0}m."),
            ("row 4", "row 4"),
            (" ", " "),
        ];
        for (given, wanted) in cases {
            assert_eq!(tie(given), wanted, "{given:?}");
        }
    }
}

//! Row labels, and the headings of lines that stand for one row or several.
//!
//! A label is a number (`3`), a number within a section (`flap 3`) or after a row (`35 + 1`), or a name. Only numbers can
//! be grouped.

use loops::Worked;

use crate::sentence::capitalised;

/// How many numbers a heading lists one by one before it says "every 2nd row".
const LISTED: usize = 6;

/// A row's label, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Label {
    /// A number, in a section or (empty) in none.
    Number { section: String, number: u32 },
    /// Anything else.
    Name(String),
}

impl Label {
    /// Takes a label apart; marks that would end a heading are left out.
    pub fn of(text: &str) -> Label {
        let text = text.replace([':', '(', ')', '[', ']'], " ");
        let words: Vec<&str> = text.split_whitespace().collect();
        let name = || Label::Name(words.join(" "));
        let Some((last, section)) = words.split_last() else { return name() };
        let is_word_for_row =
            section.iter().any(|word| WORDS_FOR_ROW.contains(&word.to_lowercase().as_str()));
        match plain_number(last) {
            Some(number) if !is_word_for_row => Label::Number { section: section.join(" "), number },
            _ => name(),
        }
    }

    /// The section, empty for none; a name is in no section.
    pub fn section(&self) -> &str {
        match self {
            Label::Number { section, .. } => section,
            Label::Name(_) => "",
        }
    }

    /// Whether `next` is numbered as the row after this one.
    pub fn is_followed_by(&self, next: &Label) -> bool {
        match (self, next) {
            (Label::Number { section, number }, Label::Number { section: other, number: next }) => {
                section == other && number.checked_add(1) == Some(*next)
            }
            _ => false,
        }
    }

    fn number(&self) -> Option<u32> {
        match self {
            Label::Number { number, .. } => Some(*number),
            Label::Name(_) => None,
        }
    }
}

/// With these in it a label is a name already: "row 3" shall not become "Row, row 3".
const WORDS_FOR_ROW: &[&str] = &["row", "rows", "round", "rounds", "rnd", "rnds"];

/// A number that is written back as it was read.
fn plain_number(word: &str) -> Option<u32> {
    word.parse().ok().filter(|number: &u32| number.to_string() == word)
}

/// The heading of one row by its label: `Row 3`, `Flap, row 1`, `Every row`.
pub fn row_heading(label: &str, worked: Worked) -> String {
    heading(&[&Label::of(label)], worked)
}

/// The heading of a line, without its sides: `Rows 2, 4 and 6`, `Flap, row 1`, `Every row`.
pub(crate) fn heading(labels: &[&Label], worked: Worked) -> String {
    let row = word_for_row(worked);
    let text = match labels {
        [Label::Name(name)] if name.is_empty() => format!("next {row}"),
        [Label::Name(name)] if name.starts_with(|c: char| c.is_ascii_digit()) => format!("{row} {name}"),
        [Label::Name(name)] => name.clone(),
        _ => match labels.first().map_or("", |label| label.section()) {
            "" => numbers(labels, worked),
            section => match section.strip_suffix(" +") {
                Some(last) => format!("after {row} {last}, {}", numbers(labels, worked)),
                None => format!("{section}, {}", numbers(labels, worked)),
            },
        },
    };
    capitalised(&text)
}

/// The numbers of rows of one section: `row 3`, `rows 5–8`, `rows 2, 4 and 6`.
pub(crate) fn numbers(labels: &[&Label], worked: Worked) -> String {
    let row = word_for_row(worked);
    let numbers: Vec<u32> = labels.iter().filter_map(|label| label.number()).collect();
    match numbers.as_slice() {
        [] => row.to_owned(),
        [one] => format!("{row} {one}"),
        [first, second, .., last] if second - first == 1 => format!("{row}s {first}–{last}"),
        [first, .., last] if numbers.len() > LISTED => {
            format!("{row} {first} and every 2nd {row} to {row} {last}")
        }
        [_, ..] => format!("{row}s {}", list(&numbers)),
    }
}

/// `1`, `1 and 2`, `1, 2 and 3`.
pub(crate) fn list(numbers: &[u32]) -> String {
    let words: Vec<String> = numbers.iter().map(u32::to_string).collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn word_for_row(worked: Worked) -> &'static str {
    match worked {
        Worked::Flat => "row",
        Worked::Round => "round",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_of_one_and_of_several() {
        let cases: &[(&[&str], &str)] = &[
            (&["3"], "Row 3"),
            (&["3a"], "Row 3a"),
            (&["007"], "Row 007"),
            (&["every row"], "Every row"),
            (&["row 3"], "Row 3"),
            (&[""], "Next row"),
            (&[" border  1 "], "Border, row 1"),
            (&["edge (left): 2"], "Edge left, row 2"),
            (&["5", "6"], "Rows 5 and 6"),
            (&["5", "6", "7"], "Rows 5–7"),
            (&["2", "4", "6"], "Rows 2, 4 and 6"),
            (&["2", "4", "6", "8", "10", "12", "14"], "Row 2 and every 2nd row to row 14"),
            (&["flap 1", "flap 2", "flap 3", "flap 4"], "Flap, rows 1–4"),
            (&["35 + 1", "35 + 2"], "After row 35, rows 1 and 2"),
        ];
        for (labels, text) in cases {
            let labels: Vec<Label> = labels.iter().map(|label| Label::of(label)).collect();
            assert_eq!(heading(&labels.iter().collect::<Vec<_>>(), Worked::Flat), *text);
        }
        let first = Label::of("1");
        assert_eq!(heading(&[&first], Worked::Round), "Round 1");
    }
}

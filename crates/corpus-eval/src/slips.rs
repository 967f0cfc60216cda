//! Single misprints for a text that is read rightly.
//!
//! Knows the words of a text and where the reading of it has its instructions, numbers and marks; the classes are those
//! of the reference table of misprints (99 faults of five books). Does not know whether a change matters: that is for
//! the caller to find out by reading.

mod places;

use notation::numeral;
use prose::{Class, Rng, number_like};
use reading::{Item, Token, TokenKind, Until};
use span::Span;

pub use self::places::Places;

/// Words of one place put in the place of others.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    /// The words replaced.
    pub span: Span,
    /// What is printed there instead.
    pub printed: String,
}

/// Small words that are set for one another, each pair both ways.
const SMALL_WORDS: [(&str, &str); 8] = [
    ("slipped", "knitted"),
    ("forward", "back"),
    ("make", "knit"),
    ("together", "plain"),
    ("last", "first"),
    ("over", "on"),
    ("odd", "even"),
    ("slip", "knit"),
];

/// Figures that look alike.
const FIGURES: [(char, char); 8] =
    [('1', '7'), ('3', '8'), ('5', '6'), ('6', '0'), ('1', '4'), ('2', '3'), ('3', '5'), ('8', '9')];

impl Slip {
    fn new(span: Span, printed: impl Into<String>) -> Slip {
        Slip { span, printed: printed.into() }
    }

    /// The text with the misprint.
    pub fn applied(&self, text: &str) -> String {
        let mut out = text.to_owned();
        out.replace_range(self.span.range(), &self.printed);
        out
    }
}

/// All misprints of a class that a text has room for, in the order of the text.
pub fn slips(places: &Places<'_>, class: Class) -> Vec<Slip> {
    let mut out = match class {
        Class::NumberInRow => numbers(places, places.numbers(), near),
        Class::NumberCastOn => numbers(places, places.cast_on(), near),
        Class::NumberOfRow => numbers(places, places.references(), near),
        Class::NumberTotal => numbers(places, places.totals(), near),
        Class::NumberTogether => numbers(places, places.together(), near),
        Class::NumberOfPlace => numbers(places, places.lefts(), near),
        Class::DroppedWords => dropped(places),
        Class::DoubledWords => doubled(places),
        Class::WrongWord => wrong_words(places),
        Class::WrongStitch => wrong_stitches(places),
        Class::RepeatMark => marks(places),
        Class::SwappedWords => swapped(places),
        Class::SwappedRows => rows(places),
        Class::Misread => misread(places),
    };
    out.retain(|slip| slip.span.of(places.text) != slip.printed);
    out
}

/// One of them, if there is any, and the others without it.
pub fn draw(all: &mut Vec<Slip>, rng: &mut Rng) -> Option<Slip> {
    let len = u32::try_from(all.len()).unwrap_or(u32::MAX);
    (len > 0).then(|| all.swap_remove(rng.below(len) as usize))
}

/// Numbers off by one or two.
fn near(token: &Token) -> Vec<u32> {
    let value = token.number.or(token.ordinal).or(places::adverb(token)).unwrap_or(0);
    // Off by one is met twice as often as off by two.
    [
        value + 1,
        value.saturating_sub(1),
        value + 1,
        value.saturating_sub(1),
        value + 2,
        value.saturating_sub(2),
    ]
    .into_iter()
    .filter(|other| *other > 0 && *other != value)
    .collect()
}

fn numbers(places: &Places<'_>, tokens: Vec<&Token>, others: fn(&Token) -> Vec<u32>) -> Vec<Slip> {
    let mut out = Vec::new();
    for token in tokens {
        let printed = token.span.of(places.text);
        out.extend(
            others(token)
                .into_iter()
                .filter_map(|other| Some(Slip::new(token.span, like(token, printed, other)?))),
        );
    }
    out
}

/// A number printed as that of a token is.
fn like(token: &Token, printed: &str, other: u32) -> Option<String> {
    match token.ordinal {
        Some(_) if printed.starts_with(|letter: char| letter.is_ascii_digit()) => {
            Some(numeral::ordinal_spelling(other))
        }
        Some(_) => numeral::ordinal_word(other),
        None => Some(number_like(printed, other)),
    }
}

/// One instruction, two, or a whole row left out.
fn dropped(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    for run in places.runs() {
        for len in 1..=2 {
            for from in 0..run.len().saturating_sub(len - 1) {
                let to = from + len;
                let whole = if let Some(next) = run.get(to) {
                    Span { start: run[from].start, end: next.start }
                } else if let Some(before) = from.checked_sub(1) {
                    Span { start: run[before].end, end: run[to - 1].end }
                } else {
                    continue;
                };
                out.push(Slip::new(whole, ""));
            }
        }
    }
    out.extend(places.bodies().iter().map(|row| Slip::new(row.whole, "")));
    out
}

/// One instruction or two set twice.
fn doubled(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    for run in places.runs() {
        for len in 1..=2 {
            for from in 0..run.len().saturating_sub(len - 1) {
                let whole = run[from].to(run[from + len - 1]);
                let again = places.lower(whole);
                let separator = match run.get(1) {
                    Some(second) => Span { start: run[0].end, end: second.start }.of(places.text),
                    None => ", ",
                };
                let end = whole.range().end;
                out.push(Slip::new(Span::new(end, end), format!("{separator}{again}")));
            }
        }
    }
    out
}

fn wrong_words(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    for token in places.words() {
        let printed = token.span.of(places.text);
        for (one, other) in SMALL_WORDS {
            for (right, wrong) in [(one, other), (other, one)] {
                if printed == right {
                    out.push(Slip::new(token.span, wrong));
                }
            }
        }
    }
    out
}

/// The words of one stitch in the place of those of another with the same number.
fn wrong_stitches(places: &Places<'_>) -> Vec<Slip> {
    let works = places.works();
    let mut others: Vec<(&Item, String)> = Vec::new();
    for work in &works {
        let words = places.lower(work.span());
        if !others.iter().any(|(_, known)| *known == words) {
            others.push((work, words));
        }
    }
    let mut out = Vec::new();
    for work in &works {
        let Item::Work(own) = work else { continue };
        for (other, words) in &others {
            if let Item::Work(other) = other
                && other.ops != own.ops
                && other.times == own.times
            {
                out.push(Slip::new(own.span, words.clone()));
            }
        }
    }
    out
}

/// A mark left out, or set one instruction too early or too late.
fn marks(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    let runs = places.runs();
    for star in places.tokens.iter().filter(|token| token.kind == TokenKind::Star) {
        let after = runs.iter().find_map(|run| {
            let at = run.iter().position(|span| span.start >= star.span.end)?;
            (span_gap(star.span, run[at]) <= 2).then_some((run, at))
        });
        let Some((run, at)) = after else { continue };
        let lost = Span { start: star.span.start, end: run[at].start };
        out.push(Slip::new(lost, ""));
        let mark = lost.of(places.text);
        if let Some(second) = run.get(at + 1) {
            let moved = Span { start: run[at].start, end: second.start }.of(places.text);
            out.push(Slip::new(Span { start: lost.start, end: second.start }, format!("{moved}{mark}")));
        }
        let before =
            runs.iter().flatten().filter(|span| span.end <= star.span.start).max_by_key(|span| span.end);
        if let Some(before) = before.filter(|before| span_gap(**before, star.span) <= 3) {
            let moved = Span { start: before.start, end: lost.start }.of(places.text);
            out.push(Slip::new(Span { start: before.start, end: lost.end }, format!("{mark}{moved}")));
        }
    }
    out
}

fn span_gap(one: Span, other: Span) -> u32 {
    other.start.saturating_sub(one.end)
}

/// Two neighbouring instructions, or the numbers of two, changed about.
fn swapped(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    for run in places.runs() {
        for pair in run.windows(2) {
            let between = Span { start: pair[0].end, end: pair[1].start }.of(places.text);
            let printed = format!("{}{between}{}", places.lower(pair[1]), places.lower(pair[0]));
            out.push(Slip::new(pair[0].to(pair[1]), printed));
        }
    }
    for row in places.bodies() {
        let numbers: Vec<&Token> =
            places.numbers().into_iter().filter(|token| row.body.covers(token.span)).collect();
        for (at, one) in numbers.iter().enumerate() {
            for other in &numbers[at + 1..] {
                let between = Span { start: one.span.end, end: other.span.start }.of(places.text);
                let printed = format!("{}{between}{}", other.span.of(places.text), one.span.of(places.text));
                out.push(Slip::new(one.span.to(other.span), printed));
            }
        }
    }
    out
}

/// Two rows near one another changed about, or the first of them set again in place of the second.
fn rows(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    let bodies = places.bodies();
    for (at, first) in bodies.iter().enumerate() {
        for second in bodies.iter().skip(at + 1).take(2) {
            if first.body.end > second.body.start {
                continue;
            }
            let (one, two) = (first.body.of(places.text), second.body.of(places.text));
            let between = Span { start: first.body.end, end: second.body.start }.of(places.text);
            out.push(Slip::new(first.body.to(second.body), format!("{two}{between}{one}")));
            out.push(Slip::new(second.body, one));
        }
    }
    out
}

/// A figure for one that looks like it, a letter lost or changed, a comma lost.
fn misread(places: &Places<'_>) -> Vec<Slip> {
    let mut out = Vec::new();
    for token in places.numbers().into_iter().chain(places.cast_on()) {
        let printed = token.span.of(places.text);
        for (at, figure) in printed.char_indices() {
            for (one, two) in FIGURES {
                let other = if figure == one { two } else { one };
                if (figure == one || figure == two) && !(other == '0' && at == 0) {
                    let changed = [&printed[..at], &other.to_string(), &printed[at + 1..]].concat();
                    out.push(Slip::new(token.span, changed));
                }
            }
        }
    }
    for token in places.words().into_iter().filter(|token| token.span.range().len() > 3) {
        let printed = token.span.of(places.text);
        for (at, letter) in printed.char_indices().skip(1).filter(|(_, letter)| letter.is_ascii_lowercase()) {
            out.push(Slip::new(token.span, [&printed[..at], &printed[at + 1..]].concat()));
            let like = match letter {
                'e' => "c",
                'n' => "u",
                'i' => "l",
                'o' => "e",
                'r' => "n",
                't' => "l",
                _ => continue,
            };
            out.push(Slip::new(token.span, [&printed[..at], like, &printed[at + 1..]].concat()));
        }
    }
    for run in places.runs() {
        for pair in run.windows(2) {
            let between = Span { start: pair[0].end, end: pair[1].start };
            if between.of(places.text).starts_with([',', ';']) {
                out.push(Slip::new(between, " "));
            }
        }
    }
    out
}

/// Whether a place where a repeat stops is counted from the end of the row.
fn counts_left(item: &Item) -> bool {
    matches!(item, Item::Group { until: Until::Left(_), .. } | Item::Rest { until: Until::Left(_), .. })
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    const TEXT: &str = "Cast on 11 stitches.\n\n1st row: Knit 2, * over, knit 2 together; repeat from *, knit 1. There are 11 stitches.\n\n2nd row: purl.\n\n3rd row: knit 3, make 1, knit 5, knit 2 together, knit 1.\n\n4th row: like the 2nd row.\n";

    fn printed(class: Class) -> Vec<String> {
        let reader = Reader::new().unwrap();
        let reading = reader.read(TEXT, &Options::default());
        let places = Places::new(TEXT, &reading);
        slips(&places, class).iter().map(|slip| slip.applied(TEXT)).collect()
    }

    #[test]
    fn each_class_is_put_where_it_belongs() {
        for (class, part) in [
            (Class::NumberInRow, "make 1, knit 6, knit 2 together"),
            (Class::NumberCastOn, "Cast on 12 stitches"),
            (Class::NumberOfRow, "like the 3rd row"),
            (Class::NumberTotal, "There are 10 stitches"),
            (Class::NumberTogether, "knit 5, knit 3 together"),
            (Class::DroppedWords, "knit 3, knit 5, knit 2 together"),
            (Class::DroppedWords, "11 stitches.\n\n3rd row"),
            (Class::DoubledWords, "knit 3, make 1, make 1, knit 5"),
            (Class::WrongWord, "knit 2 plain; repeat"),
            (Class::RepeatMark, "Knit 2, over, * knit 2 together; repeat from *"),
            (Class::RepeatMark, "* Knit 2, over, knit 2 together; repeat from *"),
            (Class::RepeatMark, "Knit 2, over, knit 2 together; repeat from *"),
            (Class::SwappedWords, "make 1, knit 3, knit 5"),
            (Class::SwappedWords, "knit 5, make 1, knit 3"),
            (Class::SwappedRows, "3rd row: purl."),
            (Class::Misread, "Cast on 17 stitches"),
            (Class::Misread, "knt 3"),
            (Class::Misread, "knit 3 make 1"),
        ] {
            let all = printed(class);
            assert!(all.iter().any(|text| text.contains(part)), "{class:?} {part}: {all:#?}");
        }
    }

    #[test]
    fn a_class_without_a_place_gives_nothing() {
        assert_eq!(printed(Class::NumberOfPlace), Vec::<String>::new());
    }
}

//! A whole piece, written: the cast-on, the lines of rows, the abbreviations they use.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

use loops::{Fault, FaultKind, Op, Piece, Side, Worked, WorkedPiece, work};

use crate::fold::{Width, fold};
use crate::group::{Line, RowKind, group};
use crate::label::{Label, heading, list, numbers, row_heading};
use crate::phrase::Phrase;
use crate::sentence::sentence;
use crate::terms::{Terms, meaning, needs, stitches, word_meaning};

/// A piece as written instructions.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// The terms that are used.
    pub terms: Terms,
    /// What the piece is called.
    pub name: Option<String>,
    /// How it begins: `Cast on 20 sts (a multiple of 6, plus 2).`
    pub cast_on: String,
    /// The lines, in the order of the first row of each.
    pub rows: Vec<WrittenRow>,
    /// Where the rows begin again, in a sentence, where they can follow themselves.
    pub again: Option<String>,
}

/// One line: a row, or several that share it.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenRow {
    /// Indices of the rows in the piece, ascending.
    pub rows: Vec<usize>,
    /// Their labels as the piece has them.
    pub labels: Vec<String>,
    /// What the line is headed: `Rows 2, 4 and 6`.
    pub heading: String,
    /// The sides that face, where that needs saying.
    pub sides: Option<Sides>,
    /// What is worked.
    pub body: Body,
    /// The same as a sentence: `Purl.`
    pub text: String,
    /// Stitches after the last of the rows, where that needs saying.
    pub count: Option<u32>,
}

/// The sides that face the worker in the rows of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sides {
    /// The same in every row.
    One(Side),
    /// In turn, this one first.
    InTurn(Side),
}

/// What the rows of a line are.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// Each is worked like this.
    Steps(Phrase),
    /// They repeat earlier rows.
    Repeat {
        /// Indices of the rows that are repeated.
        of: Range<usize>,
        /// How many times over.
        times: usize,
    },
    /// The row is longer than can be written out.
    TooLong,
}

/// Writes a piece.
pub fn write(piece: &Piece, terms: Terms) -> Written {
    let draft = Draft::new(piece, terms);
    let lines = group(&draft.kinds);
    Written {
        terms,
        name: piece.name.as_deref().map(one_line).filter(|name| !name.is_empty()),
        cast_on: cast_on(piece),
        rows: lines.iter().map(|line| draft.written(line)).collect(),
        again: then_again(piece),
    }
}

/// Where the rows of a piece begin again when all are worked, in a sentence; nothing where they cannot follow themselves.
pub fn then_again(piece: &Piece) -> Option<String> {
    piece.repeated(2).ok().filter(|_| !piece.rows.is_empty())?;
    let once = piece.repeat().once;
    let word = if piece.worked == Worked::Flat { "row" } else { "round" };
    let from = match once {
        0 => format!("the first {word}"),
        _ => {
            let heading = row_heading(&piece.rows.get(once)?.label, piece.worked);
            let mut letters = heading.chars();
            letters.next().into_iter().flat_map(char::to_lowercase).chain(letters).collect()
        }
    };
    let before = match once {
        0 => String::new(),
        1 => format!("; the {word} before it is worked once"),
        many => format!("; the {many} {word}s before it are worked once"),
    };
    Some(format!("Then again from {from}, as long as the pattern says{before}."))
}

/// The abbreviations and terms that the written piece uses, with what they mean, in the order of the alphabet.
pub fn abbreviations_used(piece: &Piece, terms: Terms) -> Vec<(String, String)> {
    write(piece, terms).abbreviations()
}

impl Written {
    /// The whole as plain text, one line a line.
    pub fn to_text(&self) -> String {
        let mut text = String::new();
        if let Some(name) = &self.name {
            text.push_str(name);
            text.push_str("\n\n");
        }
        text.push_str(&self.cast_on);
        text.push('\n');
        for row in &self.rows {
            text.push_str(&row.line());
            text.push('\n');
        }
        if let Some(again) = &self.again {
            text.push_str(again);
            text.push('\n');
        }
        text
    }

    /// The abbreviations and terms that occur, with what they mean, in the order of the alphabet.
    pub fn abbreviations(&self) -> Vec<(String, String)> {
        let mut words = vec!["st(s)"];
        let mut found: BTreeMap<(String, String), String> = BTreeMap::new();
        let mut find = |abbr: &str, meaning: &str| {
            found.insert((abbr.to_lowercase(), abbr.to_owned()), meaning.to_owned());
        };
        for row in &self.rows {
            words.extend(row.sides.into_iter().flat_map(Sides::words));
            for op in row.ops_named() {
                find(&self.terms.key(op), &meaning(op));
                words.extend(needs(op));
            }
        }
        for word in words {
            find(word, word_meaning(word).unwrap_or_default());
        }
        found.into_iter().map(|((_, abbr), meaning)| (abbr, meaning)).collect()
    }
}

impl WrittenRow {
    /// The line as it is printed: `Row 3 (RS): K1, yo, knit to end. [24 sts]`
    pub fn line(&self) -> String {
        let sides = self.sides.map(|sides| format!(" ({sides})")).unwrap_or_default();
        let count = self.count.map(|count| format!(" [{}]", stitches(count))).unwrap_or_default();
        format!("{}{sides}: {}{count}", self.heading, self.text)
    }

    /// The operations that the text names by their abbreviation or term.
    fn ops_named(&self) -> Vec<Op> {
        match &self.body {
            Body::Steps(phrase) => {
                let binds_off = phrase.steps.contains(&crate::Step::BindOffAll);
                phrase.runs().map(|run| run.op).chain(binds_off.then_some(Op::Bo)).collect()
            }
            Body::Repeat { .. } | Body::TooLong => Vec::new(),
        }
    }
}

impl Sides {
    fn words(self) -> Vec<&'static str> {
        match self {
            Sides::One(side) => vec![side_word(side)],
            Sides::InTurn(first) => vec![side_word(first), side_word(first.turned())],
        }
    }
}

impl std::fmt::Display for Sides {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.words().join(" and "))
    }
}

fn side_word(side: Side) -> &'static str {
    match side {
        Side::Right => "RS",
        Side::Wrong => "WS",
    }
}

/// A piece worked and worded, row by row, before its rows are put into lines.
struct Draft<'a> {
    terms: Terms,
    worked: Worked,
    piece: &'a Piece,
    counts: WorkedPiece,
    kinds: Vec<RowKind>,
    /// The phrase of each row; `None` where it is too long.
    phrases: Vec<Option<Phrase>>,
}

impl Draft<'_> {
    fn new(piece: &Piece, terms: Terms) -> Draft<'_> {
        let counts = work(piece);
        let width = if piece.multiple.is_some() { Width::Open } else { Width::Fixed };
        let phrases = phrases(&counts, width);
        let mut known: HashMap<&Phrase, usize> = HashMap::new();
        let mut kinds = Vec::with_capacity(phrases.len());
        for (index, (row, phrase)) in counts.rows.iter().zip(&phrases).enumerate() {
            kinds.push(RowKind {
                // A row that cannot be written out is like no other.
                phrase: phrase.as_ref().map_or(index, |phrase| *known.entry(phrase).or_insert(index)),
                side: row.side,
                label: Label::of(&row.label),
                shapes: row.before != row.after,
            });
        }
        Draft { terms, worked: piece.worked, piece, counts, kinds, phrases }
    }

    fn written(&self, line: &Line) -> WrittenRow {
        let (rows, body) = match line {
            Line::Same(rows) => {
                let phrase = rows.first().and_then(|&row| self.phrases[row].clone());
                (rows.clone(), phrase.map_or(Body::TooLong, Body::Steps))
            }
            Line::Repeat { rows, of, times } => {
                (rows.clone().collect(), Body::Repeat { of: of.clone(), times: *times })
            }
        };
        WrittenRow {
            labels: rows.iter().map(|&row| self.piece.rows[row].label.clone()).collect(),
            heading: heading(&self.labels(&rows), self.worked),
            sides: self.sides(&rows, &body),
            text: self.text(&rows, &body),
            count: self.count(&rows, &body),
            rows,
            body,
        }
    }

    fn labels(&self, rows: &[usize]) -> Vec<&Label> {
        rows.iter().map(|&row| &self.kinds[row].label).collect()
    }

    fn text(&self, rows: &[usize], body: &Body) -> String {
        match body {
            Body::Steps(phrase) => format!("{}.", sentence(phrase, self.terms)),
            Body::Repeat { of, times } => {
                let of: Vec<usize> = of.clone().collect();
                let numbers = numbers(&self.labels(&of), self.worked);
                let section =
                    |rows: &[usize]| rows.first().map_or("", |&row| self.kinds[row].label.section());
                let is_elsewhere = section(&of) != section(rows);
                let place = if is_elsewhere { format!(" of {}", section(&of)) } else { String::new() };
                let times = if *times == 1 { String::new() } else { format!(", {times} times") };
                format!("Repeat {numbers}{place}{times}.")
            }
            Body::TooLong => "Too long to write out.".to_owned(),
        }
    }

    /// The sides of a line: not in the round, where it is always the right one, and not for a repeat.
    fn sides(&self, rows: &[usize], body: &Body) -> Option<Sides> {
        if matches!(body, Body::Repeat { .. }) {
            return None;
        }
        let side = |&row: &usize| self.kinds[row].side;
        let first = rows.first().map(side)?;
        let all_same = rows.iter().all(|row| side(row) == first);
        let is_plain = self.worked == Worked::Round && all_same && first == Side::Right;
        let sides = if all_same { Sides::One(first) } else { Sides::InTurn(first) };
        (!is_plain).then_some(sides)
    }

    /// The count after a line, where shaping changes it and at the beginning of a section.
    fn count(&self, rows: &[usize], body: &Body) -> Option<u32> {
        let (first, last) = (*rows.first()?, *rows.last()?);
        let after = self.counts.rows[last].after;
        let section = |row: usize| self.kinds[row].label.section();
        let changes = match body {
            Body::Repeat { .. } => self.counts.rows[first].before != after,
            Body::Steps(_) | Body::TooLong => rows.iter().any(|&row| self.kinds[row].shapes),
        };
        let begins_section = first > 0 && section(first - 1) != section(first);
        ((changes || begins_section) && after > 0).then_some(after)
    }
}

fn phrases(counts: &WorkedPiece, width: Width) -> Vec<Option<Phrase>> {
    let too_long = |fault: &Fault| matches!(fault.kind, FaultKind::RowTooLong).then_some(fault.row);
    let too_long: Vec<usize> = counts.faults.iter().filter_map(too_long).collect();
    let word = |row: &loops::WorkedRow| {
        let ops: Vec<Op> = row.ops.iter().map(|stitch| stitch.op).collect();
        fold(&ops, row.before, width)
    };
    let rows = counts.rows.iter().enumerate();
    rows.map(|(index, row)| too_long.binary_search(&index).is_err().then(|| word(row))).collect()
}

fn cast_on(piece: &Piece) -> String {
    let multiple = piece.multiple.filter(|multiple| multiple.of > 0).map(|multiple| {
        let of =
            if multiple.of == 1 { "any number".to_owned() } else { format!("a multiple of {}", multiple.of) };
        let plus = if multiple.plus == 0 { String::new() } else { format!(", plus {}", multiple.plus) };
        format!(" ({of}{plus})")
    });
    let mut text = format!("Cast on {}{}.", stitches(piece.cast_on), multiple.unwrap_or_default());
    if piece.needles.len() > 1 {
        let count = piece.needles.len();
        text.push_str(&format!(" Divide over {count} needles: {} sts.", list(&piece.needles)));
    }
    if piece.worked == Worked::Round {
        text.push_str(" Join in the round.");
    }
    text
}

/// A name on one line, whatever stands in it.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

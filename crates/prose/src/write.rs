//! From a program to a text in a dialect.
//!
//! ```text
//! piece ─ house ─▶ places to tell rows ─▶ title, cast-on, remarks, rows, repeat in height ─▶ lines broken
//! ```
//!
//! Every choice comes from the seed. The text says what the program does, in an idiom of its time; whether a
//! reader finds that out is not asked here. Where idioms can be read in two ways, the working decides.

mod label;
mod row;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use loops::{Op, Piece, Worked, WorkedPiece, work};
use span::Span;

use crate::dialect::Dialect;
use crate::house::{Block, House, Remark};
use crate::page::Page;
use crate::rng::Rng;
use crate::told::{Part, Telling};

use self::row::edged;

/// A text with what it means.
#[derive(Clone, Debug)]
pub struct Prose {
    /// The name of the dialect.
    pub dialect: String,
    /// The text.
    pub text: String,
    /// The book's explanation of terms.
    pub glossary: String,
    /// Answers to questions that hold for the whole book, as the explanation gives them.
    pub answers: BTreeMap<String, String>,
    /// The number cast on, where the text leaves it open.
    pub cast_on: Option<u32>,
    /// How the number cast on is told.
    pub start: Start,
    /// The rows in the order they are knitted.
    pub rows: Vec<ProseRow>,
    /// The places where rows are told.
    pub tellings: Vec<Telling>,
    /// Whether the text goes back to its first row at the end.
    pub closes: bool,
    /// The word that tells the stitches of a row in passing, with the row.
    pub counts: Vec<(usize, Span)>,
    /// The idioms of the text as a whole.
    pub idioms: BTreeSet<String>,
}

/// How the number cast on is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// The stitches in all.
    Stitches(Span),
    /// The stitches on each of so many needles.
    Each(Span, u32),
    /// A number that they can be divided by, and stitches over.
    Multiple {
        /// The number.
        of: u32,
        /// Where it stands.
        of_span: Span,
        /// Stitches over.
        plus: u32,
        /// Where they stand.
        plus_span: Option<Span>,
    },
}

/// One row of the program with its place in the text.
#[derive(Clone, Debug)]
pub struct ProseRow {
    /// Its number.
    pub label: String,
    /// Stitches before.
    pub before: u32,
    /// The operations.
    pub ops: Vec<Op>,
    /// Stitches after.
    pub after: u32,
    /// The place where it is told; `None` where a repeat in height tells it.
    pub telling: Option<usize>,
    /// The row whose words tell it: itself, or an earlier one that is repeated.
    pub as_row: usize,
}

/// Writes a piece in a dialect; one seed gives one text.
pub fn write(piece: &Piece, dialect: &Dialect, seed: u64) -> Prose {
    let mut rng = Rng::new(seed);
    let worked = work(piece);
    let house = House::settle(piece, &worked, dialect, &mut rng);
    let writer = Writer {
        piece,
        worked: &worked,
        dialect,
        house,
        rng,
        page: Page::default(),
        tellings: Vec::new(),
        counts: Vec::new(),
        told_by: vec![None; piece.rows.len()],
        text_idioms: BTreeSet::new(),
        idioms: BTreeSet::new(),
        favourites: BTreeMap::new(),
        letter: b'a',
    };
    writer.run()
}

struct Writer<'a> {
    piece: &'a Piece,
    worked: &'a WorkedPiece,
    dialect: &'a Dialect,
    house: House<'a>,
    rng: Rng,
    page: Page,
    tellings: Vec<Telling>,
    counts: Vec<(usize, Span)>,
    told_by: Vec<Option<usize>>,
    text_idioms: BTreeSet<String>,
    /// The idioms of the place being told.
    idioms: BTreeSet<String>,
    /// The words that this text prefers for an operation.
    favourites: BTreeMap<String, String>,
    /// The next letter that marks a repeat.
    letter: u8,
}

/// A number to print in a template.
#[derive(Clone, Copy, Default)]
struct Numbered {
    n: u32,
    all: u32,
    times: u32,
    left: u32,
    of: u32,
    plus: u32,
    each: u32,
    needles: u32,
}

impl Writer<'_> {
    fn run(mut self) -> Prose {
        self.front_matter();
        let (start, cast_on) = self.cast_on();
        if self.house.edge {
            self.sentence(&self.dialect.edge, "edge");
        }
        if self.house.apart > 0 {
            let template = self.rng.pick(&self.dialect.common.edges_apart).cloned().unwrap_or_default();
            self.gap();
            self.fill(&template, Numbered { n: self.house.apart, ..Numbered::default() });
            self.text_idioms.insert(format!("edges-apart:{template}"));
        }
        self.remark(Remark::Before);
        self.remark(Remark::Unnumbered);
        let places = std::mem::take(&mut self.house.places);
        let captioned = if self.rng.chance(5) { Some(self.rng.below(12) as usize) } else { None };
        for (index, place) in places.iter().enumerate() {
            self.between_rows();
            self.place(place);
            if index == 0 {
                self.remark(Remark::Between);
            }
            if captioned == Some(index) && index + 1 < places.len() {
                self.page.put("\n\n");
                let caption = self.rng.pick(&self.dialect.common.captions).cloned().unwrap_or_default();
                self.page.put(&caption);
                self.page.put("\n");
                self.text_idioms.insert("noise:caption".to_owned());
            }
        }
        self.remark(Remark::After);
        let closes = self.height();
        if self.rng.chance(25) {
            self.paragraph();
            self.sentence(&self.dialect.common.closing, "noise:closing");
        }
        self.page.put("\n");
        if self.rng.chance(70) {
            self.page.wrap(72);
            self.text_idioms.insert("layout:wrapped".to_owned());
        }
        self.finish(start, cast_on, closes)
    }

    fn finish(mut self, start: Start, cast_on: Option<u32>, closes: bool) -> Prose {
        let layout = format!("layout:{}", self.house.layout);
        self.text_idioms.insert(layout);
        self.find_later();
        let first = self.house.offset;
        let repeated = |index: usize| match self.house.block {
            Some(block) if index >= first + block.rows => first + (index - first) % block.rows,
            _ => index,
        };
        let rows = self.worked.rows.iter().enumerate().map(|(index, row)| ProseRow {
            label: index.checked_sub(first).map_or("0".to_owned(), |at| (at + 1).to_string()),
            as_row: repeated(index),
            before: row.before,
            ops: row.ops.iter().map(|stitch| stitch.op).collect(),
            after: row.after,
            telling: self.told_by[index],
        });
        Prose {
            dialect: self.dialect.name.clone(),
            rows: rows.collect(),
            text: self.page.text,
            glossary: self.dialect.glossary.clone(),
            answers: self.dialect.answers.clone(),
            cast_on,
            start,
            tellings: self.tellings,
            closes,
            counts: self.counts,
            idioms: self.text_idioms,
        }
    }

    /// Rows that are like one told after them say what that one says.
    fn find_later(&mut self) {
        for index in 0..self.tellings.len() {
            let Some((other, _)) =
                self.tellings[index].like.filter(|_| self.tellings[index].parts.is_empty())
            else {
                continue;
            };
            if let Some(told) = self.told_by[other] {
                self.tellings[index].parts = self.tellings[told].parts.clone();
            }
        }
    }

    // ---- around the rows ---------------------------------------------------------------------------------------

    fn front_matter(&mut self) {
        if self.rng.chance(65) {
            let title = self.rng.pick(&self.dialect.common.titles).cloned().unwrap_or_default();
            let title = if self.rng.chance(40) { title.to_uppercase() } else { title };
            self.page.put(&title);
            let run_in = self.rng.chance(20);
            self.page.put(if run_in { ".--" } else { ".\n\n" });
            self.text_idioms.insert(if run_in { "noise:title-run-in" } else { "noise:title" }.to_owned());
        }
        if self.rng.chance(20) {
            self.sentence(&self.dialect.common.materials, "noise:materials");
        }
    }

    fn paragraph(&mut self) {
        if !self.page.text.is_empty() && !self.page.text.ends_with("\n\n") {
            self.page.put("\n\n");
        }
    }

    fn between_rows(&mut self) {
        match self.house.layout {
            "run-in" => self.gap(),
            "lines" if !self.tellings.is_empty() => {
                self.page.put("\n");
            }
            _ => self.paragraph(),
        }
    }

    /// A space, where the text does not stand at the beginning of a line.
    fn gap(&mut self) {
        if !self.page.text.is_empty() && !self.page.text.ends_with(['\n', '-']) {
            self.page.put(" ");
        }
    }

    /// One sentence of several, with nothing to fill in but the words of the house.
    fn sentence(&mut self, of: &[String], idiom: &str) {
        let Some(template) = self.rng.pick(of).cloned() else { return };
        self.gap();
        self.fill(&template, Numbered::default());
        self.text_idioms.insert(if idiom.starts_with("noise") {
            idiom.to_owned()
        } else {
            format!("{idiom}:{template}")
        });
    }

    /// Writes the words for casting on; the number, where they leave it open.
    fn cast_on(&mut self) -> (Start, Option<u32>) {
        let n = self.piece.cast_on;
        self.gap();
        if let Some(multiple) = self.piece.multiple.filter(|_| self.house.open) {
            let numbers = Numbered { of: multiple.of, plus: multiple.plus, ..Numbered::default() };
            let texts = if multiple.plus > 0 { &self.dialect.multiple_plus } else { &self.dialect.multiple };
            let template = self.rng.pick(texts).cloned().unwrap_or_default();
            let spans = self.fill(&template, numbers);
            self.text_idioms.insert(format!("cast-on:{template}"));
            let of_span = spans.get("of").copied().unwrap_or(Span::DETACHED);
            let plus_span = spans.get("plus").copied();
            return (Start::Multiple { of: multiple.of, of_span, plus: multiple.plus, plus_span }, Some(n));
        }
        let needles = [3, 4].into_iter().filter(|needles| n.is_multiple_of(*needles) && n > *needles);
        let needles: Vec<u32> =
            needles.filter(|_| self.piece.worked == Worked::Round && self.house.offset == 0).collect();
        let several = self.rng.pick(&needles).copied().filter(|_| self.rng.chance(50));
        let template = match several {
            Some(_) => self.rng.pick(&self.dialect.cast_on_needles).cloned(),
            None => {
                let first = self.house.offset > 0;
                let fit = self.dialect.cast_on.iter().filter(|choice| choice.first.is_some() == first);
                self.rng.weigh(fit.map(|choice| (choice.text.clone(), choice.w)))
            }
        };
        let template = template.unwrap_or_else(|| "Cast on {n}.".to_owned());
        let needles = several.unwrap_or(1);
        let start = self.page.here();
        let spans = self.fill(&template, Numbered { n, each: n / needles, needles, ..Numbered::default() });
        if self.house.offset > 0 {
            self.tell_first_row(start);
        }
        self.text_idioms.insert(format!("cast-on:{template}"));
        let start = match (spans.get("n"), spans.get("each")) {
            (Some(span), _) => Start::Stitches(*span),
            (None, each) => Start::Each(each.copied().unwrap_or(Span::DETACHED), needles),
        };
        (start, None)
    }

    /// The first row, told with the casting on.
    fn tell_first_row(&mut self, start: usize) {
        let span = self.page.since(start);
        let parts = vec![Part::Sweep { op: Op::K, left: 0, span, number: None }];
        self.told_by[0] = Some(self.tellings.len());
        let idioms = BTreeSet::from(["first-row-with-cast-on".to_owned()]);
        self.tellings.push(Telling { rows: vec![0], span, body: span, parts, like: None, idioms });
    }

    /// What is said once of all the rows between.
    fn remark(&mut self, when: Remark) {
        let Some((_, rows, op)) = self.house.remark.clone().filter(|(at, ..)| *at == when) else { return };
        let texts = match when {
            Remark::Before => &self.dialect.returns_before,
            Remark::After => &self.dialect.returns_after,
            Remark::Between => &self.dialect.returns_between,
            Remark::Unnumbered => &self.dialect.returns_unnumbered,
        };
        let Some(template) = self.rng.pick(texts.of(op)).cloned() else { return };
        match when {
            Remark::Before | Remark::Unnumbered => self.gap(),
            Remark::After | Remark::Between => self.between_rows(),
        }
        let start = self.page.here();
        self.fill(&template, Numbered::default());
        let span = self.page.since(start);
        rows.iter().for_each(|&row| self.told_by[row] = Some(self.tellings.len()));
        let idioms = BTreeSet::from([format!("returns:{template}")]);
        self.text_idioms.extend(idioms.clone());
        let parts = edged(vec![Part::Sweep { op, left: 0, span, number: None }], self.house.apart);
        self.tellings.push(Telling { rows, span, body: span, parts, like: None, idioms });
    }

    /// The repeat in height: part of the program, or for ever. Tells whether the text goes back to its first row.
    fn height(&mut self) -> bool {
        let first = self.house.offset;
        let told = self.house.block.map_or(self.worked.rows.len() - first, |block| block.rows);
        let n = u32::try_from(told).unwrap_or(u32::MAX);
        if let Some(Block { times, .. }) = self.house.block {
            let times = u32::try_from(times).unwrap_or(u32::MAX);
            let in_all = self.rng.chance(35);
            let (texts, times) = match in_all {
                true => (&self.dialect.again_in_all, times),
                false => (&self.dialect.again_more, times - 1),
            };
            let all = u32::try_from(self.worked.rows.len() - first).unwrap_or(u32::MAX);
            let Some(template) = self.rng.pick(texts).cloned() else { return false };
            // "Repeat … twice, making six rows in all" counts what is done again.
            let making = template.contains("{all}");
            let times = if making { times - 1 } else { times };
            self.between_rows();
            self.fill(&template, Numbered { n, all, times, ..Numbered::default() });
            self.text_idioms.insert(format!("block:{template}"));
            return false;
        }
        let begins = self.worked.rows.get(first).map(|row| row.before);
        let ends = self.worked.rows.last().map(|row| row.after);
        let turns = self.piece.worked == Worked::Round || told.is_multiple_of(2);
        if begins != ends || !turns || !self.rng.chance(85) {
            return false;
        }
        let unnumbered = matches!(self.house.remark, Some((Remark::Unnumbered, ..)));
        let fit = self.dialect.again.iter().filter(|choice| !unnumbered || !choice.text.contains("{n}"));
        let again: Vec<(String, u32)> = fit.map(|choice| (choice.text.clone(), choice.w)).collect();
        let Some(template) = self.rng.weigh(again) else { return false };
        self.between_rows();
        self.fill(&template, Numbered { n, ..Numbered::default() });
        self.text_idioms.insert(format!("again:{template}"));
        true
    }
}

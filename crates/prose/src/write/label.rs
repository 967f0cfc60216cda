//! Where rows are told: their names, what they are like, and the stitches that are left.

use loops::Op;
use span::Span;

use crate::dialect::Numbers;
use crate::house::{How, Place};
use crate::page::{self, Piece as Bit, pieces};
use crate::told::Telling;

use super::row::edged;
use super::{Numbered, Writer};

impl Writer<'_> {
    pub(super) fn place(&mut self, place: &Place) {
        self.idioms.clear();
        let start = self.page.here();
        self.label(&place.rows);
        let body = self.page.here();
        let first = place.rows[0];
        let (parts, like) = match place.how {
            How::Like(other) => {
                let told_there = self.house.remark.as_ref().is_none_or(|(_, rows, _)| !rows.contains(&other));
                let last = other + 1 == first && told_there;
                let span = if last && self.rng.chance(35) { self.like_last() } else { self.like(other) };
                let known = self.told_by[other].map(|telling| self.tellings[telling].parts.clone());
                (known.unwrap_or_default(), Some((other, span)))
            }
            How::Full => (edged(self.row(first), self.house.apart), None),
        };
        if self.house.label.capital {
            self.page.capital(body);
        }
        let body = self.page.since(body);
        self.page.put(".");
        self.count(place);
        let span = self.page.since(start);
        place.rows.iter().for_each(|&row| self.told_by[row] = Some(self.tellings.len()));
        let idioms = std::mem::take(&mut self.idioms);
        self.tellings.push(Telling { rows: place.rows.clone(), span, body, parts, like, idioms });
    }

    /// The stitches that are left, said in passing.
    pub(super) fn count(&mut self, place: &Place) {
        let [row] = place.rows[..] else { return };
        let row_worked = &self.worked.rows[row];
        let shapes = row_worked.before != row_worked.after;
        let turns = row_worked.ops.iter().any(|stitch| stitch.op == Op::Turn);
        if self.house.open || turns || !self.rng.chance(if shapes { 20 } else { 2 }) {
            return;
        }
        let Some(template) = self.rng.pick(&self.dialect.count).cloned() else { return };
        self.page.put(" ");
        let spans = self.fill(&template, Numbered { n: row_worked.after, ..Numbered::default() });
        if let Some(span) = spans.get("n") {
            self.counts.push((row, *span));
        }
        self.idioms.insert(format!("count:{template}"));
    }

    pub(super) fn label(&mut self, rows: &[usize]) {
        let numbers: Vec<u32> = rows.iter().map(|&row| self.house.number(row)).collect();
        let label = self.house.label;
        let template = if rows.len() > 1 { &label.many } else { &label.one };
        let row_word = if label.row { "row" } else { self.house.row };
        for bit in pieces(template) {
            match bit {
                Bit::Text(text) => {
                    self.page.put(text);
                }
                Bit::Place("nth") if self.dialect.numbers == Numbers::Figures => {
                    let nth = if self.house.short { page::nth_short } else { page::nth };
                    self.list(&numbers, nth);
                }
                Bit::Place("nth") => self.list(&numbers, page::nth_word),
                Bit::Place("Nth") => {
                    let at = self.page.here();
                    self.list(&numbers, page::nth_word);
                    self.page.capital(at);
                }
                Bit::Place("d") if template.contains("{Rows}") && self.every_other(&numbers) => {}
                Bit::Place("d") => self.list(&numbers, |number| number.to_string()),
                Bit::Place("st") => {
                    self.page.put(page::ending(numbers[0]));
                }
                Bit::Place(place) => self.row_word(place, row_word),
            }
        }
        self.idioms.insert(format!("label:{template}"));
    }

    /// Numbers with commas and a last "and"; a run of three or more may be given by its ends.
    pub(super) fn list(&mut self, numbers: &[u32], name: impl Fn(u32) -> String) {
        let run = numbers.len() > 2 && numbers.windows(2).all(|pair| pair[0] + 1 == pair[1]);
        let text = if run && self.rng.chance(60) {
            self.idioms.insert("rows:range".to_owned());
            format!("{} to {}", name(numbers[0]), name(numbers[numbers.len() - 1]))
        } else {
            if numbers.len() > 1 {
                self.idioms.insert("rows:list".to_owned());
            }
            let names: Vec<String> = numbers.iter().map(|&number| name(number)).collect();
            match names.split_last() {
                Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
                _ => names.concat(),
            }
        };
        self.page.put(&text);
    }

    /// "Rows 2 to 12, even".
    fn every_other(&mut self, numbers: &[u32]) -> bool {
        let stepped = numbers.len() > 2 && numbers.windows(2).all(|pair| pair[0] + 2 == pair[1]);
        let told = stepped && self.rng.chance(50);
        if let (true, Some(first), Some(last)) = (told, numbers.first(), numbers.last()) {
            let kind = if first.is_multiple_of(2) { "even" } else { "odd" };
            self.page.put(&format!("{first} to {last}, {kind}"));
            self.idioms.insert("rows:every-other".to_owned());
        }
        told
    }

    pub(super) fn row_word(&mut self, place: &str, row: &str) {
        let text = match place {
            "row" => row.to_owned(),
            "rows" => format!("{row}s"),
            "Row" => capitalised(row),
            "Rows" => format!("{}s", capitalised(row)),
            _ => String::new(),
        };
        self.page.put(&text);
    }

    /// Says that a row is like the one before; no word names it.
    fn like_last(&mut self) -> Span {
        let template = self.rng.pick(&self.dialect.common.like_last).cloned().unwrap_or_default();
        self.fill(&template, Numbered::default());
        self.idioms.insert(format!("like:{template}"));
        Span::DETACHED
    }

    /// Says that a row is like another; gives the word that names it.
    pub(super) fn like(&mut self, other: usize) -> Span {
        let template = self.rng.pick(&self.dialect.like).cloned().unwrap_or_default();
        let number = self.house.number(other);
        let mut named = Span::DETACHED;
        for bit in pieces(&template) {
            match bit {
                Bit::Text(text) => {
                    self.page.put(text);
                }
                Bit::Place("nth") if self.dialect.numbers == Numbers::Words => {
                    named = self.page.put(&page::nth_word(number));
                }
                Bit::Place("nth") if self.house.short => named = self.page.put(&page::nth_short(number)),
                Bit::Place("nth") => named = self.page.put(&page::nth(number)),
                Bit::Place("d") => named = self.page.put(&number.to_string()),
                Bit::Place(place) => self.row_word(place, self.house.row),
            }
        }
        self.idioms.insert(format!("like:{template}"));
        named
    }
}

fn capitalised(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

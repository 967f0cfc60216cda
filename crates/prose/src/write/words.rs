//! The words of one instruction, and of numbers.

use std::collections::BTreeMap;

use loops::Op;
use span::Span;
use wording::Run;

use crate::dialect::{Choice, Numbers};
use crate::page::{self, Piece as Bit, pieces};
use crate::told::{Part, Said};

use super::{Numbered, Writer};

impl Writer<'_> {
    /// One operation a number of times: one instruction, or as many as there are.
    pub(super) fn say(&mut self, run: Run, next: Option<Op>) -> Vec<Said> {
        let follows =
            if run.count > 1 { Some(run.op).filter(|op| !self.counts_itself(*op)).or(next) } else { next };
        let template = self.words(run.op, follows);
        let counted = template.contains("{n}");
        if counted || run.count == 1 {
            return vec![self.said(run, &template)];
        }
        // A thread thrown over twice is one long loop, not two holes side by side.
        if run.op != Op::Yo && self.rng.chance(25) {
            self.idioms.insert("run:n-times".to_owned());
            let start = self.page.here();
            let one = self.said(Run { op: run.op, count: 1 }, &template);
            self.page.put(" ");
            let number = self.page.put(&page::times(run.count, self.dialect.numbers == Numbers::Words));
            return vec![Said {
                count: run.count,
                span: self.page.since(start),
                number: Some(number),
                ..one
            }];
        }
        self.idioms.insert("run:said-over".to_owned());
        (0..run.count)
            .map(|index| {
                if index > 0 {
                    let joint = self.joint();
                    self.page.put(joint);
                }
                let next = if index + 1 < run.count { Some(run.op) } else { next };
                let template = self.words(run.op, next);
                self.said(Run { op: run.op, count: 1 }, &template)
            })
            .collect()
    }

    /// Casting off told by the stitches that are left.
    pub(super) fn cast_off_but(&mut self, count: u32, before: u32) -> Part {
        let start = self.page.here();
        let left = before - count;
        let template = self.rng.pick(&self.dialect.common.cast_off_but).cloned().unwrap_or_default();
        let spans = self.fill(&template, Numbered { n: left, ..Numbered::default() });
        self.idioms.insert(format!("cast-off:{template}"));
        Part::Sweep { op: Op::Bo, left, span: self.page.since(start), number: spans.get("n").copied() }
    }

    /// A run after casting off in which the loop left on the needle is not counted.
    pub(super) fn say_apart(&mut self, run: Run, next: Option<Op>) -> Vec<Said> {
        self.idioms.insert("cast-off:loop-apart".to_owned());
        let mut said = self.say(Run { op: run.op, count: run.count - 1 }, next);
        if let Some(said) = said.first_mut() {
            said.count = run.count;
        }
        said
    }

    pub(super) fn counts_itself(&self, op: Op) -> bool {
        self.dialect.words_for(op, None).iter().all(|choice| choice.text.contains("{n}"))
    }

    pub(super) fn said(&mut self, run: Run, template: &str) -> Said {
        let (held, worked) = match run.op {
            Op::Cross(cross) => (u32::from(cross.held), u32::from(cross.worked)),
            _ => (0, 0),
        };
        let start = self.page.here();
        let (mut number, mut together) = (None, None);
        for bit in pieces(template) {
            match bit {
                Bit::Text(text) => {
                    self.page.put(text);
                }
                Bit::Place("n") => number = Some(self.cardinal(run.count)),
                Bit::Place("t") => together = Some(self.cardinal(run.op.takes())),
                Bit::Place("h") => {
                    self.cardinal(held);
                }
                Bit::Place("m") => {
                    self.cardinal(worked);
                }
                Bit::Place("yarn") => {
                    self.page.put(self.house.yarn);
                }
                Bit::Place(_) => {}
            }
        }
        self.idioms.insert(format!("word:{template}"));
        Said { op: run.op, count: run.count, span: self.page.since(start), number, together }
    }

    /// The words for an operation: mostly those that this text prefers.
    pub(super) fn words(&mut self, op: Op, next: Option<Op>) -> String {
        let choices: Vec<&Choice> = self.dialect.words_for(op, next);
        let key = op.to_string();
        if let Some(known) = self.favourites.get(&key)
            && choices.iter().any(|choice| &choice.text == known)
            && self.rng.chance(self.house.steady)
        {
            return known.clone();
        }
        let chosen = self.rng.weigh(choices.iter().map(|choice| (choice.text.clone(), choice.w)));
        let chosen = chosen.unwrap_or_else(|| op.to_string());
        self.favourites.entry(key).or_insert_with(|| chosen.clone());
        chosen
    }

    pub(super) fn joint(&mut self) -> &'static str {
        let joint = self.rng.weigh(self.dialect.joints.iter().map(|joint| (joint.text.as_str(), joint.w)));
        match joint {
            Some("; ") => "; ",
            Some(", and ") => ", and ",
            _ => ", ",
        }
    }

    pub(super) fn cardinal(&mut self, number: u32) -> Span {
        let text = match self.dialect.numbers {
            Numbers::Words => page::word(number),
            Numbers::Figures => number.to_string(),
        };
        self.page.put(&text)
    }

    pub(super) fn numeral(&mut self, place: &str, numbers: Numbered) -> Span {
        let words = self.dialect.numbers == Numbers::Words;
        match place {
            "times" if words && numbers.times == 3 && self.rng.chance(20) => self.page.put("thrice"),
            "times" => self.page.put(&page::times(numbers.times, words)),
            "more" if numbers.times == 1 => self.page.put("once more"),
            "more" => {
                let text = format!("{} more", page::times(numbers.times, words));
                self.page.put(&text)
            }
            "all" => self.cardinal(numbers.all),
            "left" => self.cardinal(numbers.left),
            "of" => self.cardinal(numbers.of),
            "plus" => self.cardinal(numbers.plus),
            "each" => self.cardinal(numbers.each),
            "needles" => self.cardinal(numbers.needles),
            _ => self.cardinal(numbers.n),
        }
    }

    /// Fills in a template; gives the places of its numbers.
    pub(super) fn fill(&mut self, template: &str, numbers: Numbered) -> BTreeMap<String, Span> {
        let mut spans = BTreeMap::new();
        for bit in pieces(template) {
            match bit {
                Bit::Text(text) => {
                    self.page.put(text);
                }
                Bit::Place("yarn") => {
                    self.page.put(self.house.yarn);
                }
                Bit::Place(place @ ("row" | "rows" | "Row" | "Rows")) => self.row_word(place, self.house.row),
                Bit::Place(place) => {
                    spans.insert(place.to_owned(), self.numeral(place, numbers));
                }
            }
        }
        spans
    }
}

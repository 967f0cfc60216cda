//! Which instructions a piece sets beside which.
//!
//! A pattern says the same few things again and again: after an over a narrowing, at the end of a row knit 1. Where words
//! were dropped or doubled, what then stands side by side is often something that the piece has nowhere else. Knows
//! pairs of neighbours, and the one number that an instruction always has.

use std::hash::{Hash, Hasher};

use loops::Op;
use reading::{Item, Seq};
use rustc_hash::{FxHashMap, FxHasher};

/// Nats for a pair that other rows have, and against one that none has.
const KNOWN: f64 = 0.6;
const UNKNOWN: f64 = 0.4;
/// Nats against an instruction in another number than it has in all other rows, as "make 2" where all else is "make 1".
const OTHER_NUMBER: f64 = 1.2;
/// The least rows that show such a number.
const ROWS: usize = 3;

/// An instruction without its number; the beginning and end of a row are one too.
pub type Key = u64;

/// The beginning or end of a row.
pub const EDGE: Key = 0;

/// The pairs of neighbours of a piece.
#[derive(Default)]
pub struct Habits {
    /// Each pair with the rows that have it, up to two.
    pairs: FxHashMap<(Key, Key), [Option<usize>; 2]>,
    /// The rows in which an instruction stands in a number.
    numbers: FxHashMap<Key, Vec<(u32, usize)>>,
}

impl Habits {
    /// Looks over the rows of a piece, those that share their words taken once.
    pub fn new<'a>(rows: impl Iterator<Item = (usize, &'a Seq)>) -> Habits {
        let mut habits = Habits::default();
        for (words, seq) in rows {
            let mut flat = vec![EDGE];
            flatten(seq, &mut flat);
            habits.count(words, seq);
            flat.push(EDGE);
            for pair in flat.windows(2) {
                let seen = habits.pairs.entry((pair[0], pair[1])).or_default();
                if seen[0].is_none() {
                    seen[0] = Some(words);
                } else if seen[0] != Some(words) {
                    seen[1] = Some(words);
                }
            }
        }
        habits
    }

    fn count(&mut self, words: usize, seq: &Seq) {
        for item in seq.items() {
            match &item {
                Item::Group { body, .. } => self.count(words, body),
                Item::Work(work) => {
                    let rows = self.numbers.entry(ops_key(&work.ops)).or_default();
                    if !rows.contains(&(work.times, words)) {
                        rows.push((work.times, words));
                    }
                }
                _ => {}
            }
        }
    }

    /// Nats against an instruction in a number, as far as other rows tell.
    pub fn number(&self, words: usize, ops: &[Op], times: u32) -> f64 {
        // An instruction that no row has is a reading of the words that the piece does not follow.
        let Some(rows) = self.numbers.get(&ops_key(ops)) else { return OTHER_NUMBER };
        let mut others = rows.iter().filter(|(_, row)| *row != words).map(|(times, _)| *times);
        let Some(first) = others.next() else { return 0.0 };
        let alike = others.clone().all(|other| other == first) && others.count() + 1 >= ROWS;
        if alike && first != times { OTHER_NUMBER } else { 0.0 }
    }

    /// Nats against a pair standing in a row, as far as other rows tell.
    fn odds(&self, words: usize, before: Key, after: Key) -> f64 {
        let seen = self.pairs.get(&(before, after));
        let elsewhere = seen.is_some_and(|seen| seen.iter().flatten().any(|other| *other != words));
        if elsewhere { -KNOWN } else { UNKNOWN }
    }

    /// Nats against a row in which the instructions `new` stand between two others where `old` stand now; either may be
    /// empty.
    pub fn change(&self, words: usize, (before, after): (Key, Key), old: &[Item], new: &[Item]) -> f64 {
        self.run(words, (before, after), new) - self.run(words, (before, after), old)
    }

    fn run(&self, words: usize, (before, after): (Key, Key), items: &[Item]) -> f64 {
        let (Some(first), Some(last)) = (items.first(), items.last()) else {
            return self.odds(words, before, after);
        };
        self.odds(words, before, first_key(first)) + self.odds(words, last_key(last), after)
    }
}

fn flatten(seq: &Seq, out: &mut Vec<Key>) {
    for item in seq.items() {
        match &item {
            Item::Group { body, .. } => flatten(body, out),
            Item::Move(..) => {}
            other => out.push(key(other)),
        }
    }
}

/// The key of the instruction that an item begins with.
pub fn first_key(item: &Item) -> Key {
    match item {
        Item::Group { body, .. } => body.items().first().map_or(EDGE, first_key),
        other => key(other),
    }
}

/// The key of the instruction that an item ends with.
pub fn last_key(item: &Item) -> Key {
    match item {
        Item::Group { body, .. } => body.items().last().map_or(EDGE, last_key),
        other => key(other),
    }
}

fn ops_key(ops: &[Op]) -> Key {
    let mut hasher = FxHasher::default();
    ops.hash(&mut hasher);
    hasher.finish().max(1)
}

fn key(item: &Item) -> Key {
    let mut hasher = FxHasher::default();
    match item {
        Item::Work(work) => return ops_key(&work.ops),
        Item::Rest { op, .. } | Item::LetFall(op, ..) => [*op].as_slice().hash(&mut hasher),
        Item::ByNeedle(..) | Item::Spread(..) => {}
        Item::Seen(seen, _) => seen.hash(&mut hasher),
        Item::SeenSome(..) => {}
        Item::Move(to, _) => to.hash(&mut hasher),
        Item::Group { .. } => {}
    }
    hasher.finish().max(1)
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;

    #[test]
    fn pairs_that_other_rows_have_are_likelier() {
        let reader = Reader::new().unwrap();
        let seq = |text: &str| {
            let reading = reader.read(&format!("Cast on 20 stitches. 1st row: {text}"), &Options::default());
            reading.pieces[0].chain[0].candidates[0].seq.clone()
        };
        let rows = [
            seq("knit 2, over, narrow, knit 4"),
            seq("knit 3, over, narrow, knit 3"),
            seq("knit 4, over, knit 2"),
        ];
        let habits = Habits::new(rows.iter().enumerate());
        let items = rows[0].items();
        let (over, narrow, knit) = (last_key(&items[1]), &items[2], first_key(&items[3]));
        let dropped = habits.change(2, (over, knit), &[], std::slice::from_ref(narrow));
        let at_the_end = habits.change(2, (knit, EDGE), &[], std::slice::from_ref(narrow));
        assert!(dropped < at_the_end - 1.0, "{dropped} {at_the_end}");
    }
}

//! A row as regularity sees it: its instructions in order, and their numbers.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;

use loops::Op;
use reading::{Item, Seq, Until};

use super::cell::{Cell, What};
use super::columns::Columns;
use super::likeness::Distances;
use super::mirror::{leaning, reads_alike};

/// A row as regularity sees it.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Every instruction, those of groups among them.
    pub(super) flat: Vec<Cell>,
    /// Instructions with each open group as one.
    pub(super) top: Vec<Cell>,
    pub(super) skeleton: u64,
    pub(super) whole: u64,
    /// Its first instruction, its first two, its last and its last two; `None` where it has fewer.
    pub(super) ends: [Option<u64>; 4],
    /// Stitches that one round of an open group takes and leaves.
    pub(super) repeat: Option<(u32, u32)>,
    /// Places where plain stitches follow plain ones, or purled ones purled, each told by a number of their own.
    pub(super) parted: usize,
    /// Its stitches one by one, where it may mirror itself between borders.
    pub(super) leaning: Option<Box<[Op]>>,
    /// Of a row with one repeat to its end: whether it reads the same from both ends, the repeat written out.
    pub(super) turned: Option<bool>,
    /// Where its overs and decreases lie.
    pub(super) columns: Columns,
    /// How far rows that it was held against are from it, by their `whole`.
    pub(super) apart: Distances,
    /// Rows with the same number here share their printed words.
    pub(super) words: usize,
}

impl Profile {
    /// The profile of a row; rows that share their printed words have the same `words`.
    pub fn new(seq: &Seq, words: usize) -> Profile {
        let (mut flat, mut top) = (Vec::new(), Vec::new());
        for item in seq.items() {
            flatten(&item, &mut flat);
            top_cells(&item, &mut top);
        }
        let skeleton = hash(flat.iter().map(|cell| &cell.what));
        let whole = hash(flat.iter());
        let repeat = seq.open_group().map(|body| (body.shape().fixed.takes, body.shape().fixed.makes));
        let head = |length: usize| flat.get(..length).map(|cells| hash(cells.iter()));
        let tail = |length: usize| flat.len().checked_sub(length).map(|from| hash(flat[from..].iter()));
        let ends = [head(1), head(2), tail(1), tail(2)];
        let parted =
            flat.windows(2).filter(|pair| is_plain(&pair[0]) && pair[0].what == pair[1].what).count();
        let leaning = leaning(&top);
        let turned = written_out(seq).map(|cells| reads_alike(&cells));
        let columns = Columns::new(seq);
        Profile {
            flat,
            top,
            skeleton,
            whole,
            ends,
            repeat,
            parted,
            leaning,
            turned,
            columns,
            apart: Distances::default(),
            words,
        }
    }

    /// The number of its printed words.
    pub fn words(&self) -> usize {
        self.words
    }

    pub(super) fn telling(&self) -> bool {
        let first = self.flat.first().map(|cell| &cell.what);
        self.flat.len() >= 3 && self.flat.iter().any(|cell| Some(&cell.what) != first)
    }

    /// The numbers of its instructions beside those of a row that is built alike or has one instruction more.
    pub(super) fn aligned(&self, longest: &Profile) -> Option<Vec<u32>> {
        let whats = |cells: &[Cell], others: &[Cell]| {
            cells.iter().zip(others).all(|(one, other)| one.what == other.what)
        };
        let mut times: Vec<u32> = self.flat.iter().map(|cell| cell.times).collect();
        if self.flat.len() == longest.flat.len() {
            return whats(&self.flat, &longest.flat).then_some(times);
        }
        if self.flat.len() + 1 != longest.flat.len() {
            return None;
        }
        let at =
            self.flat.iter().zip(&longest.flat).take_while(|(one, other)| one.what == other.what).count();
        let ops = matches!(longest.flat[at].what, What::Ops(_));
        times.insert(at, 0);
        (ops && whats(&self.flat[at..], &longest.flat[at + 1..])).then_some(times)
    }

    pub(super) fn numbers(&self) -> u64 {
        hash(self.flat.iter().filter(|cell| !matches!(cell.what, What::Open)).map(|cell| cell.times))
    }
}

/// Whether it is a number of plain or of purled stitches.
fn is_plain(cell: &Cell) -> bool {
    matches!(&cell.what, What::Ops(ops) if matches!(**ops, [Op::K] | [Op::P]))
}

fn hash<T: Hash>(all: impl Iterator<Item = T>) -> u64 {
    let mut hasher = DefaultHasher::new();
    all.for_each(|one| one.hash(&mut hasher));
    hasher.finish()
}

fn flatten(item: &Item, out: &mut Vec<Cell>) {
    match item {
        Item::Work(work) => out.push(Cell { what: What::Ops(Rc::clone(&work.ops)), times: work.times }),
        Item::Move(..) => {}
        Item::Rest { op, until, .. } => out.push(Cell { what: What::Rest(*op), times: left(*until) }),
        Item::Group { body, until, .. } => {
            out.push(Cell { what: What::Open, times: 0 });
            body.items().iter().for_each(|item| flatten(item, out));
            let open = !matches!(until, Until::Times(_));
            out.push(Cell { what: What::Close(open), times: left(*until) });
        }
        Item::SeenSome(count, _) => out.push(Cell { what: What::Look, times: *count }),
        Item::Seen(..) | Item::LetFall(..) | Item::Spread(..) | Item::ByNeedle(..) => {
            out.push(Cell { what: What::Look, times: 0 });
        }
    }
}

/// A group that is worked a few times is as if it were told as often.
fn top_cells(item: &Item, out: &mut Vec<Cell>) {
    const FEW: u32 = 6;
    match item {
        Item::Group { body, until: Until::Times(times @ 1..=FEW), .. } => {
            for _ in 0..*times {
                body.items().iter().for_each(|item| top_cells(item, out));
            }
        }
        Item::Group { body, until, .. } => {
            let mut inner = Vec::new();
            body.items().iter().for_each(|item| flatten(item, &mut inner));
            out.push(Cell { what: What::Group(hash(inner.iter())), times: left(*until) });
        }
        item => flatten(item, out),
    }
}

/// The instructions of a row with its one repeat twice; `None` where it has none, or more.
fn written_out(seq: &Seq) -> Option<Vec<Cell>> {
    let mut cells = Vec::new();
    let mut repeats = 0;
    for item in seq.items() {
        match &item {
            Item::Group { body, until: Until::End | Until::Left(_), .. } => {
                repeats += 1;
                for inner in body.items().iter().chain(&body.items()) {
                    top_cells(inner, &mut cells);
                }
            }
            item => top_cells(item, &mut cells),
        }
    }
    (repeats == 1).then_some(cells)
}

fn left(until: Until) -> u32 {
    match until {
        Until::Times(times) => times,
        Until::Left(left) | Until::Middle(left) => left,
        Until::End => 0,
    }
}

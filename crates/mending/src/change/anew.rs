//! Whole rows for which another was printed again.
//!
//! The eye that jumps from like to like sets a row twice. What should stand there is a row of the piece told elsewhere,
//! or the next step of a series: a row built like two others, its numbers moved on as theirs move.

use reading::{Item, Seq, Work};
use span::Span;

use crate::patch::{Patch, apply};
use crate::words::{Words, in_the_manner_of};

/// A row that may be meant.
#[derive(Clone, Debug)]
pub struct Row {
    /// What it tells.
    pub seq: Seq,
    /// Its words.
    pub words: String,
    /// Nats against it.
    pub cost: f64,
}

/// A row as told, with its index.
pub type Told<'a> = (usize, &'a Seq);

/// Rows further away are not looked at.
const REACH: usize = 12;
/// Nats against a row that is a step of no series.
const NO_STEP: f64 = 1.0;

/// The rows that may be meant where a row was printed again; `told` are the rows of the piece.
pub fn rows_anew(row: usize, own: &Seq, told: &[Told<'_>], words: &Words<'_>) -> Vec<Row> {
    let others = told.iter().copied().filter(|(at, _)| *at != row);
    let near: Vec<Told<'_>> = others.filter(|(at, _)| at.abs_diff(row) <= REACH).collect();
    let mut out: Vec<Row> = Vec::new();
    let mut add = |new: Row| {
        let known = out.iter().any(|other: &Row| other.words == new.words);
        if !known && new.words != body(own, words).of(words.text) {
            out.push(new);
        }
    };
    for (at, one) in near.iter().enumerate() {
        for two in &near[at + 1..] {
            // The words are taken from the row that stands nearer.
            let (near, far) = if one.0.abs_diff(row) < two.0.abs_diff(row) { (one, two) } else { (two, one) };
            step(row, *near, *far, words).into_iter().for_each(&mut add);
        }
    }
    for (_, other) in near {
        let whole = body(other, words).of(words.text);
        add(Row { seq: other.clone(), words: whole.to_owned(), cost: NO_STEP });
    }
    out
}

/// The words of a row from its first instruction on, a mark before it among them.
pub fn body(seq: &Seq, words: &Words<'_>) -> Span {
    let all = seq.span();
    words.mark_before(all).map_or(all, |mark| mark.to(all))
}

/// The row whose numbers go on from those of two others, or stand between them.
fn step(row: usize, near: Told<'_>, far: Told<'_>, words: &Words<'_>) -> Option<Row> {
    let mut numbers = Vec::new();
    let place = |at: usize| i64::try_from(at).unwrap_or(i64::MAX);
    let (from, to, at) = (place(far.0), place(near.0), place(row));
    let meant = |far: u32, near: u32| {
        let (far, near) = (i64::from(far), i64::from(near));
        let whole = (near - far) * (at - to);
        let number = u32::try_from(near + whole / (to - from)).ok().filter(|number| *number > 0);
        number.filter(|_| whole % (to - from) == 0)
    };
    let items = moved(&near.1.items(), &far.1.items(), &meant, &mut numbers)?;
    let whole = body(near.1, words);
    let patches = numbers.into_iter().map(|(number, meant)| {
        let corrected = in_the_manner_of(number.of(words.text), meant)?;
        let start = whole.range().start;
        let span =
            Span::new(number.range().start.checked_sub(start)?, number.range().end.checked_sub(start)?);
        Some(Patch::new(span, corrected))
    });
    let patches: Vec<Patch> = patches.collect::<Option<_>>()?;
    let told = apply(whole.of(words.text), &patches).filter(|_| !patches.is_empty())?;
    Some(Row { seq: Seq::of(items)?, words: told.text, cost: 0.0 })
}

/// Instructions in the numbers meant; `None` where the two rows are not built alike.
fn moved(
    near: &[Item],
    far: &[Item],
    meant: &impl Fn(u32, u32) -> Option<u32>,
    numbers: &mut Vec<(Span, u32)>,
) -> Option<Vec<Item>> {
    if near.len() != far.len() {
        return None;
    }
    let mut item = |(near, far): (&Item, &Item)| match (near, far) {
        (Item::Work(one), Item::Work(other)) if one.ops == other.ops => {
            let times = meant(other.times, one.times)?;
            if times != one.times {
                numbers.push((one.number?, times));
            }
            Some(Item::Work(Work { times, ..one.clone() }))
        }
        (Item::Group { body, until, span }, Item::Group { body: other, until: others, .. })
            if until == others =>
        {
            let body = Seq::of(moved(&body.items(), &other.items(), meant, numbers)?)?;
            Some(Item::Group { body, until: *until, span: *span })
        }
        (Item::Rest { op, until, .. }, Item::Rest { op: other, until: others, .. })
            if op == other && until == others =>
        {
            Some(near.clone())
        }
        (Item::Move(to, _), Item::Move(other, _)) if to == other => Some(near.clone()),
        _ => None,
    };
    near.iter().zip(far).map(&mut item).collect()
}

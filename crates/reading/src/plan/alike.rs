//! Rows told by another and what differs in them: a number, the beginning, the end, how often.
//!
//! Makes readings from readings. Knows no words and no needles.

use std::rc::Rc;

use loops::Op;

use super::Readings;
use super::told::{OTHER_PLACE, lengthened, plain_places};
use crate::ast::{Change, Differs, Item, Seq, Stop, Until, Work};

/// Nats against each further place that may be the one that differs. A guess.
const NEXT_PLACE: f64 = 0.3;

/// Nats against the rest of a row without the loop made right before it. A guess.
const WITHOUT_LOOP: f64 = 0.5;

/// How many readings of a row told by several changes are kept.
const MOST_CHANGED: usize = 24;

/// Nats against a row that goes on growing or shrinking where it is only said to be worked again. A guess.
const GOES_ON: f64 = 0.3;

/// The same rows with their groups worked so many times; those without such a group are left out.
pub fn so_often(told: &Readings, times: u32) -> Readings {
    let often = |seq: &Seq| {
        let mut changed = false;
        let items: Vec<Item> = seq
            .items()
            .into_iter()
            .map(|item| match item {
                Item::Group { body, until: Until::Times(_), span } => {
                    changed = true;
                    Item::Group { body, until: Until::Times(times), span }
                }
                other => other,
            })
            .collect();
        Seq::of(items).filter(|_| changed)
    };
    Rc::new(told.iter().filter_map(|(cost, seq)| Some((*cost, often(seq)?))).collect())
}

/// A row told by what differs from another, one change after the other.
pub fn but_for(told: &Readings, changes: &[Change]) -> Readings {
    let mut told = Rc::clone(told);
    for change in changes {
        let mut changed = changed(&told, &change.told, &change.at);
        changed.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        changed.truncate(MOST_CHANGED);
        told = Rc::new(changed);
    }
    told
}

/// One change: each place where the other row has the same operation in another number gives a reading, the last place
/// first, or the first where the beginning is said to differ.
fn changed(told: &Readings, seqs: &Readings, at: &Differs) -> Vec<(f64, Seq)> {
    let mut out = Vec::new();
    for (cost, base) in told.iter() {
        for (more, seq) in seqs.iter() {
            let items = base.items();
            let changed = seq.items();
            let [Item::Work(new)] = changed.as_slice() else { continue };
            if *at == Differs::LastOf {
                out.extend(with_last(items, new).map(|seq| (cost + more, seq)));
                continue;
            }
            let same = |item: &Item| matches!(item, Item::Work(old) if old.ops == new.ops);
            let mut places: Vec<usize> = (0..items.len()).filter(|at| same(&items[*at])).collect();
            match at {
                Differs::AtLast => places.reverse(),
                // "Three instead of two": in all places, or in one.
                Differs::Instead(old) => {
                    places.retain(|at| matches!(&items[*at], Item::Work(work) if work.times == *old));
                    out.extend(in_all(&items, &places, new).map(|seq| (cost + more, seq)));
                }
                // "Three after the first two together."
                Differs::After(nth, ops) => {
                    let anchor = nth_of(&items, *nth, ops);
                    places.retain(|at| anchor.is_some_and(|anchor| *at > anchor));
                    places.truncate(1);
                }
                // "Three before the last yarn over."
                Differs::Before(nth, ops) => {
                    let anchor =
                        nth.map_or_else(|| last_of_these(&items, ops), |nth| nth_of(&items, nth, ops));
                    places.retain(|at| anchor.is_some_and(|anchor| *at < anchor));
                    places.drain(..places.len().saturating_sub(1));
                }
                Differs::AtFirst | Differs::LastOf => {}
            }
            let outside = if places.is_empty() { 0.0 } else { NEXT_PLACE };
            for (rank, at) in places.into_iter().enumerate() {
                let mut items = items.clone();
                items[at] = Item::Work(new.clone());
                out.extend(Seq::of(items).map(|seq| (cost + more + NEXT_PLACE * rank as f64, seq)));
            }
            let inside = in_groups(&items, seqs, at).into_iter();
            out.extend(inside.map(|(inner, seq)| (cost + more + outside + inner, seq)));
        }
    }
    out
}

/// The same row with a group of it told by what differs.
fn in_groups(items: &[Item], seqs: &Readings, at: &Differs) -> Vec<(f64, Seq)> {
    let mut out = Vec::new();
    for (place, item) in items.iter().enumerate() {
        let Item::Group { body, until, span } = item else { continue };
        for (cost, body) in changed(&Rc::new(vec![(0.0, body.clone())]), seqs, at) {
            let mut items = items.to_vec();
            items[place] = Item::Group { body, until: *until, span: *span };
            out.extend(Seq::of(items).map(|seq| (cost, seq)));
        }
    }
    out
}

/// The same row with other stitches for its last.
fn with_last(mut items: Vec<Item>, last: &Work) -> Option<Seq> {
    match items.pop()? {
        Item::Work(work) if matches!(&*work.ops, [Op::K | Op::P]) && work.times >= last.times => {
            let times = work.times - last.times;
            items.extend((times > 0).then_some(Item::Work(Work { times, ..work })));
        }
        Item::Rest { op, until: Until::End, span } => {
            items.push(Item::Rest { op, until: Until::Left(last.times), span });
        }
        _ => return None,
    }
    Seq::of(items.into_iter().chain([Item::Work(last.clone())]))
}

/// Which of the instructions works the so many-eth of these operations.
fn nth_of(items: &[Item], nth: u32, ops: &[Op]) -> Option<usize> {
    let mut before = 0;
    items.iter().position(|item| {
        before += these(item, ops);
        before >= nth
    })
}

/// Which of the instructions is the last to work these operations.
fn last_of_these(items: &[Item], ops: &[Op]) -> Option<usize> {
    items.iter().rposition(|item| these(item, ops) > 0)
}

/// How often an instruction works these operations, one after the other.
fn these(item: &Item, ops: &[Op]) -> u32 {
    let Item::Work(work) = item else { return 0 };
    if work.ops.windows(ops.len()).any(|run| run == ops) { work.times } else { 0 }
}

/// The same row with other stitches in several places.
fn in_all(items: &[Item], places: &[usize], new: &Work) -> Option<Seq> {
    let mut items = items.to_vec();
    for at in places {
        items[*at] = Item::Work(new.clone());
    }
    Seq::of(items).filter(|_| places.len() > 1)
}

/// Nats against "as the first up to the first over" ending before that over. Guess.
const NOT_THROUGH: f64 = 0.7;

/// As another row up to a place, and then in its own way.
pub fn up_to(told: &Readings, stop: Stop, own: &Readings) -> Readings {
    let begun = |seq: &Seq| {
        let items = seq.items();
        let ends = match stop {
            Stop::Through(nth, op) => {
                nth_of(&items, nth, &[op]).map(|at| vec![(at + 1, 0.0), (at, NOT_THROUGH)])
            }
            Stop::Star => {
                let star = items.iter().position(|item| matches!(item, Item::Group { .. }));
                star.map(|star| vec![(star, 0.0)])
            }
        };
        let up_to = |(end, more)| Some((more, Seq::of(items[..end].iter().cloned())?));
        ends.into_iter().flatten().filter_map(up_to).collect::<Vec<(f64, Seq)>>()
    };
    let begun =
        told.iter().flat_map(|(cost, seq)| begun(seq).into_iter().map(move |(more, seq)| (cost + more, seq)));
    let all =
        begun.flat_map(|(cost, begun)| own.iter().map(move |(more, own)| (cost + more, begun.and(own))));
    Rc::new(all.collect())
}

/// The first and the last so many stitches of a row, where they can be told from the others.
pub fn edges_of(model: &Readings, stitches: u32) -> (Option<Seq>, Option<Seq>) {
    let Some((_, seq)) = model.first() else { return (None, None) };
    let items = seq.items();
    (first_of(items.clone(), stitches).and_then(Seq::of), last_of(items, stitches))
}

/// A row between others' stitches at its beginning and at its end.
pub fn between(first: Option<&Seq>, last: Option<&Seq>, own: &Readings) -> Readings {
    let put = |seq: &Seq| {
        let seq = first.map_or_else(|| seq.clone(), |first| first.and(seq));
        last.map_or_else(|| seq.clone(), |last| seq.and(last))
    };
    Rc::new(own.iter().map(|(cost, seq)| (*cost, put(seq))).collect())
}

/// The instructions that take the first so many stitches; `None` where one of them takes more at once.
fn first_of(items: Vec<Item>, stitches: u32) -> Option<Vec<Item>> {
    let mut left = stitches;
    let mut out = Vec::new();
    for item in items {
        let Item::Work(work) = item else { break };
        if left == 0 {
            break;
        }
        let each = work.sum().takes.checked_div(work.times)?;
        let times = left.checked_div(each).map_or(work.times, |fit| work.times.min(fit));
        left = left.checked_sub(times.checked_mul(each)?)?;
        if times == 0 {
            return None;
        }
        out.push(Item::Work(Work { times, ..work }));
    }
    (left == 0 && !out.is_empty()).then_some(out)
}

/// The same of the last ones.
fn last_of(mut items: Vec<Item>, stitches: u32) -> Option<Seq> {
    items.reverse();
    let mut last = first_of(items, stitches)?;
    last.reverse();
    Seq::of(last)
}

/// A row that is worked again on the stitches that it left: between its increases or decreases there are so many more
/// or fewer, or outside them.
pub fn grown(told: &Readings) -> Readings {
    let mut out: Vec<(f64, Seq)> = told.to_vec();
    for (cost, seq) in told.iter() {
        let step = |item: &Item| match item {
            Item::Work(work) => {
                let sum = work.sum();
                i64::from(sum.makes) - i64::from(sum.takes)
            }
            _ => 0,
        };
        let items = seq.items();
        let shaped: Vec<usize> = (0..items.len()).filter(|at| step(&items[*at]) != 0).collect();
        let (Some(first), Some(last)) = (shaped.first(), shaped.last()) else { continue };
        let by: i64 = items.iter().map(step).sum();
        let places = plain_places(seq);
        let (inner, outer): (Vec<_>, Vec<_>) =
            places.into_iter().partition(|(at, _)| (first..last).contains(&at));
        for (rank, places) in [inner, outer].into_iter().enumerate() {
            let each = i64::try_from(places.len()).ok().filter(|many| *many > 0 && by % many == 0);
            let Some(each) = each.and_then(|many| i32::try_from(by / many).ok()) else { continue };
            let places: Vec<usize> = places.into_iter().map(|(at, _)| at).collect();
            let cost = cost + GOES_ON * (1 + rank) as f64;
            out.extend(lengthened(seq, &places, each).map(|seq| (cost, seq)));
        }
    }
    Rc::new(out)
}

/// Which plain stretch of a row is likeliest meant by a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stretch {
    /// The longest.
    Longest,
    /// The one that changes least by it.
    Nearest,
}

/// A row with so many plain stitches in one place, or in all of one length: the likeliest plain stretch first, or the one
/// that had so many before.
pub fn with_plain(told: &Readings, plain: u32, old: Option<u32>, likely: Stretch) -> Readings {
    let mut out = Vec::new();
    for (cost, seq) in told.iter() {
        let mut places = plain_places(seq);
        places.retain(|(_, times)| old.is_none_or(|old| *times == old));
        places.sort_by_key(|(_, times)| match likely {
            Stretch::Longest => (*times == plain, 0, std::cmp::Reverse(*times)),
            Stretch::Nearest => (*times == plain, times.abs_diff(plain), std::cmp::Reverse(*times)),
        });
        let first = places.first().map(|(_, times)| *times);
        let alike: Vec<usize> =
            places.iter().filter(|(_, times)| Some(*times) == first).map(|(at, _)| *at).collect();
        let together = (alike.len() > 1).then(|| (alike, first.unwrap_or(0)));
        let one_each = places.into_iter().map(|(at, times)| (vec![at], times));
        for (rank, (places, times)) in together.into_iter().chain(one_each).enumerate() {
            let Some(by) = i32::try_from(i64::from(plain) - i64::from(times)).ok() else { continue };
            out.extend(lengthened(seq, &places, by).map(|seq| (cost + OTHER_PLACE * rank as f64, seq)));
        }
    }
    Rc::new(out)
}

/// "Knit two, and work from * as in the first row": the beginning of its own, then what the other row repeats, and its end
/// or so many plain stitches.
pub fn from_star(begun: &Readings, told: &Readings, plain: Option<u32>) -> Readings {
    let mut out = Vec::new();
    for (cost, seq) in told.iter() {
        let items = seq.items();
        let Some(star) = items.iter().position(|item| matches!(item, Item::Group { .. })) else { continue };
        let Item::Group { body, until, span } = &items[star] else { continue };
        let end = plain.map(|plain| {
            let work = Work { ops: Rc::from([Op::K]), times: plain, span: *span, number: None, sense: None };
            let until = Until::Left(plain);
            vec![Item::Group { body: body.clone(), until, span: *span }, Item::Work(work)]
        });
        let own = Item::Group { body: body.clone(), until: freed(*until), span: *span };
        let end =
            end.unwrap_or_else(|| std::iter::once(own).chain(items[star + 1..].iter().cloned()).collect());
        for (more, begun) in begun.iter() {
            out.extend(Seq::of(end.clone()).map(|end| (cost + more, begun.and(&end))));
        }
    }
    Rc::new(out)
}

/// "Cast off five, and work the rest as in the second row": what begins the row, then the other row on what is left; of one
/// that tells a fixed number of stitches only the last, as many as there are.
pub fn rest_as(begun: &Readings, told: &Readings, on_needle: Option<u32>) -> Readings {
    let rests = |begun: &Seq, told: &Seq| -> Option<Vec<(f64, Seq)>> {
        let items = told.items();
        let put = |cost: f64, items: Vec<Item>| Some((cost, Seq::of(after_binding_off(begun, items))?));
        if !told.shape().open.is_empty() {
            return Some(put(0.0, items).into_iter().collect());
        }
        let left = on_needle?.checked_sub(begun.shape().fixed.takes)?;
        let rest = last_of(items.clone(), left)?.items();
        // A loop made right before them belongs to them rather than not.
        let from = items.len() - rest.len();
        let made = |at: &usize| matches!(&items[*at], Item::Work(work) if work.sum().takes == 0);
        let with = from.checked_sub(1).filter(made).filter(|_| rest.first() == items.get(from));
        let without = with.map_or(0.0, |_| WITHOUT_LOOP);
        let with = with.and_then(|at| put(0.0, items[at..].to_vec()));
        Some(with.into_iter().chain(put(without, rest)).collect())
    };
    let mut out = Vec::new();
    for (cost, begun) in begun.iter() {
        for (more, told) in told.iter() {
            let rests = rests(begun, told).into_iter().flatten();
            out.extend(rests.map(|(left, rest)| (cost + more + left, begun.and(&rest))));
        }
    }
    Rc::new(out)
}

/// "Knit seven, narrow as before, with one only between, knit seven": the two decreases are those of another row.
pub fn narrowed_so(told: &Readings, begun: &Readings, plain: u32, ended: &Readings) -> Readings {
    let pair = |seq: &Seq| {
        let items = seq.items();
        let narrows =
            |item: &&Item| matches!(item, Item::Work(work) if work.ops.iter().any(|op| op.is_decrease()));
        let mut both = items.iter().filter(narrows).cloned();
        let (Some(first), Some(Item::Work(second)), None) = (both.next(), both.next(), both.next()) else {
            return None;
        };
        let between =
            Work { ops: Rc::from([Op::K]), times: plain, number: None, sense: None, ..second.clone() };
        Seq::of([first, Item::Work(between), Item::Work(second)])
    };
    let mut out = Vec::new();
    for pair in told.iter().filter_map(|(_, seq)| pair(seq)).take(1) {
        for (cost, begun) in begun.iter() {
            out.extend(ended.iter().map(|(more, ended)| (cost + more, begun.and(&pair).and(ended))));
        }
    }
    Rc::new(out)
}

/// The row that follows stitches bound off: its first is worked already, so that it can't be slipped.
fn after_binding_off(begun: &Seq, mut items: Vec<Item>) -> Vec<Item> {
    let binds =
        begun.items().last().is_some_and(|item| matches!(item, Item::Work(work) if *work.ops == [Op::Bo]));
    if let Some(Item::Work(work)) = items.first_mut().filter(|_| binds)
        && matches!(*work.ops, [Op::Slp | Op::SlWyif | Op::SlWyib | Op::Slk])
    {
        work.ops = Rc::from([Op::K]);
    }
    items
}

/// What is repeated so often in one row is repeated in another as far as that goes.
fn freed(until: Until) -> Until {
    if matches!(until, Until::Times(_)) { Until::End } else { until }
}

/// A row with so many plain stitches at its beginning and at its end, where it has plain ones there.
pub fn with_ends(told: &Readings, plain: [u32; 2]) -> Readings {
    let readings = told.iter().filter_map(|(cost, seq)| {
        let mut items = seq.items();
        let last = items.len().checked_sub(1).filter(|last| *last > 0)?;
        for (at, times) in [0, last].into_iter().zip(plain) {
            let Item::Work(work) = &items[at] else { return None };
            if *work.ops != [Op::K] {
                return None;
            }
            items[at] = Item::Work(Work { times, ..work.clone() });
        }
        Some((*cost, Seq::of(items)?))
    });
    Rc::new(readings.collect())
}

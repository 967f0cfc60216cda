//! Readings of rows made from others: with the faces changed about, but for one number, cut where the work is turned.

use std::rc::Rc;

use loops::Op;
use span::Span;

use super::Readings;
use crate::ast::{FOR_THE_LAST, Item, Seen, Seq, Until, Work, is_decrease};
use crate::needles::{Parts, Shares};
use crate::spread::SpreadRow;

/// Nats against going on as another row does from another place than after what was done last. A guess.
const FROM_ELSEWHERE: f64 = 0.7;
/// Readings of one row that ends as another does.
const MOST_ENDS: usize = 48;
/// Nats against each further plain stretch of a row that may be the one meant.
pub(super) const OTHER_PLACE: f64 = 0.7;

/// Whether a row is nothing but binding off.
pub fn binds_all_off(readings: &Readings) -> bool {
    let all = |seq: &Seq| matches!(seq.items().as_slice(), [Item::Rest { op: Op::Bo, .. }]);
    readings.first().is_some_and(|(_, seq)| all(seq))
}

/// Rows told in pairs by the look of the row below ("knit 2 over the 2 purled"): the second of a pair is worked as
/// the first shows.
pub fn as_it_shows(readings: &Readings) -> Readings {
    let against = |item: &Item| matches!(item, Item::Seen(Seen::Against, _));
    if !readings.iter().any(|(_, seq)| seq.item_count() == 1 && seq.items().iter().any(against)) {
        return Rc::clone(readings);
    }
    let shown = readings.iter().map(|(cost, seq)| match seq.items().as_slice() {
        [Item::Seen(Seen::Against, span)] => (*cost, Seq::one(Item::Seen(Seen::AsItShows, *span))),
        _ => (*cost, seq.clone()),
    });
    Rc::new(shown.collect())
}

/// The same stitches with knit for purl and purl for knit.
pub fn swapped(seq: &Seq) -> Seq {
    exchanged(seq, Op::from_behind, SpreadRow::swapped)
}

/// The same stitches with every crossing the other way.
pub fn crossed(seq: &Seq) -> Seq {
    exchanged(seq, Op::crossed, SpreadRow::clone)
}

/// The same stitches with every operation changed for another.
fn exchanged(seq: &Seq, other_op: fn(Op) -> Op, other_spread: fn(&SpreadRow) -> SpreadRow) -> Seq {
    let items = seq.items().into_iter().map(|item| match item {
        Item::Work(work) => {
            Item::Work(Work { ops: work.ops.iter().map(|op| other_op(*op)).collect(), ..work })
        }
        Item::Rest { op, until, span } => Item::Rest { op: other_op(op), until, span },
        Item::Group { body, until, span } => {
            Item::Group { body: exchanged(&body, other_op, other_spread), until, span }
        }
        Item::Spread(row, span) => Item::Spread(other_spread(&row), span),
        other => other,
    });
    Seq::of(items).unwrap_or_else(|| seq.clone())
}

/// A row that others are like: of more stitches they have more in its longest plain stretch.
pub fn opened(told: &Readings) -> Readings {
    /// Nats against it.
    const LONGER: f64 = 1.2;
    let open = |(cost, seq): &(f64, Seq)| {
        let mut items = seq.items();
        let places = if repeated_part(seq).is_none() { plain_places(seq) } else { Vec::new() };
        let (at, _) = places.into_iter().rev().max_by_key(|(_, times)| *times)?;
        let Item::Work(work) = &items[at] else { return None };
        let (op, span) = (*work.ops.first()?, work.span);
        let after = Seq::of(items[at + 1..].iter().cloned());
        let shapes = seq.shape().open.is_empty() && !seq.once_only();
        let left = after.map_or(0, |after| after.shape().fixed.takes);
        let until = if left > 0 { Until::Left(left) } else { Until::End };
        items[at] = Item::Rest { op, until, span };
        Some((cost + LONGER, Seq::of(items).filter(|_| shapes)?))
    };
    let longer: Vec<_> = told.iter().filter_map(open).collect();
    Rc::new(told.iter().cloned().chain(longer).collect())
}

/// A row with so many plain stitches more or fewer between what shapes it: each place where they may stand gives a
/// reading, the longest stretch first and those at the ends of the row last, and so do all places together.
pub fn between_by(told: &Readings, by: i32) -> Readings {
    let mut out = Vec::new();
    for (cost, seq) in told.iter() {
        if let [Item::Spread(row, span)] = seq.items().as_slice() {
            out.extend(row.lengthened(by).map(|row| (*cost, Seq::one(Item::Spread(row, *span)))));
            continue;
        }
        let mut places = plain_places(seq);
        let ends = repeated_part(seq).is_none().then(|| [0, seq.item_count() - 1]);
        let at_an_end = |at: usize| ends.is_some_and(|ends| ends.contains(&at));
        places.sort_by_key(|(at, times)| (at_an_end(*at), std::cmp::Reverse(*times)));
        let all: Vec<usize> = places.iter().map(|(at, _)| *at).collect();
        let one_each = all.iter().map(|at| vec![*at]);
        let both = (all.len() > 1).then(|| all.clone());
        // Those of one length, as on both sides of the middle.
        let longest = places.first().map(|(_, times)| *times);
        let sides: Vec<usize> =
            places.iter().filter(|(_, times)| Some(*times) == longest).map(|(at, _)| *at).collect();
        let sides = (sides.len() > 1 && sides.len() < all.len()).then_some(sides);
        for (rank, at) in one_each.chain(both).chain(sides).enumerate() {
            let more = lengthened(seq, &at, by);
            out.extend(more.map(|seq| (cost + OTHER_PLACE * rank as f64, seq)));
        }
    }
    Rc::new(out)
}

/// The longest plain stretch that a row can come to.
const LONGEST: u32 = 5_000;

/// Where plain stretches stand in a row, or in the part that is repeated, and how long they are.
pub(super) fn plain_places(seq: &Seq) -> Vec<(usize, u32)> {
    let items = repeated_part(seq).map_or_else(|| seq.items(), |(_, body)| body.items());
    let plain = |(at, item): (usize, &Item)| match item {
        Item::Work(work) if matches!(*work.ops, [Op::K] | [Op::P]) => Some((at, work.times)),
        _ => None,
    };
    items.iter().enumerate().filter_map(plain).collect()
}

/// The first part of a row that is worked more than once, and its place.
fn repeated_part(seq: &Seq) -> Option<(usize, Seq)> {
    seq.items().into_iter().enumerate().find_map(|(at, item)| match item {
        Item::Group { body, .. } => Some((at, body)),
        Item::ByNeedle(parts, _) => match &*parts {
            Parts::Same(part) => Some((at, part.clone())),
            Parts::Each(_) => None,
        },
        _ => None,
    })
}

/// The same row with some plain stretches longer or shorter; `None` where one would vanish below nothing.
pub(super) fn lengthened(seq: &Seq, places: &[usize], by: i32) -> Option<Seq> {
    let mut items = seq.items();
    if let Some((at, body)) = repeated_part(seq) {
        let longer = Seq::of(stretched(body.items(), places, by)?)?;
        match &mut items[at] {
            Item::Group { body, .. } => *body = longer,
            Item::ByNeedle(parts, _) => *parts = Rc::new(Parts::Same(longer)),
            _ => {}
        }
        return Seq::of(items);
    }
    Seq::of(stretched(items, places, by)?)
}

fn stretched(mut items: Vec<Item>, places: &[usize], by: i32) -> Option<Vec<Item>> {
    for at in places {
        if let Some(Item::Work(work)) = items.get_mut(*at) {
            work.times = work.times.checked_add_signed(by).filter(|times| *times <= LONGEST)?;
        }
    }
    items.retain(|item| !matches!(item, Item::Work(work) if work.times == 0));
    Some(items)
}

/// A stretch with turns in it is several rows, each ending in a turn; the cheapest reading says where.
pub fn split_at_turns(readings: &Readings) -> Vec<Readings> {
    let turns = |item: &Item| matches!(item, Item::Work(work) if work.ops.last() == Some(&Op::Turn));
    let items = readings.first().map(|(_, seq)| once_through(seq)).unwrap_or_default();
    let inner = items.iter().rev().skip(1).any(turns);
    if !inner {
        return vec![Rc::clone(readings)];
    }
    let mut rows: Vec<Seq> = Vec::new();
    for part in items.split_inclusive(turns) {
        let back = rows.last().map(|row| row.shape().fixed.makes);
        let (home, next) = part.split_at(back.map_or(0, |back| way_back(part, back)));
        rows.extend([home, next].into_iter().filter_map(|row| Seq::of(row.iter().cloned())));
    }
    rows.into_iter().map(|seq| Rc::new(vec![(0.0, seq)])).collect()
}

/// The instructions of a stretch, where what turns cannot be repeated along a row: it is told once.
fn once_through(seq: &Seq) -> Vec<Item> {
    let told = seq.items().into_iter().flat_map(|item| match item {
        Item::Group { body, until: Until::End, .. } if body.turns() => body.items(),
        other => vec![other],
    });
    told.collect()
}

/// "Knit eight, turn; slip one, knit seven; knit six, turn": how many of the instructions lead back over the stitches of
/// the row before, where others follow; none if they do not.
fn way_back(part: &[Item], stitches: u32) -> usize {
    let mut taken = 0;
    for (at, item) in part.iter().enumerate() {
        let Item::Work(work) = item else { return 0 };
        if taken == stitches && at > 0 {
            return if *work.ops == [Op::Turn] { 0 } else { at };
        }
        taken += work.sum().takes;
    }
    0
}

/// How a row begins before its repeat and ends after it.
pub struct Ending {
    /// What it begins with.
    head: Vec<Item>,
    /// What it ends with.
    work: Seq,
    /// Whether that stands for the last of the repeat, which is worked once more up to there.
    for_the_last: bool,
}

impl Ending {
    /// The end of a row that has a repeat.
    pub fn of(readings: &Readings) -> Option<Ending> {
        let items = readings.first()?.1.items();
        let (at, body) = repeat(&items)?;
        let (after, shared) = (&items[at + 1..], body.len().saturating_sub(1));
        let for_the_last = shared > 0 && after.len() > shared && after[..shared] == body[..shared];
        let from = if for_the_last { shared } else { 0 };
        let work = Seq::of(after[from..].iter().cloned())?;
        Some(Ending { head: items[..at].to_vec(), work, for_the_last })
    }

    /// The same repeat as that of another row, if there is one, with an end of its own.
    pub fn with(before: Option<Ending>, work: &Seq) -> Ending {
        let (head, for_the_last) = before.map_or((Vec::new(), false), |one| (one.head, one.for_the_last));
        Ending { head, work: work.clone(), for_the_last }
    }

    /// A row that says nothing of its repeat, with the repeat where the other row has it; else as it is.
    fn parted(&self, row: &Seq) -> Seq {
        let items = match row.items().as_slice() {
            [Item::Group { body, until: Until::End, span }] if span.is_detached() => body.items(),
            items => items.to_vec(),
        };
        let same = |(one, other): (&Item, &Item)| one.is_same_work(other);
        let head = self.head.len();
        let begins_so = head > 0 && items.len() > head && items.iter().zip(&self.head).all(same);
        let rest = Seq::of(items[head.min(items.len())..].iter().cloned());
        let body = rest.filter(|body| begins_so && body.shape().open.is_empty() && !body.once_only());
        let Some((head, body)) = Seq::of(self.head.iter().cloned()).zip(body) else { return row.clone() };
        head.and(&Seq::one(Item::Group { body, until: Until::End, span: Span::DETACHED }))
    }

    /// A row with this end, the likeliest reading first: what it ends with follows the last repeat, or stands for the last
    /// of it.
    pub fn put_to(&self, row: &Seq) -> Vec<(f64, Seq)> {
        let row = &self.parted(row);
        let body = repeat(&row.items()).map(|(_, body)| body).unwrap_or_default();
        let cut = Seq::of(body[..body.len().saturating_sub(1)].iter().cloned());
        let swapped = cut.map(|cut| row.and(&cut).and(&self.work));
        let after = row.and(&self.work);
        match swapped {
            Some(swapped) if self.for_the_last => vec![(0.0, swapped)],
            Some(swapped) if body.last().is_some_and(|last| self.work.stands_for(last)) => {
                vec![(0.0, after), (FOR_THE_LAST, swapped)]
            }
            _ => vec![(0.0, after)],
        }
    }
}

/// The readings of a row that ends as another without a repeat: from where the other has what this one did last, or from
/// any place that makes the stitches come out.
pub fn finished_as(row: &Readings, other: &Readings) -> Vec<(f64, Seq)> {
    let Some((_, other)) = other.first() else { return row.to_vec() };
    let items = other.items();
    let put = |(cost, seq): &(f64, Seq), at: usize| {
        let own = seq.items();
        let more = if items[at - 1].is_same_work(own.last()?) { 0.0 } else { FROM_ELSEWHERE };
        Some((cost + more, seq.and(&Seq::of(items[at..].iter().cloned())?)))
    };
    let ends = |told| (1..items.len()).filter_map(move |at| put(told, at));
    let mut told: Vec<(f64, Seq)> = row.iter().flat_map(ends).collect();
    told.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    told.truncate(MOST_ENDS);
    if told.is_empty() { row.to_vec() } else { told }
}

/// The last repeat to the end among some items: where it stands, and what is repeated.
fn repeat(items: &[Item]) -> Option<(usize, Vec<Item>)> {
    items.iter().enumerate().rev().find_map(|(at, item)| match item {
        Item::Group { body, until: Until::End | Until::Left(_), .. } => Some((at, body.items())),
        _ => None,
    })
}

/// Whether all that is told is one increase between two stitches.
pub fn only_makes(readings: &Readings) -> bool {
    readings.first().is_some_and(|(_, seq)| match seq.items().as_slice() {
        [Item::Work(work)] => matches!(*work.ops, [Op::M1 | Op::Yo]) && work.times == 1,
        _ => false,
    })
}

/// Whether all that is told is that the work is turned.
pub fn only_turns(readings: &Readings) -> bool {
    readings.first().is_some_and(
        |(_, seq)| matches!(seq.items().as_slice(), [Item::Work(work)] if *work.ops == [Op::Turn]),
    )
}

/// Whether all that is told is that stitches which waited are taken up.
pub fn takes_up(readings: &Readings) -> bool {
    readings.first().is_some_and(|(_, seq)| match seq.items().as_slice() {
        [Item::Work(work)] => *work.ops == [Op::Take],
        _ => false,
    })
}

/// Whether words say that what is told is repeated to the end of a row.
pub fn repeats_to_the_end(readings: &Readings) -> bool {
    let to_the_end = |item: &Item| match item {
        Item::Group { until: Until::End | Until::Left(_), span, .. } => !span.is_detached(),
        _ => false,
    };
    readings.first().is_some_and(|(_, seq)| seq.items().iter().any(to_the_end))
}

/// Whether a row is told to its end, as those are that are told once for many: by a word for the rest of it, or stitch by
/// stitch.
pub fn fills_a_row(readings: &Readings) -> bool {
    /// Instructions that make a whole row rather than one thing done in it.
    const WHOLE: usize = 3;
    let rest = |item: &Item| matches!(item, Item::Rest { .. } | Item::Seen(..));
    repeats_to_the_end(readings)
        || readings.first().is_some_and(|(_, seq)| {
            let items = seq.items();
            items.iter().any(rest) || items.len() >= WHOLE && seq.shape().open.is_empty()
        })
}

/// A row of one operation throughout.
pub fn whole_row(op: Op, span: Span) -> Readings {
    Rc::new(vec![(0.0, Seq::one(Item::Rest { op, until: Until::End, span }))])
}

/// The readings of a round from those of its parts, one for each needle; of one part alone its own.
pub fn by_needle(parts: &[(Readings, Span)]) -> Option<Readings> {
    const MOST: usize = 8;
    if let [(alone, _)] = parts {
        return Some(Rc::clone(alone));
    }
    let mut all: Vec<(f64, Vec<Seq>)> = vec![(0.0, Vec::new())];
    for (readings, _) in parts {
        let longer = all.iter().flat_map(|(cost, begun)| {
            let next = |(more, seq): &(f64, Seq)| {
                (cost + more, begun.iter().cloned().chain([seq.clone()]).collect())
            };
            readings.iter().map(next).collect::<Vec<_>>()
        });
        all = longer.collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.truncate(MOST);
    }
    let round =
        |(cost, parts)| (cost, Seq::one(Item::ByNeedle(Rc::new(Parts::Each(parts)), Shares::default())));
    (!parts.is_empty()).then(|| Rc::new(all.into_iter().map(round).collect()))
}

/// Rounds told for one needle, worked on each; one operation throughout needs no parts.
pub fn on_each_needle(readings: &Readings) -> Readings {
    let each = |(cost, seq): &(f64, Seq)| match seq.items().as_slice() {
        [Item::Rest { .. } | Item::ByNeedle(..) | Item::Seen(..)] => (*cost, seq.clone()),
        _ => {
            let parts = Rc::new(Parts::Same(seq.clone()));
            (*cost, Seq::one(Item::ByNeedle(parts, Shares::default())))
        }
    };
    Rc::new(readings.iter().map(each).collect())
}

/// The same readings, with how many stitches each needle holds where they are told needle by needle.
pub fn sharing(readings: Readings, told: Shares) -> Readings {
    if !told.are_known() || !readings.iter().any(|(_, seq)| seq.by_needle().is_some()) {
        return readings;
    }
    let told = readings.iter().map(|(cost, seq)| match seq.items().as_slice() {
        [Item::ByNeedle(parts, _)] => (*cost, Seq::one(Item::ByNeedle(Rc::clone(parts), told))),
        _ => (*cost, seq.clone()),
    });
    Rc::new(told.collect())
}

/// Whether it is nothing but decreases, told for the whole of a row.
pub fn narrows_all(seq: &Seq) -> bool {
    match seq.items().as_slice() {
        [Item::Group { body, until: Until::End, span }] if !span.is_detached() => {
            let narrows =
                |item: &Item| matches!(item, Item::Work(work) if work.ops.iter().all(|op| is_decrease(*op)));
            body.items().iter().all(narrows)
        }
        _ => false,
    }
}

/// The same rows with the figures of their repeat between those of the first time: it begins in its middle, by the
/// stitches that it takes, or with the second where it holds two figures.
pub fn moved_half(readings: &Readings) -> Readings {
    let moved = |seq: &Seq| {
        let mut items = seq.items();
        let at = items.iter().position(|item| matches!(item, Item::Group { until: Until::End, .. }))?;
        let Item::Group { body, .. } = &mut items[at] else { return None };
        *body = from_its_middle(body)?;
        Seq::of(items)
    };
    let all = readings.iter().map(|(cost, seq)| (*cost, moved(seq).unwrap_or_else(|| seq.clone())));
    Rc::new(all.collect())
}

fn from_its_middle(body: &Seq) -> Option<Seq> {
    let items = body.items();
    let mut taken = 0;
    let half = body.shape().fixed.takes.div_ceil(2);
    let even = items.iter().position(|item| {
        let here = taken == half && 2 * half == body.shape().fixed.takes;
        taken += Seq::one(item.clone()).shape().fixed.takes;
        here
    });
    let middle = even.or((items.len() == 2).then_some(1)).filter(|middle| *middle > 0)?;
    Seq::of(items[middle..].iter().chain(&items[..middle]).cloned())
}

/// Whether this operation stands anywhere in it, in what is repeated too.
pub fn works_inside(seq: &Seq, op: Op) -> bool {
    seq.items().iter().any(|item| match item {
        Item::Work(work) => work.ops.contains(&op),
        Item::Group { body, .. } => works_inside(body, op),
        _ => false,
    })
}

/// Whether a row is a rib: nothing but knit and purl stitches, and both of them.
pub fn is_rib(seq: &Seq) -> bool {
    fn only_knit_and_purl(seq: &Seq) -> bool {
        seq.items().iter().all(|item| match item {
            Item::Work(work) => work.ops.iter().all(|op| matches!(op, Op::K | Op::P)),
            Item::Group { body, .. } => only_knit_and_purl(body),
            _ => false,
        })
    }
    works_inside(seq, Op::K) && works_inside(seq, Op::P) && only_knit_and_purl(seq)
}

/// Whether one of its instructions is worked by this operation.
pub fn works(seq: &Seq, op: Op) -> bool {
    seq.items().iter().any(|item| matches!(item, Item::Work(work) if work.ops.contains(&op)))
}

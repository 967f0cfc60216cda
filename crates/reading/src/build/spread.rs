//! Actions whose value is increases or decreases told by where they stand in the row.

use super::*;
use crate::spread::{Act, Spread, SpreadRow};

/// Nats against stitches at the ends of a row as places among others, where they can be told in order. Guess.
const ENDS_AS_PLACES: f64 = 0.4;

impl Builder<'_> {
    pub(super) fn spread_action(&mut self, action: &str, parts: &[Value]) -> Option<Built> {
        let span = self.spans(parts);
        let said = |told: SpreadTold| one(Value::Spread(Rc::from([told]), span));
        let told = || parts.iter().filter_map(acts).flatten().collect::<Vec<SpreadTold>>();
        let number = || self.numbers(parts.last()?).0[0];
        match action {
            "spread_row" => {
                let ground = parts.iter().find_map(|part| self.row_op(part));
                let told = told();
                // Without a word for the other stitches the distances must be told.
                let sure = told.iter().all(|told| told.at != At::Somewhere);
                let cost = if told.iter().all(SpreadTold::is_at_an_end) { ENDS_AS_PLACES } else { 0.0 };
                let ground = ground.unwrap_or_else(|| faced_as(told.first().map(|told| told.op)));
                sure.then(|| Some(vec![(cost, Value::Seq(SpreadTold::row_with(&told, ground, span)?))]))
                    .flatten()
            }
            "spread_stacked_row" => {
                let ground = self.row_op(&parts[0])?;
                let op = format!("k{}tog", number()?).parse().ok()?;
                one(Value::Seq(SpreadTold { op, times: None, at: At::Stacked }.row(ground, span)?))
            }
            "spread_together" | "spread_purled" | "spread_less" | "spread_more" | "spread_stacked" => {
                let ([n, m], _) = self.numbers(&parts[0]);
                let n = Some(n.filter(|n| (1..=TIMES_LIMIT).contains(n))?);
                let (op, times) = match action {
                    "spread_together" => (format!("k{}tog", m?).parse().ok()?, n),
                    "spread_purled" => (format!("p{}tog", m?).parse().ok()?, n),
                    "spread_less" => (Op::K2tog, n),
                    "spread_more" => (Op::M1, n),
                    _ => (format!("k{}tog", n?).parse().ok()?, None),
                };
                let at = if action == "spread_stacked" { At::Stacked } else { At::Somewhere };
                said(SpreadTold { op, times, at })
            }
            "spread_one" => {
                let op = format!("k{}tog", number()?).parse().ok()?;
                said(SpreadTold { op, times: None, at: At::Somewhere })
            }
            "spread_one_more" => said(SpreadTold { op: Op::M1, times: None, at: At::Somewhere }),
            // "Knit two together", "make one".
            "spread_stitch" => {
                let work = self.work_of(&parts[0])?;
                let [op] = *work.ops else { return None };
                let shapes = op.takes() != op.makes() && !matches!(op, Op::Bo | Op::Co);
                let times = (work.times > 1).then_some(work.times);
                shapes.then(|| said(SpreadTold { op, times, at: At::Somewhere })).flatten()
            }
            "spread_evenly" | "spread_every" | "spread_each" => {
                let last = told().pop()?;
                said(match action {
                    "spread_evenly" => SpreadTold { at: At::Evenly, ..last },
                    "spread_every" => SpreadTold { at: At::After(self.held(&parts[1])?), ..last },
                    _ => spread_in_each(last, self.held(&parts[1])?)?,
                })
            }
            // "On either side of the middle stitch"; "and at each end".
            "spread_at" => {
                let mut told = told();
                let last = told.last().copied()?;
                if last.at == At::Somewhere {
                    told.pop();
                }
                let (places, within) = parts.iter().find_map(|part| self.places(part))?;
                // Several at a place are told only of its ends and its middle.
                let often = last.times.is_some() && !within;
                told.extend(places.into_iter().map(|at| SpreadTold { at, ..last }));
                (!often).then(|| one(Value::Spread(told.into(), span))).flatten()
            }
            "spread_and" => {
                let told = told();
                let placed = told.iter().all(|told| told.at != At::Somewhere);
                placed.then(|| one(Value::Spread(told.into(), span))).flatten()
            }
            // "Narrow at the beginning of each needle."
            "at_each_needle" => {
                let [told] = told()[..] else { return None };
                let place = parts.iter().find_map(|part| self.place(part))?;
                let shaping = Shaping { place: Some(place), ..Shaping::of(told.op, told.times.unwrap_or(1)) };
                let part = Parts::Same(shaping.row(Op::K, span)?);
                one(Value::Seq(Seq::one(Item::ByNeedle(Rc::new(part), Shares::default()))))
            }
            // "Plain, but the seam stitch is purled."
            "rest_but_seam" => {
                let ground = self.row_op(&parts[0])?;
                let op = if ground == Op::K { Op::P } else { Op::K };
                let acts = Rc::from([Act { op, spread: Spread::OnSeam }]);
                one(Value::Seq(Seq::one(Item::Spread(SpreadRow { acts, ground }, span))))
            }
            // "Into the front and back of every other stitch, beginning with the first."
            "in_each_from_first" => {
                let [told] = told()[..] else { return None };
                let told = spread_in_each(told, self.held(&parts[1])?)?;
                let At::After(plain) = told.at else { return None };
                let first = self.single(told.op, 1, self.span(&parts[0]));
                let others = self.single(Op::K, plain, self.span(&parts[1]));
                let body = Seq::of([first].into_iter().chain((plain > 0).then_some(others)))?;
                one(Value::Seq(Seq::one(Item::Group { body, until: Until::End, span })))
            }
            // "Every seventh stitch is purled."
            "spread_nth_purl" => {
                let told = SpreadTold { op: Op::P, times: None, at: At::Somewhere };
                said(spread_in_each(told, self.held(&parts[0])?)?)
            }
            // "Every fifth and sixth stitch together"; "the fourth and third stitches before the end".
            "spread_nth_together" | "spread_nth_together_at_end" => {
                let ([one, other], _) = self.numbers(&parts[0]);
                let (first, last) = (one?.min(other?), one?.max(other?));
                let before = first.checked_sub(1).filter(|_| last == first + 1)?;
                let at_end = action == "spread_nth_together_at_end";
                let at = if at_end { At::End(before) } else { At::After(before) };
                let times = at_end.then_some(1);
                said(SpreadTold { op: Op::K2tog, times, at })
            }
            "spread_how" => {
                let op = increase_told(number());
                let told = told().into_iter().map(|told| SpreadTold { op, ..told });
                one(Value::Spread(told.collect(), span))
            }
            // "Increase one by knitting the first twice": how, and so where.
            "spread_how_at" => {
                let place = place_told(number())?;
                let op = increase_told(number());
                let [told] = told()[..] else { return None };
                let ats: &[At] = match place {
                    Place::Begin => &[At::Begin(0)],
                    Place::End => &[At::End(0)],
                    _ => &[At::Begin(0), At::End(0)],
                };
                let told = ats.iter().map(|at| SpreadTold { op, at: *at, ..told });
                one(Value::Spread(told.collect(), span))
            }
            // "Knit two together at the beginning and at the end of the row."
            "at_ends" => {
                let place = self.place(&parts[1])?;
                let Value::Seq(first) = self.stitch(&parts[0])?.pop()?.1 else { return None };
                let Item::Work(work) = first.first()? else { return None };
                let shapes = work.sum().takes != work.sum().makes && !first.once_only();
                let ground = faced_as(work.ops.iter().copied().find(|op| op.face() == Face::Purl));
                let rest = Seq::one(Item::Rest { op: ground, until: Until::End, span: self.span(&parts[1]) });
                let row = match place {
                    Place::Ends => first.and(&rest).and(&first),
                    Place::End => rest.and(&first),
                    Place::Begin => first.and(&rest),
                    _ => return None,
                };
                shapes.then(|| one(Value::Seq(row))).flatten()
            }
            _ => None,
        }
    }

    /// The place in a row that a phrase names.
    pub(super) fn place(&self, value: &Value) -> Option<Place> {
        let leaf = self.leaf(value)?;
        let number = self.numbers(value).0[0];
        match leaf.terminal {
            one if one == self.marks.beside => Some(Place::Beside(self.held(value)?)),
            one if one == self.marks.begin => Some(Place::Begin),
            one if one == self.marks.finish => Some(Place::End),
            one if one == self.marks.ends => Some(Place::Ends),
            one if one == self.marks.placed || one == self.marks.needle_place => match number? {
                1 => Some(Place::Middle),
                2 => Some(Place::Seam),
                3 => Some(Place::Begin),
                4 => Some(Place::End),
                _ => Some(Place::Ends),
            },
            _ => None,
        }
    }

    /// The places in a row that a phrase names, and whether several may be worked at each.
    fn places(&self, value: &Value) -> Option<(Vec<At>, bool)> {
        let bare = Shaping { place: Some(self.place(value)?), ..Shaping::of(Op::K2tog, 1) };
        let places: Vec<At> = bare.acts().into_iter().map(|told| told.at).collect();
        let several = places.iter().all(|at| !matches!(at, At::Beside(_) | At::Seam));
        Some((places, several))
    }
}

/// The increases and decreases that a value tells.
fn acts(value: &Value) -> Option<Vec<SpreadTold>> {
    match value {
        Value::Spread(told, _) => Some(told.to_vec()),
        Value::Statement(statement) => match statement.kind {
            StatementKind::Shaping(told) => Some(told.acts()),
            _ => None,
        },
        _ => None,
    }
}

/// The plain stitch of the face of an operation.
fn faced_as(op: Option<Op>) -> Op {
    if op.is_some_and(|op| op.face() == Face::Purl) { Op::P } else { Op::K }
}

/// Increases or decreases in every so many-eth stitch; a stitch in which one is made is worked twice.
fn spread_in_each(told: SpreadTold, nth: u32) -> Option<SpreadTold> {
    let op = if told.op.takes() == 0 { Op::Kfb } else { told.op };
    Some(SpreadTold { op, at: At::After(nth.checked_sub(op.takes())?), ..told })
}

/// Where a stitch is made that is told by the stitch in which it is.
pub(super) fn place_told(how: Option<u32>) -> Option<Place> {
    match how {
        Some(6) => Some(Place::Begin),
        Some(7) => Some(Place::End),
        Some(8) => Some(Place::Ends),
        _ => None,
    }
}

/// The increase or decrease that the words on how it is made tell.
pub(super) fn increase_told(how: Option<u32>) -> Op {
    match how {
        Some(1 | 6..=8) => Op::Kfb,
        Some(2) => Op::Yo,
        Some(4) => Op::K2tog,
        _ => Op::M1,
    }
}

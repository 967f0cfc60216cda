//! Working one reading of a row over the stitches on the needle.
//!
//! [`fits`] sees only counts and says in which ways a reading can take exactly what is there: how often its open
//! group is worked, and whether the last repeat is cut short. [`expand`] then spells the stitches out.

use loops::{Face, Op, ROW_LIMIT, Stitch};
use span::Span;

use crate::ast::{Fall, Item, Overs, Seen, Seq, Sum, Until, Work, is_decrease, is_knot};
use crate::effort;
use crate::needles::{MOST, Shares, part_fit};

/// Nats against a last repeat that is cut short without a word. Guess: dearer than any plain reading, cheaper
/// than a misprint.
const CUT_SHORT: f64 = 0.9;
/// Nats against a repeat that is followed by a word for the rest of the row. Guess.
const THEN_REST: f64 = 0.3;
/// Nats against making the loops that stand where the last repeat is cut.
const CUT_WITH_LOOPS: f64 = 0.4;
/// Nats against a repeat that is worked only once or not at all.
const NO_REPEAT: [f64; 2] = [2.5, 0.8];

/// One way in which a reading takes what is on the needle.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// How often the open part is worked.
    pub rounds: u32,
    /// Stitches that are left behind a repeat across the row for a word that works the rest.
    pub rest: u32,
    /// Where a last round is cut short: stitches taken in it, and whether loops made at the cut are worked.
    pub cut: Option<(u32, bool)>,
    /// Stitches after the row.
    pub after: u32,
    /// Of those, the loops that are yarn overs.
    pub overs: Overs,
    /// Nats against it.
    pub cost: f64,
    /// How the stitches are shared among the needles before a round told needle by needle.
    pub shares: Shares,
}

impl Fit {
    /// One that is worked as told and leaves nothing.
    pub fn whole() -> Fit {
        Fit {
            rounds: 0,
            rest: 0,
            cut: None,
            after: 0,
            overs: Overs::default(),
            cost: 0.0,
            shares: Shares::default(),
        }
    }
}

/// The ways in which a reading takes exactly `on_needle` stitches, of which `overs` are yarn overs;
/// none if it cannot.
pub fn fits(seq: &Seq, on_needle: u32, overs: Overs, out: &mut Vec<Fit>) {
    out.clear();
    if seq.needs_the_needle() {
        return;
    }
    let shape = seq.shape();
    let turns = seq.turns();
    let Some(spare) = on_needle.checked_sub(shape.fixed.takes) else { return };
    match shape.open.as_slice() {
        [] if spare == 0 || turns => {
            let fixed = shape.fixed;
            out.push(Fit { after: fixed.makes + spare, overs: fixed.overs, ..Fit::whole() });
        }
        [_] if seq.lets_fall().is_some() => {
            let falling = seq.lets_fall().map_or(0, |fall| overs.falling(fall));
            if let Some(kept) = spare.checked_sub(falling).filter(|_| falling > 0) {
                out.push(Fit { rounds: spare, after: shape.fixed.makes + kept, ..Fit::whole() });
            }
        }
        [(one, Until::Middle(left), before), more @ ..] if one.takes == 1 && one.makes == 1 => {
            out.extend(
                fit_middle(on_needle, spare, before.takes.saturating_add(*left), more).map(|fit| Fit {
                    after: shape.fixed.makes + spare,
                    overs: shape.fixed.overs,
                    ..fit
                }),
            );
        }
        [(unit, Until::End, _), (one, Until::End, _)] if one.takes == 1 && one.makes == 1 => {
            out.extend(fit_then_rest(seq, spare, *unit));
        }
        [(unit, until, before)] => fit_open(seq, on_needle, spare, *unit, (*until, *before), out),
        _ => {}
    }
}

/// "Knit to the middle stitch, …, knit to the end": so many up to the middle, so that so many are worked or left before
/// it, and what is left after it.
fn fit_middle(on_needle: u32, spare: u32, beside: u32, more: &[(Sum, Until, Sum)]) -> Option<Fit> {
    let rounds = Some(on_needle).filter(|all| all % 2 == 1)?.checked_div(2)?.checked_sub(beside)?;
    let rest = spare.checked_sub(rounds)?;
    let to_the_end = match more {
        [] => rest == 0,
        [(one, Until::End, _)] => one.takes == 1 && one.makes == 1,
        _ => false,
    };
    to_the_end.then(|| Fit { rounds, rest, ..Fit::whole() })
}

/// "Repeat from *, knit the rest": as many whole repeats as there is room for, and what is left.
fn fit_then_rest(seq: &Seq, spare: u32, unit: Sum) -> Option<Fit> {
    let body = seq.open_group()?;
    let rounds = spare.checked_div(unit.takes)?;
    if rounds == 0 || body.shape().fixed != unit {
        return None;
    }
    let rest = spare % unit.takes;
    let all = seq.shape().fixed.and(unit.times(rounds));
    Some(Fit { rounds, rest, after: all.makes + rest, overs: all.overs, cost: THEN_REST, ..Fit::whole() })
}

fn fit_open(
    seq: &Seq,
    on_needle: u32,
    spare: u32,
    unit: Sum,
    (until, before): (Until, Sum),
    out: &mut Vec<Fit>,
) {
    let fixed = seq.shape().fixed;
    if unit.takes == 0 {
        return;
    }
    let mut unworked = 0;
    if let Until::Left(left) = until {
        let tail = fixed.takes - before.takes;
        // "Knit to within six of the end, and turn."
        let short = seq.turns() && tail < left;
        if tail != left && !short || on_needle < left + before.takes {
            return;
        }
        unworked = left - tail;
    }
    let (rounds, rest) = ((spare - unworked) / unit.takes, (spare - unworked) % unit.takes);
    let rare = NO_REPEAT.get(rounds as usize).copied().unwrap_or(0.0);
    let group = seq.open_group();
    if rest == 0 {
        let rare = if group.is_some() { rare } else { 0.0 };
        let all = fixed.and(unit.times(rounds));
        out.push(Fit { rounds, after: all.makes + unworked, overs: all.overs, cost: rare, ..Fit::whole() });
    }
    let Some(body) = group.filter(|_| until == Until::End && rounds > 0) else { return };
    let made = fixed.makes.saturating_add(unit.makes.saturating_mul(rounds));
    for (with_loops, makes, of_cut) in cut_makes(body, rest, rounds) {
        let loops = if with_loops { CUT_WITH_LOOPS } else { 0.0 };
        let (rounds, rest, made) =
            if rest == 0 { (rounds - 1, unit.takes, made - unit.makes) } else { (rounds, rest, made) };
        let overs = fixed.and(unit.times(rounds)).overs.and(of_cut);
        out.push(Fit {
            rounds,
            rest: 0,
            cut: Some((rest, with_loops)),
            after: made.saturating_add(makes),
            overs,
            cost: CUT_SHORT + loops + rare,
            shares: Shares::default(),
        });
    }
}

/// What a round cut after `rest` stitches makes, without and with the loops made at the cut. With no rest the
/// last round is whole but for the loops at its end.
fn cut_makes(body: &Seq, rest: u32, rounds: u32) -> Vec<(bool, u32, Overs)> {
    if rest == 0 && rounds == 0 {
        return Vec::new();
    }
    let ops = body.flat(flat_ops);
    let whole = || ops.iter().map(|stitch| stitch.op.takes()).sum();
    let target = if rest == 0 { whole() } else { rest };
    let (mut worked, mut at) = (Sum::default(), 0);
    for run in ops.chunk_by(|one, next| one.op == next.op) {
        let Some(short) = target.checked_sub(worked.takes).filter(|short| *short > 0) else { break };
        let one = Sum::of(run[0].op);
        let fit = if one.takes == 0 { run.len() } else { run.len().min(short.div_ceil(one.takes) as usize) };
        worked = worked.and(one.times(fit as u32));
        at += fit;
    }
    if worked.takes != target {
        return Vec::new();
    }
    let Sum { makes, overs, .. } = worked;
    let left = &ops[at..];
    let made_there = || left.iter().take_while(|stitch| stitch.op.takes() == 0).map(|stitch| stitch.op);
    let loops: u32 = made_there().map(Op::makes).sum();
    let with_loops = made_there().fold(overs, |all, op| all.and(Overs::of(op)));
    match (rest, loops) {
        (0, 0) => Vec::new(),
        (0, _) => vec![(false, makes, overs)],
        (_, 0) => vec![(false, makes, overs)],
        _ => vec![(false, makes, overs), (true, makes + loops, with_loops)],
    }
}

/// The operations of a sequence without open parts.
fn flat_ops(seq: &Seq) -> Vec<Stitch> {
    let mut out = Vec::new();
    for item in seq.items() {
        match item {
            Item::Work(work) => push_work(&work, &mut out),
            Item::Group { body, until: Until::Times(times), .. } => {
                let once = flat_ops(&body);
                for _ in 0..times {
                    if out.len() + once.len() > ROW_LIMIT {
                        break;
                    }
                    out.extend(once.iter().copied());
                }
            }
            _ => {}
        }
    }
    out
}

fn push_work(work: &Work, out: &mut Vec<Stitch>) {
    for _ in 0..work.times {
        if out.len() > ROW_LIMIT {
            return;
        }
        out.extend(work.ops.iter().map(|op| Stitch { op: *op, span: work.span }));
    }
}

/// The edge stitch of the chain selvedge is slipped at the beginning of a row and knitted at its end.
fn end_edge(seq: &Seq, ops: &mut [Stitch]) {
    let chain =
        matches!(seq.items().last(), Some(Item::Work(work)) if *work.ops == [Op::SlWyib] && work.times == 1);
    if let Some(last) = ops.last_mut().filter(|_| chain && seq.item_count() > 1) {
        last.op = Op::K;
    }
}

/// A loop on the needle as the worker of the next row finds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Below {
    /// The face it shows to her.
    pub face: Face,
    /// Whether it is a loop of a yarn over wound more than once, but not the first that she comes to.
    pub wound: bool,
    /// Whether it is that first one.
    pub wound_first: bool,
    /// Whether it is a loop of a yarn over.
    pub over: bool,
    /// Whether it comes of a decrease.
    pub decrease: bool,
    /// Whether it was slipped.
    pub slipped: bool,
    /// How many were worked in one stitch, itself among them; 0 of one alone or two.
    pub knot: u32,
}

impl Below {
    /// The stitch that shows as this loop does.
    pub fn shown(self) -> Op {
        by_look(self, Seen::AsItShows)
    }

    /// A loop of the cast-on.
    pub const CAST_ON: Below = Below {
        face: Face::Plain,
        wound: false,
        wound_first: false,
        over: false,
        decrease: false,
        slipped: false,
        knot: 0,
    };
}

/// Spells out a reading over the loops on the needle.
pub fn expand(seq: &Seq, fit: &Fit, needle: &[Below]) -> Vec<Stitch> {
    if let Some((parts, _)) = seq.by_needle() {
        if !fit.shares.are_known() {
            let told = (0..MOST).map_while(|at| parts.nth(at)).take(if parts.is_same() { 1 } else { MOST });
            return told.flat_map(|part| expand(part, &Fit::whole(), needle)).collect();
        }
        let mut from = 0;
        let mut out = Vec::new();
        for (at, count) in fit.shares.counts().enumerate() {
            let held = needle.get(from..).map_or(&[][..], |rest| &rest[..rest.len().min(count as usize)]);
            let part = parts.nth(at).and_then(|part| Some((part, part_fit(part, count)?)));
            out.extend(part.map(|(part, fit)| expand(part, &fit, held)).unwrap_or_default());
            from += count as usize;
        }
        return out;
    }
    if let Some((row, span)) = seq.spread() {
        return row.stitches(needle, span);
    }
    let mut out: Vec<Stitch> = Vec::new();
    let mut yarn_front = false;
    for item in seq.items() {
        if out.len() > ROW_LIMIT {
            break;
        }
        match item {
            Item::Work(work) => push_work(&work, &mut out),
            Item::Move(to, _) => yarn_front = to == notation::YarnTo::Front,
            Item::Rest { op, until, span } => {
                let after_middle = until == Until::End && seq.shape().open.len() > 1;
                let times = if seq.open_group().is_some() || after_middle { fit.rest } else { fit.rounds };
                out.extend(std::iter::repeat_n(Stitch { op, span }, times.min(ROW_LIMIT as u32) as usize));
            }
            Item::Seen(seen, span) => {
                let taken: u32 = out.iter().map(|stitch| stitch.op.takes()).sum();
                let below = needle.iter().skip(taken as usize).take(fit.rounds as usize);
                out.extend(below.map(|below| Stitch { op: by_look(*below, seen), span }));
            }
            Item::SeenSome(count, span) => {
                let taken: u32 = out.iter().map(|stitch| stitch.op.takes()).sum();
                let below = needle.iter().skip(taken as usize).chain(std::iter::repeat(&Below::CAST_ON));
                let look = |below: &Below| Stitch { op: by_look(*below, Seen::AsItShows), span };
                out.extend(below.take(count.min(ROW_LIMIT as u32) as usize).map(look));
            }
            Item::LetFall(op, Fall::Knots, span) => {
                let taken: u32 = out.iter().map(|stitch| stitch.op.takes()).sum();
                let below = needle.get(taken as usize..).unwrap_or(&[]);
                out.extend(closed(below.get(..fit.rounds as usize).unwrap_or(below), op, span));
            }
            Item::LetFall(op, fall, span) => {
                let taken: u32 = out.iter().map(|stitch| stitch.op.takes()).sum();
                let below = needle.iter().skip(taken as usize).take(fit.rounds as usize);
                let falls = |below: &Below| if fall == Fall::All { below.over } else { below.wound };
                out.extend(below.map(|below| Stitch { op: if falls(below) { Op::Drop } else { op }, span }));
            }
            Item::Group { body, until: Until::Times(times), .. } => {
                let once = flat_with_moves(&body, &mut yarn_front);
                for _ in 0..times {
                    if out.len() + once.len() > ROW_LIMIT {
                        break;
                    }
                    out.extend(once.iter().copied());
                }
                continue;
            }
            Item::Group { body, .. } => {
                let once = flat_with_moves(&body, &mut yarn_front);
                for _ in 0..fit.rounds {
                    if out.len() + once.len() > ROW_LIMIT {
                        break;
                    }
                    out.extend(once.iter().copied());
                }
                if let Some(cut) = fit.cut {
                    out.extend(cut_ops(&once, cut));
                }
                continue;
            }
            Item::ByNeedle(..) | Item::Spread(..) => {}
        }
        if let Some(last) = out.last_mut() {
            last.op = slipped_with(last.op, yarn_front);
        }
        if out.last().is_some_and(|last| !last.op.is_slip()) {
            yarn_front = false;
        }
    }
    end_edge(seq, &mut out);
    out
}

/// Like [`flat_ops`], with slips told by where the yarn was brought.
fn flat_with_moves(seq: &Seq, yarn_front: &mut bool) -> Vec<Stitch> {
    let mut out: Vec<Stitch> = Vec::new();
    for item in seq.items() {
        match item {
            Item::Move(to, _) => *yarn_front = to == notation::YarnTo::Front,
            Item::Work(work) => {
                let start = out.len();
                push_work(&work, &mut out);
                for stitch in &mut out[start..] {
                    stitch.op = slipped_with(stitch.op, *yarn_front);
                }
                if work.ops.iter().any(|op| !op.is_slip()) {
                    *yarn_front = false;
                }
            }
            Item::Group { body, until: Until::Times(times), .. } => {
                let once = flat_with_moves(&body, yarn_front);
                for _ in 0..times {
                    if out.len() + once.len() > ROW_LIMIT {
                        break;
                    }
                    out.extend(once.iter().copied());
                }
            }
            _ => {}
        }
    }
    out
}

/// Loops worked one by one, but those together that were worked in one stitch.
fn closed(below: &[Below], op: Op, span: Span) -> Vec<Stitch> {
    let mut out = Vec::new();
    let mut at = 0;
    while let Some(loop_) = below.get(at) {
        let knot = loop_.knot as usize;
        let whole = knot > 0
            && below.get(at..at + knot).is_some_and(|all| all.iter().all(|one| one.knot == loop_.knot));
        let letter = if op == Op::P { "p" } else { "k" };
        let together = format!("{letter}{knot}tog").parse().ok().filter(|_| whole);
        out.push(Stitch { op: together.unwrap_or(op), span });
        at += if together.is_some() { knot } else { 1 };
    }
    out
}

/// A slip with the yarn in front, where it was brought there.
fn slipped_with(op: Op, yarn_front: bool) -> Op {
    if op == Op::Slp && yarn_front { Op::SlWyif } else { op }
}

fn cut_ops(once: &[Stitch], (rest, with_loops): (u32, bool)) -> Vec<Stitch> {
    let mut out = Vec::new();
    let mut takes = 0;
    for stitch in once {
        let loop_only = stitch.op.takes() == 0;
        if takes == rest && !(with_loops && loop_only) {
            break;
        }
        takes += stitch.op.takes();
        out.push(*stitch);
    }
    out
}

fn by_look(below: Below, seen: Seen) -> Op {
    match (below.face, seen) {
        (_, Seen::Slipped(slipped, other)) => {
            if below.slipped {
                slipped
            } else {
                other
            }
        }
        (_, Seen::Overs(over, other)) => {
            if below.over {
                over
            } else {
                other
            }
        }
        (_, Seen::SeamsKept) if below.over => Op::K,
        (_, Seen::Wound { second, .. }) if below.wound => second,
        (_, Seen::Wound { first, .. }) if below.wound_first => first,
        (_, Seen::Wound { other, .. }) => other,
        (Face::Plain, Seen::AsItShows | Seen::SeamsKept) | (Face::Purl, Seen::Against) => Op::K,
        (Face::Purl, Seen::AsItShows | Seen::SeamsKept) | (Face::Plain, Seen::Against) => Op::P,
        (Face::Open, Seen::SeamsKept) => Op::K,
        (Face::Open, _) => Op::P,
    }
}

/// The most loops of which a needle remembers how they were made. No needle holds so many; what nobody would knit is read
/// as if it were cast on.
pub const REMEMBERED: usize = 4_000;

/// The loops on the needle after a row, as the worker of the next row finds them; none of a needle that holds too many.
pub fn needle_after(ops: &[Stitch], before: &[Below], turned: bool) -> Vec<Below> {
    let mut taken = 0;
    let mut out = Vec::new();
    for stitch in ops {
        let below = before.get(taken).copied().unwrap_or(Below::CAST_ON);
        let face = if stitch.op.is_slip() { below.face } else { stitch.op.face() };
        taken += stitch.op.takes() as usize;
        let wound = matches!(stitch.op, Op::Yo2 | Op::Yo3);
        let over = wound || stitch.op == Op::Yo;
        // Turned, the loop wound last comes first.
        let first = if turned { stitch.op.makes().saturating_sub(1) } else { 0 };
        let decrease = is_decrease(stitch.op);
        let slipped = stitch.op.is_slip();
        let knot = if is_knot(stitch.op) { stitch.op.makes() } else { 0 };
        let below = |loop_| Below {
            face,
            wound: wound && loop_ != first,
            wound_first: wound && loop_ == first,
            over,
            decrease,
            slipped,
            knot,
        };
        out.extend((0..stitch.op.makes()).map(below));
    }
    // A stitch slipped at the beginning shows as the ground beside it.
    if let [first, second, ..] = ops
        && first.op.is_slip()
        && let Some(below) = out.first_mut()
    {
        below.face = second.op.face();
    }
    out.extend(before.iter().skip(taken).copied());
    effort::spend(out.len() / effort::LOOPS);
    if out.len() > REMEMBERED {
        return Vec::new();
    }
    if turned {
        out.reverse();
        out.iter_mut().for_each(|below| below.face = below.face.behind());
    }
    out
}

/// Nats against two stretches standing one after the other as they do: a thread brought forward makes a loop before a
/// knit stitch or a decrease, and only moves before a purl or a plain slip.
pub fn context_cost(before: &Seq, after: &Seq, lexicon: &notation::Lexicon) -> f64 {
    use notation::Context;
    let next = match after.first_item() {
        Item::Work(work) => work.ops.first().copied(),
        Item::Rest { op, .. } => Some(*op),
        _ => None,
    };
    let Some(next) = next else { return 0.0 };
    let plain_slip = next.is_slip();
    let purl = matches!(next, Op::P | Op::Ptbl);
    let context = |item: &Item| match item {
        Item::Work(work) => work.sense.and_then(|id| lexicon.sense(id).context),
        _ => None,
    };
    let (last, first) = (before.last_item(), after.first_item());
    let ahead = match (last, context(last)) {
        (_, Some(Context::Forward)) if plain_slip => 2.5,
        (_, Some(Context::Forward)) if purl => 1.0,
        (_, Some(side)) => beside(side, next),
        (Item::Move(notation::YarnTo::Front, _), _) if !plain_slip && !purl => 4.0,
        _ => 0.0,
    };
    let behind = match (last, context(first)) {
        (Item::Work(work), Some(side)) => work.ops.last().map_or(0.0, |op| beside(side, *op)),
        _ => 0.0,
    };
    ahead + behind
}

/// Nats against a term of plain rows beside a purled stitch, and of purled rows beside a plain one.
fn beside(context: notation::Context, op: Op) -> f64 {
    use notation::Context;
    const AMONG_OTHERS: f64 = 2.0;
    match (context, op) {
        (Context::Plain, Op::P) | (Context::Purled, Op::K) => AMONG_OTHERS,
        _ => 0.0,
    }
}

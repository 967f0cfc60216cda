//! From the words of an explanation to operations.
//!
//! Every word before the remarks must be covered by a phrase of the lexicon, by a turn of phrase that stands in
//! explanations, or be a word that tells nothing; else nothing is understood. Knows nothing of terms.

use std::collections::BTreeMap;
use std::ops::Range;

use loops::Op;
use notation::{Context, Lexicon, Meaning, Printed, Sense, YarnTo};

use super::by_rows::{ByRows, Worked};
use super::data::{DATA, Told};
use super::entries::{Entry, Link};
use crate::lexer::{Gap, Token, TokenKind};

/// The most operations that one term may stand for.
const MOST_OPS: usize = 6;

/// What an explanation says.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Understood {
    /// Operations, or a movement of the yarn.
    pub(super) meaning: Meaning,
    /// Where it holds, if not everywhere.
    pub(super) context: Option<Context>,
    /// One past the last token that was needed.
    pub(super) end: usize,
    /// Whether no remarks follow.
    pub(super) whole: bool,
    /// Whether it hangs on a term that the lexicon leaves open ("make one").
    pub(super) open: bool,
}

/// Reads explanations in one text.
pub(super) struct Explainer<'a> {
    tokens: &'a [Token],
    lexicon: &'a Lexicon,
    by_sense: Vec<Printed>,
    by_turn: Vec<Printed>,
    /// Answers that the book has given so far.
    answers: &'a BTreeMap<String, String>,
    /// How the rows of the book would be read, once its terms are known as far as their short forms go.
    rows: Option<ByRows<'a>>,
}

/// One thing told, in the order of the text.
#[derive(Clone, Debug, PartialEq)]
enum Event {
    Ops { ops: Vec<Op>, context: Option<Context>, open: bool },
    Move(YarnTo),
    Pass,
    GoesOn,
}

/// The longest phrase at a place.
struct Match {
    len: usize,
    event: Option<Event>,
    cut: bool,
}

/// Verbs of what is made or taken in, without how.
const VERBS: [&str; 6] = ["make", "take", "increase", "decrease", "widen", "lessen"];

/// Words of terms for a new stitch alone.
const MAKES: [&str; 6] = ["make", "made", "over", "increase", "widen", "forward"];

/// "Bring the wool forward, and knit the next": the next stitch is none of what is made.
fn without_the_next(mut told: Understood) -> Understood {
    if let Meaning::Stitches(ops) = &mut told.meaning
        && let [made @ .., Op::K | Op::Slp] = ops.as_slice()
        && !made.is_empty()
        && made.iter().all(|op| op.takes() == 0)
    {
        ops.pop();
    }
    told
}

impl<'a> Explainer<'a> {
    pub(super) fn new(
        tokens: &'a [Token],
        lexicon: &'a Lexicon,
        answers: &'a BTreeMap<String, String>,
        book: Option<&'a Lexicon>,
    ) -> Explainer<'a> {
        let by_sense = tokens.iter().map(|token| token.printed(lexicon.word(&token.text))).collect();
        let by_turn = tokens.iter().map(|token| token.printed(DATA.told.word(&token.text))).collect();
        let rows = book.and_then(|book| ByRows::new(tokens, book, answers));
        Explainer { tokens, lexicon, by_sense, by_turn, answers, rows }
    }

    /// How many stitches all of some tokens tell, read as a row; none where they tell no row.
    pub(super) fn works(&self, range: Range<usize>) -> usize {
        let worked = self.rows.as_ref().and_then(|rows| rows.work(range.clone()));
        worked.filter(|worked| worked.end == range.end).map_or(0, |worked| worked.ops.len())
    }

    /// What explains the terms of an entry. A letter stands for one stitch: what follows it in its sentence explains others
    /// ("o means over, and n, narrow").
    pub(super) fn explains(&self, entry: &Entry) -> Option<Understood> {
        // "St." is every stitch, and none.
        const ANY: [&str; 4] = ["st", "sts", "stitch", "stitches"];
        if entry.terms.iter().all(|term| term.words.iter().all(|word| ANY.contains(&word.as_str()))) {
            return None;
        }
        let letters = entry.terms.iter().all(|term| term.short);
        let short = letters.then(|| self.shortly(entry.explained.clone(), entry.link)).flatten();
        let told = short.or_else(|| self.told(entry.explained.clone(), entry.link))?;
        let makes =
            entry.terms.iter().all(|term| term.words.iter().any(|word| MAKES.contains(&word.as_str())));
        Some(if makes { without_the_next(told) } else { told })
    }

    /// What the tokens say: in the short forms of explanations, or else as a row would say it. Behind a comma a semicolon
    /// ends it: "o, over; n, narrow".
    pub(super) fn told(&self, range: Range<usize>, link: Link) -> Option<Understood> {
        let end = self.listed(range.clone(), link);
        let short = self.understand(range.clone());
        let words =
            |end: usize| self.tokens[end..range.end].iter().any(|token| token.kind == TokenKind::Word);
        if short.as_ref().is_some_and(|short| short.whole && !words(short.end)) {
            return short;
        }
        let Some(rows) = self.rows.as_ref() else { return short };
        let longer = rows.work(range.start..end).filter(|worked| {
            short.as_ref().is_none_or(|short| worked.end > short.end && !self.remarks(rows, short, worked))
        });
        let told = longer.map(|worked| Understood {
            meaning: Meaning::Stitches(worked.ops),
            context: None,
            end: worked.end,
            whole: worked.end == range.end,
            open: false,
        });
        told.or(short)
    }

    /// Where an explanation ends in a list: behind a comma at a semicolon.
    fn listed(&self, range: Range<usize>, link: Link) -> usize {
        let parts = |at: &usize| link == Link::Weak && self.tokens[*at].gap >= Gap::Semicolon;
        (range.start + 1..range.end).find(parts).unwrap_or(range.end)
    }

    /// What the tokens say in the short forms of explanations; what is whole before a semicolon, where that ends it.
    fn shortly(&self, range: Range<usize>, link: Link) -> Option<Understood> {
        let end = self.listed(range.clone(), link);
        let how = || self.what_for(range.clone(), &[Gap::Colon]);
        let alone = || self.understand(range.start..end).filter(|told| told.whole);
        how().or_else(|| self.spelled_out(&range)).or_else(alone).or_else(|| self.understand(range.clone()))
    }

    /// "Bring the wool forward before the next one is knitted": whether what is read as a row is the short form with its
    /// remarks.
    fn remarks(&self, rows: &ByRows<'_>, short: &Understood, worked: &Worked) -> bool {
        let begins = matches!(&short.meaning, Meaning::Stitches(ops) if worked.ops.starts_with(ops));
        let bracketed = self.tokens.get(short.end).is_some_and(|next| next.kind != TokenKind::Word);
        begins && (bracketed || rows.cuts(short.end))
    }

    /// What the tokens say, or as many of them from the first as make a whole explanation.
    pub(super) fn understand(&self, range: Range<usize>) -> Option<Understood> {
        let opened = range.clone().find(|&at| self.tokens[at].kind == TokenKind::Open);
        if let Some(open) = opened {
            let close =
                (open..range.end).find(|&at| self.tokens[at].kind == TokenKind::Close).unwrap_or(range.end);
            let inside = self.shrinking(open + 1..close);
            let outside = self.shrinking(range.start..open);
            // What stands in brackets explains what stands before them.
            let told = match (inside, outside) {
                (Some(inside), Some(outside)) if outside.end == open => {
                    Some(Understood { end: close, ..inside })
                }
                (_, Some(outside)) => Some(outside),
                (Some(inside), None) if open == range.start => Some(Understood { end: close, ..inside }),
                _ => None,
            };
            if told.is_some() {
                return told;
            }
        }
        self.said_again(range.clone())
            .or_else(|| self.that_is(range.clone()))
            .or_else(|| self.named_first(range.clone()))
            .or_else(|| self.shrinking(range))
    }

    /// "A decrease, which is: knit two together": what stands behind the colon, where all before it is understood too.
    fn said_again(&self, range: Range<usize>) -> Option<Understood> {
        let colon = self.colon(&range)?;
        let before = self.scan(range.start..colon)?;
        self.shrinking(colon..range.end).filter(|_| before.whole)
    }

    /// "The double take in: slip one, knit two together, and pass it over": how, behind a name in full, which a colon, a full
    /// stop or "that is" ends.
    fn spelled_out(&self, range: &Range<usize>) -> Option<Understood> {
        const LONGEST: usize = 6;
        let told = |at: usize| self.scan(at..range.end).filter(|told| told.whole && told.end == range.end);
        let named = |at: &usize| at - range.start <= LONGEST;
        if let Some(colon) = self.colon(range).filter(named) {
            let several = (colon + 1..range.end).any(|at| self.tokens[at].gap == Gap::Comma);
            return told(colon).filter(|_| several);
        }
        let sentence = |at: &usize| self.tokens[*at].gap >= Gap::Period;
        let apart = (range.start + 1..range.end).find(sentence).or_else(|| self.behind_that_is(range));
        apart.filter(named).and_then(told)
    }

    fn colon(&self, range: &Range<usize>) -> Option<usize> {
        (range.start + 1..range.end).find(|&at| self.tokens[at].gap == Gap::Colon)
    }

    /// "A decrease the other way, that is, slip one, knit one, and pass it over."
    fn that_is(&self, range: Range<usize>) -> Option<Understood> {
        let begins = self.behind_that_is(&range)?;
        self.shrinking(begins..range.end)
    }

    fn behind_that_is(&self, range: &Range<usize>) -> Option<usize> {
        let says = |at: &usize| {
            self.tokens[*at].text == "is"
                && self.tokens[*at - 1].text == "that"
                && self.tokens[*at - 1].gap >= Gap::Comma
        };
        (range.start + 2..range.end).find(says).map(|is| is + 1)
    }

    /// "Make, by bringing the wool forward": what follows the name of the thing, whether or not the name is known.
    fn named_first(&self, range: Range<usize>) -> Option<Understood> {
        const LONGEST: usize = 8;
        let first = range.clone().find(|&at| self.tokens[at].text != "to")?;
        if !VERBS.contains(&self.tokens[first].text.as_str()) {
            return None;
        }
        let by = |at: &usize| {
            matches!(self.tokens[*at].text.as_str(), "by" | "thus") && self.tokens[*at].gap == Gap::Comma
        };
        let by = (range.start + 1..range.end).take(LONGEST).find(by)?;
        self.shrinking(by + 1..range.end)
    }

    /// Tries the whole range, then what stands before its last parting gap, and so on.
    fn shrinking(&self, range: Range<usize>) -> Option<Understood> {
        let parts = |at: &usize| self.tokens[*at].gap >= Gap::Semicolon;
        let shorter = (range.start + 1..range.end).rev().filter(parts).find_map(|end| {
            let told = self.scan(range.start..end)?;
            Some(Understood { whole: false, ..told })
        });
        let how = || self.what_for(range.clone(), &[Gap::Semicolon]);
        self.scan(range.clone()).or_else(how).or(shorter)
    }

    /// "Take in two at once; slip one, knit two together, and pass it over": what for, and behind one of some gaps how.
    fn what_for(&self, range: Range<usize>, gaps: &[Gap]) -> Option<Understood> {
        const LONGEST: usize = 6;
        let named = VERBS.contains(&self.tokens.get(range.start)?.text.as_str());
        let parts = |at: &usize| gaps.contains(&self.tokens[*at].gap);
        let how = (range.start + 1..range.end).take(LONGEST).find(parts).filter(|_| named)?;
        let ends = (how + 1..range.end).filter(|at| self.tokens[*at].gap >= Gap::Semicolon);
        let mut shorter = ends.chain([range.end]);
        shorter.find_map(|end| self.scan(how..end).filter(|told| told.whole))
    }

    fn scan(&self, range: Range<usize>) -> Option<Understood> {
        let mut events: Vec<Event> = Vec::new();
        let mut at = range.start;
        let mut end = range.start;
        let mut or = false;
        let mut whole = true;
        while at < range.end {
            let found = self.best(at, range.end);
            let filler =
                DATA.filler.contains(&self.tokens[at].text) || self.tokens[at].kind != TokenKind::Word;
            match found {
                // "An over before every stitch" is more than an over.
                Some(found) if found.cut && !events.is_empty() && self.in_each(at + 1) => return None,
                Some(found) if found.cut && !events.is_empty() => {
                    whole = false;
                    break;
                }
                Some(found) if !found.cut => {
                    at += found.len;
                    end = at;
                    // "to lessen by ..." only says what for.
                    let by = |token: &Token| token.text == "by" && token.gap < Gap::Comma;
                    let heading = at < range.end && by(&self.tokens[at]) && events.is_empty();
                    events.extend(found.event.filter(|_| !heading));
                }
                _ if filler => {
                    or |= self.tokens[at].text == "or";
                    at += 1;
                }
                _ => return None,
            }
        }
        let open = events.iter().any(|event| matches!(event, Event::Ops { open: true, .. }));
        let (meaning, context) = settle(events, or)?;
        Some(Understood { meaning, context, end, whole, open })
    }

    fn in_each(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|token| matches!(token.text.as_str(), "every" | "each"))
    }

    fn best(&self, at: usize, end: usize) -> Option<Match> {
        let mut best: Option<Match> = None;
        DATA.told.matches(&self.by_turn, at, &mut |found| {
            if at + found.len > end || best.as_ref().is_some_and(|best| best.len >= found.len) {
                return;
            }
            let told = DATA.telling(found.entry);
            let event = match told {
                Told::Ops(ops) => Some(Event::Ops { ops: ops.clone(), context: None, open: false }),
                Told::Make(op) => Some(self.make(*op)),
                Told::Pass => Some(Event::Pass),
                Told::GoesOn => Some(Event::GoesOn),
                Told::Nothing | Told::Cut => None,
            };
            best = Some(Match { len: found.len, event, cut: *told == Told::Cut });
        });
        let sense = self.best_sense(at, end);
        match (best, sense) {
            (Some(turn), Some((len, event))) if len > turn.len || turn.cut && len == turn.len => {
                Some(Match { len, event: Some(event), cut: false })
            }
            (None, Some((len, event))) => Some(Match { len, event: Some(event), cut: false }),
            (turn, _) => turn,
        }
    }

    /// `make one` is what the book says of it elsewhere.
    fn make(&self, usual: Op) -> Event {
        let lifted = self.answers.get("make").is_some_and(|answer| answer == "lifted");
        Event::Ops { ops: vec![if lifted { Op::M1 } else { usual }], context: None, open: true }
    }

    /// The longest phrase of the lexicon; among those as long the cheapest that fits the book's answers.
    fn best_sense(&self, at: usize, end: usize) -> Option<(usize, Event)> {
        let mut found = Vec::new();
        self.lexicon.matches(&self.by_sense, at, &mut found);
        let mut best: Option<(usize, f64, Event)> = None;
        for (one, id) in found {
            let sense = self.lexicon.sense(id);
            let agrees = sense.choice.as_ref().is_none_or(|(question, answer)| {
                question != "brioche" && self.answers.get(question).is_none_or(|given| given == answer)
            });
            let value =
                |slot: Option<u16>| slot.and_then(|offset| self.by_sense[at + usize::from(offset)].value());
            let Some(event) = event(sense, one.numbers.map(value)) else { continue };
            let cost = sense.cost + if matches!(event, Event::Move(_)) { 0.5 } else { 0.0 };
            let better = best
                .as_ref()
                .is_none_or(|(len, least, _)| one.len > *len || one.len == *len && cost < *least);
            if agrees && at + one.len <= end && better {
                best = Some((one.len, cost, event));
            }
        }
        best.map(|(len, _, event)| (len, event))
    }
}

fn event(sense: &Sense, numbers: [Option<u32>; 2]) -> Option<Event> {
    let open = sense.choice.is_some();
    match &sense.meaning {
        Meaning::Row(op) => Some(Event::Ops { ops: vec![*op], context: None, open }),
        Meaning::Rest(_) => None,
        Meaning::Move(to) => Some(Event::Move(*to)),
        Meaning::Stitches(_) | Meaning::Family(_) => {
            let (ops, times) = sense.meaning.ops(numbers)?;
            let times =
                usize::try_from(times).ok().filter(|times| ops.len().saturating_mul(*times) <= MOST_OPS)?;
            Some(Event::Ops { ops: ops.repeat(times), context: sense.context, open })
        }
    }
}

/// One meaning out of all that was told; `None` where it is not one.
fn settle(mut events: Vec<Event>, or: bool) -> Option<(Meaning, Option<Context>)> {
    if events.contains(&Event::Pass) {
        return passed_over(&events).map(|op| (Meaning::Stitches(vec![op]), None));
    }
    events.retain(|event| *event != Event::GoesOn);
    events.dedup_by(|a, b| !ops_of(a).is_empty() && ops_of(a) == ops_of(b));
    // "A fagot, that is: over, purl two together" tells one thing in two ways.
    if events.len() > 1 && ops_of(&events[0]) == flat(&events[1..]) {
        events.truncate(1);
    }
    match events.as_slice() {
        // Several slipped stitches are the beginning of something that is not understood, as of a crossing.
        [Event::Ops { ops, .. }] if ops.len() > 1 && ops.iter().all(|op| *op == Op::Slp) => None,
        [Event::Ops { ops, context, .. }] => Some((Meaning::Stitches(ops.clone()), *context)),
        [Event::Move(to)] => Some((Meaning::Move(*to), None)),
        [] | [_] => None,
        several if or || several.iter().any(|event| ops_of(event).is_empty()) => None,
        several => {
            let ops = flat(several);
            (ops.len() <= MOST_OPS).then_some((Meaning::Stitches(ops), None))
        }
    }
}

fn ops_of(event: &Event) -> &[Op] {
    if let Event::Ops { ops, .. } = event { ops } else { &[] }
}

fn flat(events: &[Event]) -> Vec<Op> {
    events.iter().flat_map(ops_of).copied().collect()
}

/// The operation told as drawing one stitch over another.
fn passed_over(events: &[Event]) -> Option<Op> {
    let at = events.iter().position(|event| *event == Event::Pass)?;
    // Knit, pass over, knit, pass over, and so on: casting off.
    let before = flat(&events[..at]);
    if events.len() > at + 1 {
        return (!before.is_empty()).then_some(Op::Bo);
    }
    Some(match before.as_slice() {
        [Op::Slp | Op::Slk, Op::K] => Op::Skp,
        [Op::Slp | Op::Slk, Op::P] => Op::Spp,
        [Op::Slp | Op::Slk, Op::K2tog] => Op::Sk2p,
        [Op::Slp | Op::Slk, Op::P2tog] => Op::Sp2p,
        [Op::Slp | Op::Slk, Op::K3tog] | [Op::Slp | Op::Slk, Op::Slp | Op::Slk, Op::K2tog] => Op::K4tog,
        [Op::Slp | Op::Slk, Op::Slp | Op::Slk, Op::K3tog] => Op::K5tog,
        [Op::Slp | Op::Slk, Op::K, Op::K] => Op::S1k2po,
        [Op::Slp | Op::Slk, Op::Slp | Op::Slk, Op::K] => Op::S2kp,
        [Op::K, Op::K] => Op::Bo,
        _ => return None,
    })
}

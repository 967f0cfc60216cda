//! Rows that changed places, or were set again, known by their names where no reading has them.
//!
//! Where rows changed about leave words that are no sense ("purl. Repeat from *"), or a row is set in the words of another,
//! the row is not among those read, but its name is printed. What comes of changing its words back is found out by
//! reading, and never sure: another row may have been meant.

use reading::{Reading, Token, TokenKind};
use span::Span;

use crate::class::{Class, MISPRINT};
use crate::draft::Draft;
use crate::moved::{exchanged, meet, troubled};
use crate::named::{Body, bodies_by_name};
use crate::patch::Patch;
use crate::trouble::Trouble;
use crate::whole::row_of;
use crate::words::Words;

/// How many rows further on one may stand that another changed places with, or that is set again in place of another.
const AWAY: usize = 2;
/// How many rows from one that is half read or does not come out are looked at.
const NEAR: usize = 3;
/// How many rows away one may stand that another was printed in place of.
const REACH: usize = 8;
/// Nats against words of another row put where one is set again, of which nothing tells which they were.
const ANY_ROW: f64 = 1.0;
/// Words that stand in more rows than these are the manner of the pattern.
const MANNER: usize = 2;

/// Rows changed back where rows are not understood or do not come out: two that changed places, and one of two that are
/// told in the same words. The likeliest first.
pub fn strayed_rows(reading: &Reading, troubles: &[Trouble], words: &Words<'_>) -> Vec<Draft> {
    let rows = Rows::of(reading, troubles, words);
    let mut ranked = rows.changed_about();
    ranked.extend(rows.set_again());
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    ranked.into_iter().map(|(_, draft)| draft).collect()
}

/// A draft, with how far from likely it is; only the order counts.
type Ranked = (f64, Draft);

/// The rows of a text told in their own words, with those that something is amiss with.
struct Rows<'a> {
    reading: &'a Reading,
    words: &'a Words<'a>,
    bodies: Vec<Body>,
    /// How many rows away the nearest is that is not understood or does not come out.
    away: Vec<usize>,
}

impl<'a> Rows<'a> {
    fn of(reading: &'a Reading, troubles: &[Trouble], words: &'a Words<'a>) -> Rows<'a> {
        let mut bodies = bodies_by_name(reading, words);
        bodies.retain(|body| body.named && !refers(words.within(body.sentence)));
        let amiss: Vec<Span> =
            troubled(reading, troubles.iter()).chain(reading.unread.iter().copied()).collect();
        let meets = |body: &Body| amiss.iter().any(|span| meet(body.extent, *span));
        let mut suspect: Vec<bool> = bodies.iter().map(meets).collect();
        // Where nothing tells the row, it may be any.
        if !suspect.contains(&true) {
            suspect.fill(true);
        }
        let nearest = |at: usize| {
            (0..suspect.len()).filter(|other| suspect[*other]).map(|other| other.abs_diff(at)).min()
        };
        let away = (0..bodies.len()).map(|at| nearest(at).unwrap_or(usize::MAX)).collect();
        Rows { reading, words, bodies, away }
    }

    /// Two rows near one another, with how far they are from what is amiss.
    fn pairs(&self) -> impl Iterator<Item = (usize, usize, usize)> + '_ {
        let pairs = (0..self.bodies.len()).flat_map(|one| (one + 1..=one + AWAY).map(move |two| (one, two)));
        let pairs = pairs.filter(|(_, two)| *two < self.bodies.len());
        pairs.map(|(one, two)| (one, two, self.away[one].min(self.away[two]))).filter(|pair| pair.2 <= NEAR)
    }

    fn changed_about(&self) -> Vec<Ranked> {
        let mut out = Vec::new();
        for (one, two, away) in self.pairs() {
            let unlike = self.unlike(one, two);
            for (at, pair) in self.stretches(&self.bodies[one], &self.bodies[two]).into_iter().enumerate() {
                let rank = (away + at + two - one) as f64 + unlike;
                let draft = exchanged(self.reading, pair, Class::Rows.cost(), self.words);
                out.extend(draft.map(|draft| (rank, Draft { doubtful: true, ..draft })));
            }
        }
        out
    }

    /// How unlike in length two rows are.
    fn unlike(&self, one: usize, two: usize) -> f64 {
        let length = |at: usize| self.bodies[at].sentence.range().len().max(1) as f64;
        (length(one) / length(two)).log2().abs() / 2.0
    }

    /// The words that may have changed places between two rows: a mark may have stayed where it stood, and more than one
    /// sentence may have moved.
    fn stretches(&self, one: &Body, two: &Body) -> Vec<(Span, Span)> {
        let mut out = vec![
            (self.bare(one.sentence), self.bare(two.sentence)),
            (one.sentence, two.sentence),
            (one.all, two.all),
        ];
        if self.bare(one.sentence).start == one.sentence.start
            && self.bare(two.sentence).start == two.sentence.start
        {
            out.remove(1);
        }
        out.dedup();
        out
    }

    /// The words behind a mark.
    fn bare(&self, body: Span) -> Span {
        let tokens = self.words.within(body);
        let mark = tokens.iter().take_while(|token| token.kind == TokenKind::Star).count();
        Span { start: tokens.get(mark).map_or(body.start, |token| token.span.start), end: body.end }
    }

    /// The words of other rows in the place of one that is told in the words of a row near it.
    fn set_again(&self) -> Vec<Ranked> {
        let mut out = Vec::new();
        for (one, two, away) in self.pairs().filter(|(one, two, _)| self.is_again(*one, *two)) {
            for row in [two, one] {
                for other in (0..self.bodies.len()).filter(|other| other.abs_diff(row) <= REACH) {
                    // Rows of the same side are likelier.
                    let rank = (away + 1 + other.abs_diff(row) / 2) as f64
                        + f64::from(u8::from(other.abs_diff(row) % 2 > 0));
                    out.extend(self.told_as(row, other).map(|draft| (rank, draft)));
                }
            }
        }
        out
    }

    /// Whether two rows are told in the same words, which is not the manner of the pattern.
    fn is_again(&self, one: usize, two: usize) -> bool {
        let told = |at: usize| self.bare(self.bodies[at].sentence).of(self.words.text);
        let alike = |at: &usize| told(*at).eq_ignore_ascii_case(told(one));
        alike(&two) && (one + 1 == two || (0..self.bodies.len()).filter(alike).count() <= MANNER)
    }

    /// A row in the words of another.
    fn told_as(&self, row: usize, other: usize) -> Option<Draft> {
        let (printed, meant) = (
            self.bare(self.bodies[row].sentence),
            self.bare(self.bodies[other].sentence).of(self.words.text),
        );
        let changes = !printed.of(self.words.text).eq_ignore_ascii_case(meant);
        changes.then(|| Draft {
            cost: MISPRINT + Class::Rows.cost() + ANY_ROW,
            row: row_of(self.reading, printed).unwrap_or_default(),
            patches: vec![Patch::new(printed, meant)],
            why: None,
            doubtful: true,
        })
    }
}

/// Whether words refer to another row: "like the 4th", "the same as the last".
fn refers(body: &[Token]) -> bool {
    const REFER: [&str; 4] = ["like", "as", "same", "repeat"];
    const FIRST: usize = 3;
    body.iter().take(FIRST).any(|token| REFER.contains(&token.text.as_str()))
}

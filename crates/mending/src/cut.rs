//! Repeats cut short where the stitches run out, and what speaks against them.
//!
//! Old books cut repeats short without a word. It is unlikely where the text says what the stitches divide by, where
//! the repeats of other rows come out evenly, or where the row is simply too short.

use reading::{Fit, Item, PieceReading, Seq, Until};

/// Nats against a repeat cut short that no word marks as one and that is worked but once: the row is simply too short.
const CUT_ONCE: f64 = 9.0;
/// Nats against a repeat cut short where the text says what the stitches divide by.
const CUT_DIVIDES: f64 = 7.0;
/// Nats against a repeat cut short whose words refer to a mark that is not there; what costs as much cannot be meant.
pub const CUT_UNMARKED: f64 = 6.0;
/// Nats against a repeat cut short before stitches that are told for the end of the row.
const CUT_ENDED: f64 = 6.0;
/// Nats against a repeat cut short on another number than was cast on.
const CUT_LATER: f64 = 4.5;
/// Nats against a repeat cut short where those of other rows come out evenly.
const CUT_ALONE: f64 = 3.0;
/// Nats against any other repeat cut short, beyond those that the reader counts.
pub const CUT: f64 = 1.0;

/// What a piece says of its width.
#[derive(Clone, Copy, Debug)]
pub struct Home {
    /// The number cast on.
    count: u32,
    /// Whether the text says what it divides by.
    divides: bool,
    /// The stitches that it says are over.
    over: u32,
    /// Whether the repeat of some row comes out evenly.
    pub even: bool,
}

/// How the words tell the open repeat of a row.
#[derive(Clone, Copy, Debug)]
pub struct Repeat {
    /// No words say that it is repeated.
    unsaid: bool,
    /// They refer to a mark that is not there.
    unmarked: bool,
    /// Stitches follow that are told for the end of the row.
    ended: bool,
    /// The stitches that one round takes, and those that stand outside the repeat.
    unit: u32,
    outside: u32,
}

impl Repeat {
    /// That of a row.
    pub fn of(seq: &Seq, text: &str) -> Repeat {
        let items = seq.items();
        let open = items.iter().position(|item| matches!(item, Item::Group { until, .. } if is_open(*until)));
        let (unsaid, unmarked) = match open.map(|at| &items[at]) {
            Some(Item::Group { body, span, .. }) => {
                (span.is_detached(), lacks_mark(body.span().range().start, span.of(text), text))
            }
            _ => (false, false),
        };
        let unit = seq.open_group().map_or(0, |body| body.shape().fixed.takes);
        let outside = seq.shape().fixed.takes;
        Repeat { unsaid, unmarked, ended: open.is_some_and(|at| at + 1 < items.len()), unit, outside }
    }
}

impl Repeat {
    /// The stitches of so many that are left behind so many rounds.
    fn leaves(&self, rounds: u32, count: u32) -> u32 {
        count.saturating_sub(self.outside).saturating_sub(rounds.saturating_mul(self.unit))
    }
}

impl Home {
    /// Looks over a piece.
    pub fn of(piece: &PieceReading) -> Home {
        let mut rows = piece.chain.iter().zip(&piece.path.rows);
        let even = rows.any(|(row, chosen)| {
            let open = row.candidates[chosen.candidate].seq.open_group().is_some();
            open && !chosen.fault && chosen.fit.cut.is_none() && chosen.fit.rounds > 1
        });
        let divides = piece.plan.cast_on.of.is_some_and(|of| of > 1);
        Home { count: piece.path.start, divides, over: piece.plan.cast_on.plus, even }
    }

    /// Nats against a repeat cut short on `count` stitches, beyond those that the reader counts.
    pub fn cut_cost(&self, seq: &Seq, fit: &Fit, count: u32, text: &str) -> f64 {
        if fit.cut.is_none() { 0.0 } else { self.strain(&Repeat::of(seq, text), fit.rounds, count) }
    }

    /// Nats against cutting a repeat short that is worked so often on `count` stitches.
    pub fn strain(&self, repeat: &Repeat, rounds: u32, count: u32) -> f64 {
        match repeat {
            Repeat { unsaid: true, .. } if rounds <= 1 => CUT_ONCE,
            Repeat { unmarked: true, .. } => CUT_UNMARKED,
            // Only the stitches that the text says are over stand behind the last round.
            Repeat { ended: false, .. } if self.divides && repeat.leaves(rounds, count) == self.over => {
                CUT_ALONE
            }
            _ if self.divides => CUT_DIVIDES,
            Repeat { ended: true, .. } => CUT_ENDED,
            _ if count != self.count => CUT_LATER,
            _ if self.even => CUT_ALONE,
            _ => CUT,
        }
    }
}

fn is_open(until: Until) -> bool {
    matches!(until, Until::End | Until::Left(_))
}

/// The marks that books set where a repeat begins.
pub const MARKS: [char; 5] = ['*', '†', '‡', '#', '+'];

/// Whether the words of a repeat refer to a star and none stands where the repeat begins.
pub fn lacks_mark(begins: usize, said: &str, text: &str) -> bool {
    let before = text.get(..begins).unwrap_or("").trim_end_matches([' ', '\n', '(', '[', ',']);
    said.contains('*') && !before.ends_with(MARKS)
}

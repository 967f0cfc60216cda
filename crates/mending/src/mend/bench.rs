//! What a correction is judged against, and how one is tried: the corrected text is read, and what it costs and leaves
//! amiss is set beside the print.
//!
//! Knows no place where a correction comes from.

use loops::tokens;
use reading::{Options, PieceReading, Reader, Reading, StatementKind, Study, Token, TokenKind};
use span::Span;

use crate::draft::Draft;
use crate::face;
use crate::patch::{Patch, Patched, apply};
use crate::purse::{Purse, Shares};
use crate::referred;
use crate::regular::{Card, card};
use crate::rows::{is_flat, profiles, standing, unsaid_repeats};
use crate::ruling::Orders;
use crate::trouble::{Trouble, troubles_in};
use crate::whole;
use crate::words::Words;
use crate::wound;

use super::weight::Standing;

/// Nats against words of the craft that are not understood, for each stretch of them, beyond those that the reader counts.
const NOT_UNDERSTOOD: f64 = 5.0;
/// Nats against a row that is worked across again and again with no word on it, where it was not as printed.
const UNSAID: f64 = 3.0;
/// The most that such rows may speak against a correction, in nats.
const UNSAID_MOST: f64 = 9.0;

/// The least that regularity may speak for a correction, in nats, and the most before more of it counts little.
const EVIDENCE: (f64, f64) = (-5.0, 10.0);
/// How much of what is beyond that counts: corrections that much speaks for differ in it all the same. Guess.
const BEYOND: f64 = 0.25;

/// Short words of any text that are words of some phrase of the craft as well.
const COMMON: [&str; 20] = [
    "a", "an", "as", "at", "be", "by", "if", "in", "is", "it", "no", "of", "on", "or", "so", "to", "up",
    "we", "you", "one",
];

/// What is searched, and how.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    pub(super) text: &'a str,
    pub(super) options: &'a Options,
    pub(super) orders: &'a Orders<'a>,
    /// What the search may spend.
    pub(super) purse: &'a Purse,
    /// Whether a correction of the text may be offered.
    pub(super) allows: &'a dyn Fn(&Patch) -> bool,
}

/// What a correction is judged against.
pub(super) struct Bench<'a> {
    pub(super) reader: &'a Reader,
    pub(super) study: &'a Study<'a>,
    pub(super) asked: Asked<'a>,
    pub(super) words: &'a Words<'a>,
    pub(super) options: Options,
    /// What may be spent on the stages of the search.
    pub(super) shares: Shares,
    pub(super) printed: &'a Reading,
    pub(super) troubles: Vec<Trouble>,
    pub(super) cost: f64,
    pub(super) cards: Vec<Card>,
    /// Nats against what is odd in the print.
    pub(super) odd: f64,
}

/// Corrections that go together, not yet tried.
#[derive(Clone, Debug)]
pub struct Guess {
    /// The corrections.
    pub drafts: Vec<Draft>,
    /// Nats against them and what they give, as far as known.
    pub rank: f64,
    /// The piece and row that the first of them stands in.
    pub place: Option<(usize, usize)>,
}

impl Guess {
    pub(super) fn patches(&self) -> Vec<Patch> {
        self.drafts.iter().flat_map(|draft| draft.patches.iter().cloned()).collect()
    }
}

/// Corrections with the text that they give, read.
pub(super) struct Trial {
    pub(super) guess: Guess,
    pub(super) reading: Reading,
    pub(super) cost: f64,
    /// What does not come out.
    pub(super) troubles: usize,
    /// Of that, what is sure to be wrong.
    pub(super) hard: usize,
    /// Stretches that are not understood.
    pub(super) unread: usize,
    pub(super) outcome: u64,
}

impl<'a> Bench<'a> {
    pub(super) fn new(
        study: &'a Study<'a>,
        asked: Asked<'a>,
        words: &'a Words<'a>,
        printed: &'a Reading,
        (options, shares): (Options, Shares),
    ) -> Bench<'a> {
        let troubles = troubles_in(printed, words);
        let reader = study.reader();
        let unread = unread_craft(reader, printed, words);
        let cost = printed.cost + troubles.iter().map(Trouble::cost).sum::<f64>() + unread;
        let cards = printed.pieces.iter().map(|piece| card(&profiles(piece), is_flat(piece))).collect();
        let odd = oddities(printed);
        Bench { reader, study, asked, words, options, shares, printed, troubles, cost, cards, odd }
    }

    /// Whether nothing speaks of a misprint but perhaps a broken regularity.
    pub(super) fn comes_out(&self) -> bool {
        self.troubles.is_empty() && !self.printed.pieces.iter().any(strains) && self.printed.unread.is_empty()
    }

    /// Whether a trial is better than the print.
    pub(super) fn mends(&self, trial: &Trial) -> bool {
        let printed = Standing {
            cost: self.cost,
            troubles: self.troubles.len(),
            hard: self.troubles.iter().filter(|trouble| trouble.is_hard()).count(),
            unread: self.printed.unread.len(),
        };
        let (cost, troubles, hard, unread) = (trial.cost, trial.troubles, trial.hard, trial.unread);
        printed.is_mended_by(&Standing { cost, troubles, hard, unread })
    }

    /// Reads the text that a guess gives, unless the user has decided otherwise or waits no longer, or so much is spent.
    pub(super) fn attempt(&self, guess: Guess, options: &Options, share: f64) -> Option<Trial> {
        let is_open =
            |draft: &Draft| draft.joined(self.words.text).iter().all(|patch| (self.asked.allows)(patch));
        if self.asked.orders.stopped() || !guess.drafts.iter().all(is_open) {
            return None;
        }
        let patched = self.patched(&guess).filter(|_| self.asked.purse.lasts(share))?;
        let words = Words::new(&patched.text);
        let reading = self.study.read_tokens(&patched.text, words.tokens().to_vec(), options);
        let apart = told_apart(self.reader, &reading, &words).len();
        let left = troubles_in(&reading, &words);
        let spent: f64 = guess.drafts.iter().map(|draft| draft.cost).sum();
        let unread = unread_craft(self.reader, &reading, &words) + NOT_UNDERSTOOD * apart as f64;
        let cost = reading.cost + spent + unread + left.iter().map(Trouble::cost).sum::<f64>()
            - self.evidence(&reading, guess.drafts.len())
            + self.strained(&reading);
        let hard = left.iter().filter(|trouble| trouble.is_hard()).count();
        let unread = reading.unread.len() + apart;
        Some(Trial { outcome: outcome(&reading), troubles: left.len(), hard, unread, guess, reading, cost })
    }

    pub(super) fn patched(&self, guess: &Guess) -> Option<Patched> {
        apply(self.words.text, &guess.patches())
    }

    /// What regularity says of a corrected reading.
    pub(super) fn evidence(&self, reading: &Reading, corrections: usize) -> f64 {
        let cards = reading.pieces.iter().map(|piece| card(&profiles(piece), is_flat(piece)));
        let gain: f64 = self.cards.iter().zip(cards).map(|(before, after)| before.gain(&after)).sum();
        bounded(gain + self.odd - oddities(reading), corrections)
    }

    /// Nats against rows that only a correction brings to be worked across again and again.
    fn strained(&self, reading: &Reading) -> f64 {
        let unsaid = |reading: &Reading| reading.pieces.iter().map(unsaid_repeats).sum::<usize>() as f64;
        (UNSAID * (unsaid(reading) - unsaid(self.printed))).clamp(0.0, UNSAID_MOST)
    }
}

/// What regularity may speak for so many corrections, of what they gain.
pub(super) fn bounded(gain: f64, corrections: usize) -> f64 {
    let most = EVIDENCE.1 * corrections as f64;
    gain.clamp(EVIDENCE.0, most) + BEYOND * (gain - most).max(0.0)
}

/// Nats against what is odd in the cloth of a reading, or in the order of rows that come back.
pub(super) fn oddities(reading: &Reading) -> f64 {
    let cloth = reading.pieces.iter().map(|piece| {
        let rows = standing(piece);
        face::cost(&rows) + wound::cost(&rows)
    });
    cloth.sum::<f64>() + referred::cost(reading)
}

/// Whether a token is a verb of stitches, or an abbreviation that the lexicon has.
pub(super) fn names_a_stitch(reader: &Reader, token: &Token) -> bool {
    const VERBS: [&str; 14] = [
        "knit", "purl", "pearl", "seam", "plain", "slip", "narrow", "over", "bind", "reversed", "make",
        "rib", "widen", "increase",
    ];
    let short = token.text.len() <= 2 && token.number.is_none();
    let letter = short && reader.lexicon().word(&token.text).is_some();
    !COMMON.contains(&token.text.as_str()) && (letter || VERBS.contains(&token.text.as_str()))
}

/// Whether a token names a stitch or a row.
pub(super) fn is_of_rows(reader: &Reader, token: &Token) -> bool {
    names_a_stitch(reader, token) || whole::ROW_WORDS.contains(&token.text.as_str())
}

/// Nats against the words of the craft that a reading leaves aside.
fn unread_craft(reader: &Reader, reading: &Reading, words: &Words<'_>) -> f64 {
    let craft = |span: &&Span| words.within(**span).iter().any(|token| is_of_rows(reader, token));
    NOT_UNDERSTOOD * reading.unread.iter().filter(craft).count() as f64
}

/// Whether words, but for some of them, are all of the craft, as those about a misprint are, and those of a remark mostly
/// are not.
pub(super) fn is_of_the_craft(reader: &Reader, tokens: &[Token], but: Span) -> bool {
    let known = |token: &Token| {
        let bare = token.kind != TokenKind::Word || token.number.is_some() || token.ordinal.is_some();
        bare || but.covers(token.span) || reader.knows(&token.text)
    };
    tokens.iter().all(known) && tokens.iter().any(|token| is_of_rows(reader, token))
}

/// Words of the craft before and behind the rows that were not understood: a row that a misprint has left without sense is
/// no row, and where it is the first or the last it stands among none.
fn told_apart(reader: &Reader, reading: &Reading, words: &Words<'_>) -> Vec<Span> {
    let apart = reading.statements.iter().filter(|told| matches!(told.kind, StatementKind::Unread));
    let spans = apart.map(|told| told.span).filter(|span| !reading.unread.contains(span));
    spans.filter(|span| is_of_the_craft(reader, words.within(*span), Span::DETACHED)).collect()
}

/// A reading with the words of the craft before and behind its rows among those that were not understood.
pub(super) fn with_words_apart(reader: &Reader, mut reading: Reading, words: &Words<'_>) -> Reading {
    let apart = told_apart(reader, &reading, words);
    reading.unread.extend(apart);
    reading.unread.sort();
    reading
}

/// Whether a piece is read only by a shift that a misprint may stand behind: a repeat cut short, edges nowhere said, words
/// passed over.
pub(super) fn strains(piece: &PieceReading) -> bool {
    piece.plan.edges > 0 && !piece.plan.edges_said
        || piece.path.rows.iter().any(|row| row.fit.cut.is_some())
        || whole::dearly_read(piece).next().is_some()
}

/// A mark of the program that a reading gives; two readings with the same stitches have the same.
pub fn outcome(reading: &Reading) -> u64 {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let mut hasher = DefaultHasher::new();
    for piece in &reading.pieces {
        (piece.piece.cast_on, piece.plan.cast_on.of, piece.worked.rows.len()).hash(&mut hasher);
        for (row, planned) in piece.worked.rows.iter().zip(&piece.plan.rows) {
            tokens(&row.ops).hash(&mut hasher);
            planned.stated.map(|(stated, _)| stated).hash(&mut hasher);
        }
    }
    hasher.finish()
}

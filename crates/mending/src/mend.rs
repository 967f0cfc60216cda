//! From a text to its corrections: read, search, weigh, try.
//!
//! ```text
//! text ─ reader ─▶ reading ─ trouble ─▶ what does not come out
//!                     │                        │
//!                     └── change, whole ─▶ search ─▶ regular ─▶ trial: the corrected text is read ─▶ candidates
//! ```
//!
//! Every correction that is given back was applied to the text and read again. A text in which everything comes out is
//! only looked over for what breaks its regularity; what is found there is a doubt, never sure.

mod sure;

use std::borrow::Cow;
use std::rc::Rc;

use loops::tokens;
use reading::{Item, Options, PieceReading, Reader, Reading, Seq, Study, Token, solve};
use span::Span;

use crate::catalog::{Catalog, Edit, Hit, What};
use crate::doubt;
use crate::draft::Draft;
use crate::face;
use crate::patch::{Patch, Patched, apply};
use crate::place::to_print;
use crate::regular::{Card, Profile, card, reason};
use crate::rows::{groups, is_flat, profiles, unsaid_repeats};
use crate::ruling::{Orders, Ruled, Ruling};
use crate::search::Problem;
use crate::spelling::{Respelled, respelled};
use crate::trouble::{Trouble, troubles_in};
use crate::whole;
use crate::words::Words;
use crate::{Mended, Mending};

/// How many corrections are weighed by the regularity of what they give.
const WEIGHED: usize = 160;
/// How many corrected texts of one piece are read.
const TRIED: usize = 16;
/// How many corrected texts are read at least, however long the text.
const LEAST_TRIED: usize = 3;
/// How many words of corrected texts are read before that.
const WORDS_READ: usize = 2_000;
/// Nats behind the best at which no more corrected texts are read.
const BEHIND: f64 = 5.0;
/// Nats within which two doubts about different rows cannot be told apart.
const TIED: f64 = 0.7;
/// Nats by which a correction may be dearer than the print that it frees of something amiss, to be shown.
const SLACK: f64 = 2.0;
/// Pieces with more rows are not searched.
const ROWS: usize = 2_000;
/// Longer texts, in bytes, are not searched: each correction is tried by reading the text again. A page of an old book
/// has two or three thousand.
const LONGEST_TEXT: usize = 40_000;
/// Texts with more that is wrong in them are not searched: so much is the reader's fault, not the printer's.
const MOST_TROUBLES: usize = 24;

/// Readings of one row that are changed.
const BASES: usize = 8;
/// Nats against words of the craft that are not understood, for each stretch of them, beyond those that the reader counts.
const NOT_UNDERSTOOD: f64 = 5.0;
/// Nats against a row that is worked across again and again with no word on it, where it was not as printed.
const UNSAID: f64 = 3.0;
/// The most that such rows may speak against a correction, in nats.
const UNSAID_MOST: f64 = 9.0;
/// The most that regularity may speak for or against a correction, in nats.
const EVIDENCE: (f64, f64) = (-5.0, 7.0);

/// A misprint may sway a book-wide question by so many nats.
const SWAYED: f64 = 12.0;
/// A text that raises more questions than these is corrected under the answers of the print alone: each would have to be
/// tried with each.
const QUESTIONS: usize = 2;
/// So many other answers are searched under.
const OTHER_ANSWERS: usize = 2;
/// So many of the best corrections are read once more with the book-wide questions open.
const READ_OPENLY: usize = 8;

/// Short words of any text that are words of some phrase of the craft as well.
const COMMON: [&str; 20] = [
    "a", "an", "as", "at", "be", "by", "if", "in", "is", "it", "no", "of", "on", "or", "so", "to", "up",
    "we", "you", "one",
];

/// Reads a text and searches for the corrections that make it come out.
///
/// What the user took is read as if it were printed; what was refused, and other words for what was taken, is not
/// offered. All places are those of the print.
pub fn mend(study: &Study<'_>, text: &str, options: &Options, orders: &Orders<'_>) -> Mending {
    let ruled = Ruled::of(text, orders.rulings);
    let allows = |patch: &Patch| ruled.allows(patch);
    let asked = Asked { text: ruled.text(), options, orders, allows: &allows };
    let spelled = Some(ruled.text()).filter(|text| text.len() <= LONGEST_TEXT);
    let spelled = spelled.and_then(|text| respelled(study, text, options, &allows, orders));
    let mut mending = match &spelled {
        Some(spelled) => search_respelled(study, spelled, &asked),
        None => search_in(study, &asked),
    };
    ruled.to_print(&mut mending);
    mending
}

/// Reads a text with the corrections that the user took, and searches for no other.
pub fn read_ruled(study: &Study<'_>, text: &str, options: &Options, rulings: &[Ruling]) -> Mending {
    let ruled = Ruled::of(text, rulings);
    let mut mending = only_read(study.read(ruled.text(), options));
    ruled.to_print(&mut mending);
    mending
}

/// Shows what is searched in each piece of a text that does not come out as printed.
pub fn each_problem(study: &Study<'_>, text: &str, options: &Options, visit: &mut dyn FnMut(&Problem<'_>)) {
    let printed = study.read(text, options);
    let words = Words::new(text);
    let asked = Asked { text, options, orders: &Orders::top(1), allows: &|_| true };
    let bench = Bench::new(study, asked, &words, &printed, answered(options, &printed));
    if !bench.comes_out() {
        bench.searched().for_each(|(index, piece)| visit(&bench.problem(index, piece)));
    }
}

/// What is known of a text in which nothing was searched.
fn only_read(printed: Reading) -> Mending {
    Mending {
        printed,
        taken: Vec::new(),
        respelled: None,
        candidates: Vec::new(),
        sure: false,
        searched: false,
    }
}

/// What is searched, and how.
#[derive(Clone, Copy)]
struct Asked<'a> {
    text: &'a str,
    options: &'a Options,
    orders: &'a Orders<'a>,
    /// Whether a correction of the text may be offered.
    allows: &'a dyn Fn(&Patch) -> bool,
}

/// The search in a text with its misspelt words put right.
fn search_respelled(study: &Study<'_>, spelled: &Respelled, asked: &Asked<'_>) -> Mending {
    let way_back = &spelled.patched;
    let allows = |patch: &Patch| {
        let corrected = patch.corrected.as_str();
        !way_back.changes(patch.span) && (asked.allows)(&Patch::new(way_back.spot(patch.span), corrected))
    };
    let mut mending = search_in(study, &Asked { text: &way_back.text, allows: &allows, ..*asked });
    to_print(&mut mending.printed, way_back);
    for candidate in &mut mending.candidates {
        to_print(&mut candidate.reading, way_back);
        for one in &mut candidate.emendations {
            one.span = way_back.spot(one.span);
            one.span.of(asked.text).clone_into(&mut one.printed);
        }
        candidate.emendations.extend(spelled.emendations.iter().cloned());
        candidate.emendations.sort_by_key(|one| one.span);
    }
    let printed = study.read(asked.text, asked.options);
    let reading = std::mem::replace(&mut mending.printed, printed);
    let mended = Mended { cost: reading.cost, emendations: spelled.emendations.clone(), reading };
    if mending.candidates.is_empty() && asked.orders.top > 0 {
        mending.candidates.push(mended.clone());
        mending.sure = spelled.sure;
    }
    mending.sure &= spelled.sure;
    mending.respelled = Some(mended).filter(|_| spelled.sure && asked.orders.top > 0);
    mending
}

fn search_in(study: &Study<'_>, asked: &Asked<'_>) -> Mending {
    let (text, orders) = (asked.text, asked.orders);
    let printed = study.read(text, asked.options);
    if text.len() > LONGEST_TEXT {
        return only_read(printed);
    }
    let words = Words::new(text);
    let bench = Bench::new(study, *asked, &words, &printed, answered(asked.options, &printed));
    if bench.troubles.len() > MOST_TROUBLES {
        return only_read(printed.clone());
    }
    let mut tried = if bench.comes_out() { Vec::new() } else { bench.corrections_under_each_answer() };
    if tried.is_empty() && bench.troubles.is_empty() {
        tried = bench.doubts();
    }
    if orders.stopped() {
        return only_read(printed.clone());
    }
    let sure = orders.top > 0 && bench.is_sure(&tried);
    let candidates = tried.into_iter().take(orders.top).map(|trial| bench.mended(trial)).collect();
    Mending { printed, taken: Vec::new(), respelled: None, candidates, sure, searched: true }
}

/// How regular a reading is in each way that is looked at (even steps, rows made alike, halves that mirror, the same row
/// again, return rows that show the row before from behind, repeats alike), in nats; all pieces together.
pub fn regularity(reading: &Reading) -> Vec<f64> {
    let cards = reading.pieces.iter().map(|piece| card(&profiles(piece), is_flat(piece)));
    cards.fold(Card::default(), Card::and).sums().to_vec()
}

/// What a correction is judged against.
struct Bench<'a> {
    reader: &'a Reader,
    study: &'a Study<'a>,
    asked: Asked<'a>,
    words: &'a Words<'a>,
    options: Options,
    printed: &'a Reading,
    troubles: Vec<Trouble>,
    cost: f64,
    cards: Vec<Card>,
    /// Nats against what is odd in the cloth as printed.
    faces: f64,
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
    fn patches(&self) -> Vec<Patch> {
        self.drafts.iter().flat_map(|draft| draft.patches.iter().cloned()).collect()
    }
}

/// Corrections with the text that they give, read.
struct Trial {
    guess: Guess,
    reading: Reading,
    cost: f64,
    /// What does not come out.
    troubles: usize,
    /// Of that, what is sure to be wrong.
    hard: usize,
    outcome: u64,
}

impl<'a> Bench<'a> {
    fn new(
        study: &'a Study<'a>,
        asked: Asked<'a>,
        words: &'a Words<'a>,
        printed: &'a Reading,
        options: Options,
    ) -> Bench<'a> {
        let troubles = troubles_in(printed, words);
        let reader = study.reader();
        let unread = unread_craft(reader, printed, words);
        let cost = printed.cost + troubles.iter().map(Trouble::cost).sum::<f64>() + unread;
        let cards = printed.pieces.iter().map(|piece| card(&profiles(piece), is_flat(piece))).collect();
        let faces = printed.pieces.iter().map(face::cost).sum();
        Bench { reader, study, asked, words, options, printed, troubles, cost, cards, faces }
    }

    /// Whether nothing speaks of a misprint but perhaps a broken regularity.
    fn comes_out(&self) -> bool {
        self.troubles.is_empty() && !self.printed.pieces.iter().any(strains) && self.printed.unread.is_empty()
    }

    /// Corrections found under the answers that the print gave to book-wide questions, and under others that it might
    /// have given without its misprint. The best are read once more with all questions open, as the corrected text will
    /// be.
    fn corrections_under_each_answer(&self) -> Vec<Trial> {
        let mut tried = self.corrections();
        if self.printed.decisions.len() > QUESTIONS {
            return tried;
        }
        for options in other_answers(self.asked.options, self.printed) {
            let printed = self.study.read(self.words.text, &options);
            let other = Bench::new(self.study, self.asked, self.words, &printed, options);
            tried.extend(other.corrections().into_iter().take(READ_OPENLY));
        }
        if self.printed.decisions.is_empty() {
            return tried;
        }
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let mut seen: Vec<Vec<Patch>> = Vec::new();
        tried.retain(|trial| {
            let patches = trial.guess.patches();
            let new = !seen.contains(&patches);
            seen.push(patches);
            new
        });
        let rest = tried.split_off(READ_OPENLY.min(tried.len()));
        let openly = tried.into_iter().filter_map(|trial| self.read_openly(trial));
        let mut openly: Vec<Trial> = openly.filter(|trial| self.mends(trial)).chain(rest).collect();
        openly.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        without_needless(&mut openly);
        one_for_each_outcome(openly)
    }

    /// A trial under the answers that its own text gives when no question is settled. What its words say for an answer
    /// beforehand does not count: a correction is not right because it brings in such a word.
    fn read_openly(&self, trial: Trial) -> Option<Trial> {
        let patched = self.patched(&trial.guess)?;
        let open = self.study.read(&patched.text, self.asked.options);
        self.attempt(trial.guess, &answered(self.asked.options, &open))
    }

    /// Corrections that were tried and mend something, best first, one for each outcome.
    fn corrections(&self) -> Vec<Trial> {
        let mut by_piece: Vec<Vec<Guess>> = Vec::new();
        for (index, piece) in self.searched() {
            by_piece.push(self.guesses(index, piece));
        }
        let whole = whole::drafts(self.reader, self.printed, &self.troubles, self.words);
        let mut whole: Vec<Guess> = whole
            .into_iter()
            .map(|draft| Guess { rank: draft.cost, drafts: vec![draft], place: None })
            .collect();
        whole.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        by_piece.push(whole);
        let mut best: Vec<Draft> = Vec::new();
        let mut tried: Vec<Trial> = Vec::new();
        for guesses in by_piece {
            let mut next = self.try_all(&guesses, &[]);
            if !best.is_empty() {
                let left = tried.first().map_or(0, |trial| trial.troubles);
                let further = self.try_all(&guesses, &best);
                next.extend(further.into_iter().filter(|trial| trial.troubles < left));
            }
            tried.append(&mut next);
            tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            best = tried.first().map(|trial| trial.guess.drafts.clone()).unwrap_or_default();
        }
        without_needless(&mut tried);
        one_for_each_outcome(tried)
    }

    /// The pieces in which corrections are searched, with their index.
    fn searched(&self) -> impl Iterator<Item = (usize, &'a PieceReading)> {
        let pieces = self.printed.pieces.iter().enumerate();
        pieces.filter(|(index, piece)| {
            let troubled = self.troubles.iter().any(|trouble| trouble.piece() == Some(*index));
            (troubled || strains(piece) || self.passes_over(piece)) && piece.plan.rows.len() <= ROWS
        })
    }

    /// Whether a row of a piece is read with a number in it passed over.
    fn passes_over(&self, piece: &PieceReading) -> bool {
        let number = |span: &Span| self.words.within(*span).iter().any(|token| token.number.is_some());
        let inside = |span: &Span| piece.plan.rows.iter().any(|row| row.span.covers(*span));
        self.printed.unread.iter().any(|span| inside(span) && number(span))
    }

    /// Reads the texts that guesses give beside corrections already made, and keeps those that are better for it.
    fn try_all(&self, guesses: &[Guess], beside: &[Draft]) -> Vec<Trial> {
        let mut out: Vec<Trial> = Vec::new();
        let least = guesses.first().map_or(0.0, |guess| guess.rank);
        let most = (WORDS_READ / self.words.tokens().len().max(1)).clamp(LEAST_TRIED, TRIED);
        let limit = if guesses.iter().all(|guess| guess.place.is_none()) { 2 * most } else { most };
        for guess in guesses.iter().take(limit) {
            if guess.rank > least + BEHIND && out.len() > 1 {
                break;
            }
            let drafts = beside.iter().chain(&guess.drafts).cloned().collect();
            let all = Guess { drafts, ..guess.clone() };
            out.extend(self.attempt(all, &self.options).filter(|trial| self.mends(trial)));
        }
        out
    }

    /// Whether a trial is better than the print.
    fn mends(&self, trial: &Trial) -> bool {
        let hard = self.troubles.iter().filter(|trouble| trouble.is_hard()).count();
        let fewer = if hard > 0 { trial.hard < hard } else { trial.troubles < self.troubles.len() };
        trial.cost < self.cost + if fewer { SLACK } else { 0.0 } && (hard == 0 || fewer)
    }

    /// Reads the text that a guess gives, unless the user has decided otherwise or waits no longer.
    fn attempt(&self, guess: Guess, options: &Options) -> Option<Trial> {
        let is_open =
            |draft: &Draft| draft.joined(self.words.text).iter().all(|patch| (self.asked.allows)(patch));
        if self.asked.orders.stopped() || !guess.drafts.iter().all(is_open) {
            return None;
        }
        let patched = self.patched(&guess)?;
        let reading = self.study.read(&patched.text, options);
        let words = Words::new(&patched.text);
        let left = troubles_in(&reading, &words);
        let spent: f64 = guess.drafts.iter().map(|draft| draft.cost).sum();
        let unread = unread_craft(self.reader, &reading, &words);
        let cost = reading.cost + spent + unread + left.iter().map(Trouble::cost).sum::<f64>()
            - self.evidence(&reading, guess.drafts.len())
            + self.strained(&reading);
        let hard = left.iter().filter(|trouble| trouble.is_hard()).count();
        Some(Trial { outcome: outcome(&reading), troubles: left.len(), hard, guess, reading, cost })
    }

    fn patched(&self, guess: &Guess) -> Option<Patched> {
        apply(self.words.text, &guess.patches())
    }

    /// What regularity says of a corrected reading.
    fn evidence(&self, reading: &Reading, corrections: usize) -> f64 {
        let cards = reading.pieces.iter().map(|piece| card(&profiles(piece), is_flat(piece)));
        let gain: f64 = self.cards.iter().zip(cards).map(|(before, after)| before.gain(&after)).sum();
        let faces = self.faces - reading.pieces.iter().map(face::cost).sum::<f64>();
        (gain + faces).clamp(EVIDENCE.0, EVIDENCE.1 * corrections as f64)
    }

    /// Nats against rows that only a correction brings to be worked across again and again.
    fn strained(&self, reading: &Reading) -> f64 {
        let unsaid = |reading: &Reading| reading.pieces.iter().map(unsaid_repeats).sum::<usize>() as f64;
        (UNSAID * (unsaid(reading) - unsaid(self.printed))).clamp(0.0, UNSAID_MOST)
    }

    /// What is searched in one piece.
    fn problem(&self, index: usize, piece: &'a PieceReading) -> Problem<'a> {
        let bare = bare(piece).filter(|_| {
            self.troubles
                .iter()
                .any(|trouble| matches!(trouble, Trouble::Edges { piece, .. } if *piece == index))
        });
        let piece = bare.map_or(Cow::Borrowed(piece), Cow::Owned);
        let catalog = self.catalog(&piece);
        let unclosed = match (piece.ends.back_to, piece.ends.said) {
            (None, _) => 0.0,
            (_, true) => reading::NOT_CLOSED + Trouble::Unclosed { piece: 0, began: 0, ended: 0 }.cost(),
            (_, false) => reading::NOT_CLOSED_UNSAID,
        };
        Problem { piece, catalog, unclosed, text: self.words.text }
    }

    /// What may be corrected in one piece, the likeliest first.
    fn guesses(&self, index: usize, piece: &'a PieceReading) -> Vec<Guess> {
        let problem = self.problem(index, piece);
        let (piece, catalog) = (&*problem.piece, &problem.catalog);
        let hits = problem.search();
        let before = &self.cards[index];
        let rows = profiles(piece);
        let mut out: Vec<Guess> = Vec::new();
        for hit in hits.iter().take(WEIGHED) {
            let Some(drafts) =
                hit.edits.iter().map(|edit| self.draft(piece, catalog, edit)).collect::<Option<Vec<_>>>()
            else {
                continue;
            };
            let after = changed(&rows, catalog, hit);
            let gain = before
                .gain(&card(&after, is_flat(piece)))
                .clamp(EVIDENCE.0, EVIDENCE.1 * hit.edits.len() as f64);
            let rank = hit.cost - gain;
            let place = hit.edits.first().map(|edit| (index, row_of(catalog, edit)));
            let guess = Guess { drafts, rank, place };
            match out.iter_mut().find(|other| other.patches() == guess.patches()) {
                Some(other) if other.rank > rank => *other = guess,
                Some(_) => {}
                None => out.push(guess),
            }
        }
        out.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        out
    }

    /// Everything that may be corrected in a piece.
    fn catalog(&self, piece: &PieceReading) -> Catalog {
        let mut catalog =
            Catalog { groups: groups(self.reader, self.words, piece, BASES), ..Catalog::default() };
        whole::collect(piece, self.printed, self.words, &mut catalog);
        if self.options.cast_on.is_some() {
            catalog.starts.clear();
        }
        catalog
    }

    fn draft(&self, piece: &PieceReading, catalog: &Catalog, edit: &Edit) -> Option<Draft> {
        let words = self.words;
        let label = |row: usize| piece.plan.rows.get(row).map(|row| row.label.clone());
        let (row, patches) = match edit.what {
            What::Change { group, base, change } => {
                let group = &catalog.groups[group];
                let base = &group.bases[base];
                (label(*group.rows.first()?)?, base.patches(&base.changes[change], words)?)
            }
            What::Whole(index) => {
                (label(catalog.wholes[index].rows.first()?.0)?, catalog.wholes[index].patches.clone())
            }
            What::Start(count) => ("cast on".to_owned(), vec![whole::start_patch(piece, count, words)?]),
            What::Total(row, count) => (label(row)?, vec![whole::total_patch(piece, row, count, words)?]),
        };
        let changes = patches.iter().any(|patch| patch.span.of(words.text) != patch.corrected);
        changes.then_some(Draft { cost: edit.cost, row, patches, why: None, doubtful: false })
    }

    /// Corrections of what comes out but is not regular.
    fn doubts(&self) -> Vec<Trial> {
        let mut guesses = Vec::new();
        for (index, piece) in self.printed.pieces.iter().enumerate() {
            if piece.plan.rows.len() <= ROWS {
                let groups = groups(self.reader, self.words, piece, 1);
                guesses.extend(doubt::guesses(
                    index,
                    piece,
                    groups,
                    &profiles(piece),
                    &self.cards[index],
                    self.words,
                ));
            }
        }
        guesses.sort_by(|a, b| a.rank.total_cmp(&b.rank));
        let tried = guesses.into_iter().take(TRIED / 2);
        let tried = tried.filter_map(|guess| self.attempt(guess, &self.options));
        // The reader's own cost may not rise for it: what is read less well is no correction.
        let sound = tried.filter(|trial| trial.hard == 0 && trial.reading.cost <= self.printed.cost + 1.0);
        let better = |trial: &Trial| {
            let spent: f64 = trial.guess.drafts.iter().map(|draft| draft.cost).sum();
            self.cost - (trial.cost - spent) >= doubt::GAIN
        };
        let mut sound: Vec<Trial> = sound.filter(better).collect();
        sound.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        // Where two rows may each be brought to the other, both are as they should be.
        let row = |trial: &Trial| trial.guess.place;
        let least = sound.first().map_or(0.0, |trial| trial.cost);
        if sound.iter().any(|trial| trial.cost < least + TIED && row(trial) != row(&sound[0])) {
            return Vec::new();
        }
        one_for_each_outcome(sound)
    }

    fn mended(&self, trial: Trial) -> Mended {
        let told = |draft: &Draft| draft.emendations(self.words.text, &self.why(&trial, draft));
        let emendations = trial.guess.drafts.iter().flat_map(told);
        let mut emendations: Vec<_> = emendations.collect();
        emendations.sort_by_key(|emendation| emendation.span);
        let mut reading = trial.reading;
        if let Some(patched) = self.patched(&trial.guess) {
            to_print(&mut reading, &patched);
        }
        // The corrected text was read under the answers that the printed one gave.
        reading.decisions.clone_from(&self.printed.decisions);
        Mended { cost: trial.cost, emendations, reading }
    }

    /// What speaks for one correction of a trial, in one sentence.
    fn why(&self, trial: &Trial, draft: &Draft) -> String {
        let place = self.place(draft).or(trial.guess.place);
        let piece = place.map(|(piece, _)| piece);
        let near = self.troubles.iter().find(|trouble| piece.is_none() || trouble.piece() == piece);
        let wrong =
            near.or(self.troubles.first()).map(|trouble| trouble.in_words(self.printed, self.words.text));
        let own = draft.why.clone().or_else(|| self.reason(trial, place));
        match (wrong, own) {
            (Some(wrong), Some(own)) => format!("{wrong}; {own}"),
            (Some(wrong), None) => format!("{wrong}; with this all rows come out"),
            (None, Some(own)) => own,
            (None, None) if self.faces > trial.reading.pieces.iter().map(face::cost).sum() => {
                "only so does it stand on the row below as the stitches about it do".to_owned()
            }
            (None, None) => "with this the rows are more alike".to_owned(),
        }
    }

    /// The piece and row whose words a correction changes.
    fn place(&self, draft: &Draft) -> Option<(usize, usize)> {
        let at = draft.patches.first()?.span;
        self.printed.pieces.iter().enumerate().find_map(|(piece, read)| {
            let row =
                read.plan.rows.iter().position(|row| row.span.start <= at.start && at.end <= row.span.end)?;
            Some((piece, row))
        })
    }

    fn reason(&self, trial: &Trial, place: Option<(usize, usize)>) -> Option<String> {
        let (index, row) = place?;
        let piece = trial.reading.pieces.get(index)?;
        let rows = profiles(piece);
        let kind = self.cards.get(index)?.strongest(&card(&rows, is_flat(piece)))?;
        let labels: Vec<&str> = piece.plan.rows.iter().map(|row| row.label.as_str()).collect();
        reason(kind, &rows, row, &labels)
    }
}

/// Whether a token is a verb of stitches, or an abbreviation that the lexicon has.
fn names_a_stitch(reader: &Reader, token: &Token) -> bool {
    const VERBS: [&str; 12] = [
        "knit", "purl", "pearl", "slip", "narrow", "over", "bind", "reversed", "make", "rib", "widen",
        "increase",
    ];
    let short = token.text.len() <= 2 && token.number.is_none();
    let letter = short && reader.lexicon().word(&token.text).is_some();
    !COMMON.contains(&token.text.as_str()) && (letter || VERBS.contains(&token.text.as_str()))
}

/// Nats against the words of the craft that a reading leaves aside.
fn unread_craft(reader: &Reader, reading: &Reading, words: &Words<'_>) -> f64 {
    let craft = |span: &&Span| {
        words
            .within(**span)
            .iter()
            .any(|token| names_a_stitch(reader, token) || whole::ROW_WORDS.contains(&token.text.as_str()))
    };
    NOT_UNDERSTOOD * reading.unread.iter().filter(craft).count() as f64
}

/// Whether a piece is read only by a shift that a misprint may stand behind: a repeat cut short, edges nowhere said.
fn strains(piece: &PieceReading) -> bool {
    piece.plan.edges > 0 && !piece.plan.edges_said || piece.path.rows.iter().any(|row| row.fit.cut.is_some())
}

/// The piece without edges that its rows do not mention.
fn bare(piece: &PieceReading) -> Option<PieceReading> {
    let framed = |seq: &Seq| matches!(seq.items().first(), Some(Item::Work(work)) if work.span.is_detached());
    let mut piece = piece.clone();
    for row in &mut piece.chain {
        row.candidates.retain(|candidate| !framed(&candidate.seq));
    }
    piece.path = solve(&piece.chain, &piece.ends).into_iter().next()?;
    Some(piece)
}

/// The rows with the corrections of a hit.
fn changed(rows: &[Rc<Profile>], catalog: &Catalog, hit: &Hit) -> Vec<Rc<Profile>> {
    let mut out = rows.to_vec();
    for edit in &hit.edits {
        match edit.what {
            What::Change { group, base, change } => {
                let group = &catalog.groups[group];
                let base = &group.bases[base];
                let Some(seq) = base.build(&base.changes[change]) else { continue };
                let words = group.rows.first().map_or(0, |row| rows[*row].words());
                let profile = Rc::new(Profile::new(&seq, words));
                group.rows.iter().for_each(|row| out[*row] = Rc::clone(&profile));
            }
            What::Whole(index) => {
                for (row, like) in &catalog.wholes[index].rows {
                    out[*row] = Rc::clone(&rows[*like]);
                }
            }
            What::Start(_) | What::Total(..) => {}
        }
    }
    out
}

fn row_of(catalog: &Catalog, edit: &Edit) -> usize {
    match edit.what {
        What::Change { group, .. } => catalog.groups[group].rows.first().copied().unwrap_or(0),
        What::Whole(index) => catalog.wholes[index].rows.first().map_or(0, |(row, _)| *row),
        What::Start(_) => 0,
        What::Total(row, _) => row,
    }
}

/// The answers of a reading to book-wide questions, given.
fn answered(options: &Options, printed: &Reading) -> Options {
    let mut options = options.clone();
    for decision in &printed.decisions {
        if let Some((answer, _)) = decision.answers.first() {
            options.answers.entry(decision.question.clone()).or_insert_with(|| answer.clone());
        }
    }
    options
}

/// Those of a reading with one answer changed for another that costs little more.
fn other_answers(options: &Options, printed: &Reading) -> Vec<Options> {
    let mut others = Vec::new();
    for decision in &printed.decisions {
        let Some((_, least)) = decision.answers.first() else { continue };
        for (answer, cost) in decision.answers.iter().skip(1).filter(|(_, cost)| cost - least < SWAYED) {
            let mut other = options.clone();
            other.answers.insert(decision.question.clone(), answer.clone());
            others.push((cost - least, answered(&other, printed)));
        }
    }
    others.sort_by(|a, b| a.0.total_cmp(&b.0));
    others.into_iter().take(OTHER_ANSWERS).map(|(_, options)| options).collect()
}

/// Puts before corrections that go together those among them that mend as much alone: a further one that mends nothing
/// is none.
fn without_needless(tried: &mut [Trial]) {
    while let Some(fewer) = tried.first().and_then(|first| {
        let among = |trial: &Trial| {
            trial.guess.drafts.len() < first.guess.drafts.len()
                && trial.guess.drafts.iter().all(|draft| first.guess.drafts.contains(draft))
        };
        let as_good = |trial: &Trial| trial.hard <= first.hard && trial.troubles <= first.troubles;
        tried.iter().position(|trial| among(trial) && as_good(trial))
    }) {
        tried[..=fewer].rotate_right(1);
    }
}

fn one_for_each_outcome(tried: Vec<Trial>) -> Vec<Trial> {
    let mut out: Vec<Trial> = Vec::new();
    for trial in tried {
        if !out.iter().any(|other| other.outcome == trial.outcome) {
            out.push(trial);
        }
    }
    out
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

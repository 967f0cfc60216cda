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

mod answers;
mod bench;
mod doubts;
mod guesses;
mod sources;
mod sure;
mod told;
mod tries;
mod weight;

use reading::{Options, Reading, Study};

use crate::Mended;
use crate::Mending;
use crate::patch::Patch;
use crate::place::to_print;
use crate::purse::Purse;
use crate::regular::{Card, card};
use crate::rows::{is_flat, profiles};
use crate::ruling::{Orders, Ruled, Ruling};
use crate::search::Problem;
use crate::spelling::{Respelled, respelled};
use crate::trouble::{Trouble, troubles};
use crate::words::Words;

use self::answers::{answered, shares};
use self::bench::{Asked, Bench, with_words_apart};

pub use self::bench::{Guess, outcome};

/// Longer texts, in bytes, are not searched: each correction is tried by reading the text again. A page of an old book
/// has two or three thousand.
const LONGEST_TEXT: usize = 40_000;
/// Texts with more that is wrong in them are not searched: so much is the reader's fault, not the printer's.
const MOST_TROUBLES: usize = 24;

/// Reads a text and searches for the corrections that make it come out.
///
/// What the user took is read as if it were printed; what was refused, and other words for what was taken, is not
/// offered. All places are those of the print.
pub fn mend(study: &Study<'_>, text: &str, options: &Options, orders: &Orders<'_>) -> Mending {
    let ruled = Ruled::of(text, orders.rulings);
    let allows = |patch: &Patch| ruled.allows(patch);
    let purse = Purse::full();
    let asked = Asked { text: ruled.text(), options, orders, purse: &purse, allows: &allows };
    let spelled = Some(ruled.text()).filter(|text| text.len() <= LONGEST_TEXT);
    let spelled = spelled.and_then(|text| respelled(study, text, options, &allows, (orders, &purse)));
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
    let words = Words::new(text);
    let printed = with_words_apart(study.reader(), study.read(text, options), &words);
    let purse = Purse::full();
    let asked = Asked { text, options, orders: &Orders::top(1), purse: &purse, allows: &|_| true };
    let answered = (answered(options, &printed), shares(0));
    let bench = Bench::new(study, asked, &words, &printed, answered);
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
        cut_short: false,
    }
}

/// The search in a text with its misspelt words put right.
fn search_respelled(study: &Study<'_>, spelled: &Respelled, asked: &Asked<'_>) -> Mending {
    let way_back = &spelled.patched;
    let allows = |patch: &Patch| {
        let corrected = patch.corrected.as_str();
        !way_back.changes(patch.span) && (asked.allows)(&Patch::new(way_back.spot(patch.span), corrected))
    };
    let mut mending = search_in(study, &Asked { text: &way_back.text, allows: &allows, ..*asked });
    let comes_out = !troubles(&mending.printed, &way_back.text).iter().any(Trouble::is_hard);
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
    // Where all comes out with these words, what else may be amiss is a mere doubt.
    if mending.candidates.is_empty() || comes_out {
        mending.candidates.insert(0, mended.clone());
        mending.candidates.truncate(asked.orders.top);
        mending.sure = true;
    } else {
        // What does not come out besides may be no misprint.
        mending.candidates.insert(1, mended.clone());
        mending.candidates.truncate(asked.orders.top);
    }
    mending.sure &= spelled.sure && asked.orders.top > 0;
    mending.respelled = Some(mended).filter(|_| spelled.sure && asked.orders.top > 0);
    mending
}

fn search_in(study: &Study<'_>, asked: &Asked<'_>) -> Mending {
    let (text, orders) = (asked.text, asked.orders);
    let words = Words::new(text);
    let printed = study.read_tokens(text, words.tokens().to_vec(), asked.options);
    if text.len() > LONGEST_TEXT {
        return only_read(printed);
    }
    let searched = with_words_apart(study.reader(), printed.clone(), &words);
    let answered = (answered(asked.options, &printed), shares(printed.decisions.len()));
    let bench = Bench::new(study, *asked, &words, &searched, answered);
    if bench.troubles.len() > MOST_TROUBLES {
        return only_read(printed.clone());
    }
    let mut tried = if bench.comes_out() { Vec::new() } else { bench.corrections_under_each_answer() };
    if bench.troubles.is_empty() {
        tried = bench.with_doubts(tried);
    }
    if orders.stopped() {
        return only_read(printed.clone());
    }
    let cut_short = asked.purse.has_refused();
    let sure = orders.top > 0 && !cut_short && bench.is_sure(&tried);
    let candidates = tried.into_iter().take(orders.top).map(|trial| bench.mended(trial)).collect();
    Mending { printed, taken: Vec::new(), respelled: None, candidates, sure, searched: true, cut_short }
}

/// How regular a reading is in each way that is looked at (even steps, rows made alike, halves that mirror, the same row
/// again, return rows that show the row before from behind, repeats alike), in nats; all pieces together.
pub fn regularity(reading: &Reading) -> Vec<f64> {
    let cards = reading.pieces.iter().map(|piece| card(&profiles(piece), is_flat(piece)));
    cards.fold(Card::default(), Card::and).sums().to_vec()
}

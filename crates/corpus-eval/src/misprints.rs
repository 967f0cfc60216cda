//! What the mender makes of single misprints put into texts that are read rightly.
//!
//! In each round every text gets one misprint of every class that it has room for. Only those count that change the
//! program as worked, or a number that the text states. The result is told by class: how often the true text comes
//! first, and among the first three; once for all, once for those that can be told from the text ([`evidence`]).

mod evidence;
mod texts;

use std::collections::BTreeMap;
use std::path::PathBuf;

use anyhow::Result;
use cloth::Look;
use mending::{Orders, mend};
use notation::Lexicon;
use prose::{Class, Rng};

use crate::gold::Gold;
use crate::slips::{Places, Slip, draw, slips};

use self::evidence::{Evidence, Verdict};
use self::texts::{Text, generated, gold_texts, program};

/// Corrections asked for: the first three count; the others tell whether any is as good as the truth.
const TOP: usize = 8;
/// Misprints drawn for a text and class until one changes the program.
const DRAWS: usize = 12;

/// What came of the misprints of one class.
#[derive(Clone, Copy, Default)]
struct Tally {
    /// Misprints that change the program.
    made: usize,
    first: usize,
    three: usize,
    /// Of those made, the ones that can be told from the text.
    told: usize,
    told_first: usize,
    told_three: usize,
    /// Those whose presence shows while two cures are equally good.
    equal: usize,
    /// Those whose presence shows while their words stand nowhere else.
    lost: usize,
    /// Corrections called sure that are not the true text.
    wrong: usize,
    sure: usize,
}

/// Corrections of texts without misprint.
#[derive(Clone, Copy, Default)]
struct Alarms {
    texts: usize,
    sure: usize,
    offered: usize,
}

/// How the misprints are drawn and what is told of them.
pub struct Course {
    /// How many of each class are put into each text.
    pub rounds: u64,
    /// Draws the misprints and the generated texts.
    pub seed: u64,
    /// Whether each miss is told.
    pub misses: bool,
    /// Whether corrections that tie are weighed by their cloth.
    pub eye: bool,
    /// The one class that is judged; the misprints drawn are those of a run over all.
    pub class: Option<String>,
}

/// Runs all rounds and prints the table, and each miss where these are asked for.
///
/// # Errors
/// When a book's explanation of terms makes no reader, or the dialects of the generator cannot be read.
pub fn measure(lexicon: &Lexicon, golds: &[(Gold, PathBuf)], course: &Course) -> Result<()> {
    let checked = gold_texts(lexicon, golds)?;
    let mut tallies: BTreeMap<(bool, Class), Tally> = BTreeMap::new();
    let mut alarms = [Alarms::default(), Alarms::default()];
    for round in 0..course.rounds {
        let first = course.seed.wrapping_mul(1_000_003).wrapping_add(round.wrapping_mul(100_003));
        let made = generated(lexicon, first, checked.len())?;
        for (at, text) in checked.iter().chain(&made).enumerate() {
            let new = at >= checked.len();
            let mut rng = Rng::new(first.wrapping_add(at as u64));
            if round == 0 || new {
                alarm(text, &mut alarms[usize::from(new)], course.misses);
            }
            for class in Class::ALL {
                let judged = course.class.as_ref().is_none_or(|only| only == class.name());
                if let Some(slip) = mattering(text, class, &mut rng).filter(|_| judged) {
                    judge(text, class, &slip, tallies.entry((new, class)).or_default(), course);
                }
            }
        }
    }
    print(&tallies, alarms);
    Ok(())
}

/// A misprint of a class that changes the program.
fn mattering(text: &Text, class: Class, rng: &mut Rng) -> Option<Slip> {
    let places = Places::new(&text.text, &text.reading);
    let mut all = slips(&places, class);
    let right = program(&text.reading);
    for _ in 0..DRAWS {
        let slip = draw(&mut all, rng)?;
        let reading = text.reader.read(&slip.applied(&text.text), &text.options);
        if program(&reading) != right {
            return Some(slip);
        }
    }
    None
}

fn judge(text: &Text, class: Class, slip: &Slip, tally: &mut Tally, course: &Course) {
    let printed = slip.applied(&text.text);
    let mut mending = mend(&text.reader.study(), &printed, &text.options, &Orders::top(TOP));
    if course.eye {
        mending.weigh(|reading| Look::against(reading.pieces.iter().map(|piece| &piece.piece)));
    }
    let right = program(&text.reading);
    let found = mending.candidates.iter().position(|mended| program(&mended.reading) == right);
    let rivals = &mending.candidates[..found.unwrap_or(mending.candidates.len())];
    let verdict = Evidence::new(text, slip, &printed, &mending.printed).verdict(rivals);
    let (first, three) = (found == Some(0), found.is_some_and(|at| at < 3));
    tally.made += 1;
    tally.first += usize::from(first);
    tally.three += usize::from(three);
    tally.equal += usize::from(verdict == Verdict::Equal);
    tally.lost += usize::from(verdict == Verdict::Lost);
    if verdict == Verdict::Told {
        tally.told += 1;
        tally.told_first += usize::from(first);
        tally.told_three += usize::from(three);
    }
    tally.sure += usize::from(mending.sure);
    tally.wrong += usize::from(mending.sure && !first);
    if course.misses && !first && (verdict == Verdict::Told || mending.sure) {
        println!(
            "{} {} {verdict:?} {}: {:?} printed for {:?}{}",
            text.name,
            class.name(),
            found.map_or("missed".to_owned(), |at| format!("place {}", at + 1)),
            slip.printed,
            slip.span.of(&text.text),
            if mending.sure { ", sure" } else { "" }
        );
        for trouble in mending::troubles(&mending.printed, &printed) {
            println!("  - {}", trouble.in_words(&mending.printed, &printed));
        }
        for span in &mending.printed.unread {
            println!("  - {:?} is not understood", span.of(&printed));
        }
        for (kind, lost) in mending::regularity(&text.reading)
            .iter()
            .zip(mending::regularity(&mending.printed))
            .map(|(right, wrong)| right - wrong)
            .enumerate()
            .filter(|(_, lost)| lost.abs() > 0.05)
        {
            println!("  - less regular by {lost:.1} in way {}", kind + 1);
        }
        for mended in mending.candidates.iter().take(3) {
            for one in &mended.emendations {
                println!("    {:.1} {}: {:?} to {:?}", mended.cost, one.row, one.printed, one.corrected);
            }
        }
    }
}

fn alarm(text: &Text, alarms: &mut Alarms, misses: bool) {
    let mending = mend(&text.reader.study(), &text.text, &text.options, &Orders::top(3));
    alarms.texts += 1;
    alarms.sure += usize::from(mending.sure);
    alarms.offered += usize::from(!mending.candidates.is_empty());
    if misses && !mending.candidates.is_empty() {
        let one = mending.candidates[0].emendations.first();
        let (printed, corrected) = one.map_or(("", ""), |one| (one.printed.as_str(), one.corrected.as_str()));
        println!("{} clean, sure {}: {printed:?} to {corrected:?}", text.name, mending.sure);
    }
}

fn print(tallies: &BTreeMap<(bool, Class), Tally>, alarms: [Alarms; 2]) {
    for (new, title) in [(false, "checked texts"), (true, "generated texts")] {
        println!(
            "{title:<18} {:>5} {:>12} {:>12} {:>6} {:>12} {:>12} {:>6} {:>5} {:>5} {:>6}",
            "made", "first", "in three", "told", "first", "in three", "equal", "lost", "sure", "wrong"
        );
        let mut all = Tally::default();
        for class in Class::ALL {
            let Some(tally) = tallies.get(&(new, class)) else { continue };
            all.add(tally);
            print_line(class.name(), tally);
        }
        print_line("all", &all);
        let alarm = alarms[usize::from(new)];
        println!(
            "without misprint: {} texts, {} with a correction called sure, {} with one offered\n",
            alarm.texts, alarm.sure, alarm.offered
        );
    }
}

fn print_line(name: &str, tally: &Tally) {
    let share = |part: usize, of: usize| format!("{part} {:>5.1}%", 100.0 * part as f64 / of.max(1) as f64);
    println!(
        "{name:<18} {:>5} {:>12} {:>12} {:>6} {:>12} {:>12} {:>6} {:>5} {:>5} {:>6}",
        tally.made,
        share(tally.first, tally.made),
        share(tally.three, tally.made),
        tally.told,
        share(tally.told_first, tally.told),
        share(tally.told_three, tally.told),
        tally.equal,
        tally.lost,
        tally.sure,
        tally.wrong
    );
}

impl Tally {
    fn add(&mut self, other: &Tally) {
        self.made += other.made;
        self.first += other.first;
        self.three += other.three;
        self.told += other.told;
        self.told_first += other.told_first;
        self.told_three += other.told_three;
        self.equal += other.equal;
        self.lost += other.lost;
        self.wrong += other.wrong;
        self.sure += other.sure;
    }
}

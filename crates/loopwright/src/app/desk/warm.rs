//! A reader that stays warm: it is kept as long as the senses stay the same, and remembers what it has read.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;

use mending::Orders;
use reading::{Options, Reader, Study};

use crate::app::view::Given;
use crate::checked::Checked;
use crate::failure::Failure;
use crate::glossary::Senses;
use crate::source::Source;

/// Stack of a thread that reads, in bytes: as much as the first thread of a program has.
pub const STACK: usize = 8 * 1024 * 1024;

/// One state of a project, as far as reading needs it.
#[derive(Clone, Debug)]
pub struct State {
    /// Which.
    pub revision: u64,
    /// What it is called.
    pub title: String,
    /// The transcription.
    pub text: String,
    /// The book's own explanation of its terms.
    pub glossary: String,
    /// What she said besides.
    pub given: Given,
}

impl State {
    /// The senses in force.
    pub fn senses(&self) -> Result<Senses, Failure> {
        let senses = Senses::builtin()?;
        if self.glossary.trim().is_empty() {
            return Ok(senses);
        }
        Ok(senses.with(&Source::of_text("the explanation of terms", &self.glossary))?)
    }

    /// The text under the title of the project.
    pub fn source(&self) -> Source {
        let title = if self.title.is_empty() { "the pattern" } else { &self.title };
        Source::of_text(title, &self.text)
    }

    /// What the reader is told beforehand.
    pub fn options(&self) -> Options {
        Options { cast_on: self.given.cast_on, answers: self.given.answers.clone(), ..Options::default() }
    }
}

/// A state read and searched with a reader of its own.
///
/// # Errors
/// [`Failure`] where the explanation of terms cannot be used.
pub fn checked(state: &State, top: usize) -> Result<Checked, Failure> {
    let senses = state.senses()?;
    let reader = Rc::new(Reader::for_text(&senses.lexicon, &senses.explained, &state.text)?);
    let orders = Orders { top, rulings: &state.given.rulings, stop: None };
    Ok(Checked::searched(&reader, &reader.study(), state.source(), state.options(), &orders))
}

/// A reader with what it remembers.
pub struct Warm<'a> {
    /// The reader.
    pub reader: &'a Rc<Reader>,
    /// Its memory.
    pub study: &'a Study<'a>,
}

/// Does one job after the other until there are no more, each with a reader that serves its state.
///
/// Where a job panics, its reader is thrown away and the next job begins with a new one; that is a bug of the reader,
/// and whoever waits for the job learns of it by its end.
pub fn work<J>(
    mut next: impl FnMut() -> Option<J>,
    state: impl Fn(&J) -> &State,
    mut one: impl FnMut(Result<Warm<'_>, Failure>, J),
) {
    let mut waiting = next();
    while let Some(job) = waiting.take() {
        let prepared = state(&job).senses().and_then(|senses| {
            let reader = Reader::for_text(&senses.lexicon, &senses.explained, &state(&job).text)?;
            Ok((senses, Rc::new(reader)))
        });
        let (senses, reader) = match prepared {
            Ok(prepared) => prepared,
            Err(failure) => {
                one(Err(failure), job);
                waiting = next();
                continue;
            }
        };
        let study = reader.study();
        let glossary = state(&job).glossary.clone();
        let mut job = job;
        waiting = loop {
            let warm = Warm { reader: &reader, study: &study };
            let is_sound = catch_unwind(AssertUnwindSafe(|| one(Ok(warm), job))).is_ok();
            let Some(following) = next() else { return };
            let serves = state(&following).glossary == glossary
                && reader.serves(&senses.lexicon, &senses.explained, &state(&following).text);
            if !is_sound || !serves {
                break Some(following);
            }
            job = following;
        };
    }
}

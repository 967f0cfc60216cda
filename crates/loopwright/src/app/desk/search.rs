//! The thread that searches for corrections when the typing pauses; the newest state wins.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant};

use along::AlongPiece;
use axum::body::Bytes;
use chart::Chart;
use loops::Piece;
use mending::Orders;
use reading::PieceReading;
use wording::Terms;

use super::warm::{STACK, State, Warm, work};
use super::{Event, Shared};
use crate::app::view::{Charts, Earlier, marks};
use crate::app::wire::View;
use crate::charts::chart_of;
use crate::checked::{Checked, piece_name};
use crate::failure::Failure;
use crate::gauge::Gauge;

/// A search begins when nothing has changed for so long; while she types, it would only take time from the reading.
const PAUSE: Duration = Duration::from_millis(300);
/// Corrections that are weighed: enough to choose from in the margin of a page.
const WEIGHED: usize = 4;

/// Everything that is made of one state.
pub struct Done {
    /// The view.
    pub view: View,
    /// The view as JSON.
    pub json: Bytes,
    /// The programs of the pieces, each named as the view names it.
    pub pieces: Vec<Piece>,
    /// What tells the programs of the pieces from others.
    pub marks: Vec<u64>,
    /// The charts of the pieces, where they have one.
    pub charts: Vec<Option<Chart>>,
    /// The gauge.
    pub gauge: Option<Gauge>,
    /// The terms of the rows.
    pub terms: Terms,
    along: OnceLock<Vec<AlongPiece>>,
}

/// The newest state that waits to be searched.
#[derive(Default)]
pub struct Slot {
    waiting: Mutex<Waiting>,
    changed: Condvar,
}

#[derive(Default)]
struct Waiting {
    state: Option<(Arc<State>, Instant)>,
    closed: bool,
}

impl Slot {
    /// Puts a state in the place of the one that waits, to be searched after a pause.
    pub fn put(&self, state: Arc<State>) {
        self.lock().state = Some((state, Instant::now() + PAUSE));
        self.changed.notify_one();
    }

    /// Ends the thread.
    pub fn close(&self) {
        self.lock().closed = true;
        self.changed.notify_one();
    }

    fn lock(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The state to be searched next, when nothing newer has come for a while.
    fn next(&self) -> Option<Arc<State>> {
        let mut waiting = self.lock();
        loop {
            if waiting.closed {
                return None;
            }
            let now = Instant::now();
            waiting = match &waiting.state {
                None => self.changed.wait(waiting).unwrap_or_else(PoisonError::into_inner),
                Some((_, when)) if *when > now => {
                    let rest = *when - now;
                    self.changed.wait_timeout(waiting, rest).unwrap_or_else(PoisonError::into_inner).0
                }
                Some(_) => return waiting.state.take().map(|(state, _)| state),
            };
        }
    }
}

/// Starts the thread with a first state, which is searched at once.
pub fn start(shared: &Arc<Shared>, first: Arc<State>) -> Arc<Slot> {
    let slot = Arc::new(Slot::default());
    slot.lock().state = Some((first, Instant::now()));
    let (jobs, shared) = (Arc::clone(&slot), Arc::clone(shared));
    let thread = std::thread::Builder::new().name("search".to_owned()).stack_size(STACK);
    let started = thread.spawn(move || {
        let mut charts = Charts::default();
        let one = |warm: Result<Warm<'_>, Failure>, state: Arc<State>| {
            let _stumble = Stumble { state: &state, shared: &shared };
            let made = made(warm, &state, &shared, &mut charts);
            if let Some((done, earlier)) = made {
                finish(done, earlier, &shared);
            }
        };
        work(|| jobs.next(), |state| state, one);
    });
    if let Err(error) = started {
        anstream::eprintln!("note: no thread for searching could be started: {error}");
    }
    slot
}

/// Searches a state; nothing where something newer came in between.
fn made(
    warm: Result<Warm<'_>, Failure>,
    state: &State,
    shared: &Shared,
    charts: &mut Charts,
) -> Option<(Done, Option<Earlier>)> {
    let warm = match warm {
        Ok(warm) => warm,
        Err(failure) => {
            let view = View::failed(state.revision, format!("{failure}; {}", failure.help()));
            return Some((Done::of(view, None, state), None));
        }
    };
    let is_old = || shared.newest() != state.revision;
    let orders = Orders { top: WEIGHED, rulings: &state.given.rulings, stop: Some(&is_old) };
    let checked = Checked::searched(warm.reader, warm.study, state.source(), state.options(), &orders);
    if is_old() {
        return None;
    }
    let earlier = shared.earlier.lock().unwrap_or_else(PoisonError::into_inner).clone();
    let view = View::of(state.revision, &checked, &state.given, charts, earlier.as_deref());
    let earlier = Earlier::of(&checked, &view);
    Some((Done::of(view, Some(&checked), state), Some(earlier)))
}

/// Tells those who wait when the search of a state panics, so that nobody waits for ever.
struct Stumble<'a> {
    state: &'a State,
    shared: &'a Shared,
}

impl Drop for Stumble<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let message = "the program stumbled over this text; what was saved is safe. Please report it";
            let view = View::failed(self.state.revision, message.to_owned());
            finish(Done::of(view, None, self.state), None, self.shared);
        }
    }
}

fn finish(done: Done, earlier: Option<Earlier>, shared: &Shared) {
    *shared.earlier.lock().unwrap_or_else(PoisonError::into_inner) = earlier.map(Arc::new);
    let event = Event::View(done.json.clone());
    shared.done.send_replace(Some(Arc::new(done)));
    // Where nobody listens, nobody is told.
    let _ = shared.events.send(event);
}

impl Done {
    fn of(view: View, checked: Option<&Checked>, state: &State) -> Done {
        let pieces = checked.map_or(&[][..], |checked| checked.reading().pieces.as_slice());
        Done {
            json: serde_json::to_vec(&view).unwrap_or_default().into(),
            view,
            marks: marks(pieces),
            charts: (0..pieces.len()).map(|index| chart_of(pieces, index).ok()).collect(),
            pieces: (0..pieces.len()).map(|index| named(pieces, index)).collect(),
            gauge: state.given.gauge,
            terms: state.given.terms,
            along: OnceLock::new(),
        }
    }

    /// The pieces row by row, made when they are first asked for.
    pub fn along(&self) -> &[AlongPiece] {
        self.along.get_or_init(|| self.pieces.iter().map(|piece| AlongPiece::of(piece, self.terms)).collect())
    }
}

fn named(pieces: &[PieceReading], index: usize) -> Piece {
    Piece { name: piece_name(pieces, index), ..pieces[index].piece.clone() }
}

//! One open project: its text read at once after every change, searched soon after, and its cloth last of all.
//!
//! ```text
//! put ─┬─▶ reading  a thread with a warm reader; answers within a keystroke, newest only
//!      └─▶ search   a thread with another; waits for a pause, is given up when something newer comes
//!             └─▶ done ─▶ cloth   one piece after the other, for whoever looks at it
//! ```
//!
//! Readings share parts that cannot leave their thread; what leaves it is the [`View`] and the programs of the pieces.
//! Knows states of a project; not how they are kept, nor HTTP.

mod cloth;
mod reading;
mod search;
mod warm;

pub use self::cloth::{ClothPiece, LARGEST, picture_of};
pub use self::search::Done;
pub use self::warm::{State, checked};

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use axum::body::Bytes;
use tokio::sync::{broadcast, oneshot, watch};

use self::cloth::Cloths;
use self::search::Slot;
use crate::app::view::Earlier;
use crate::app::wire::{NeedlesEvent, StateEvent, View};

/// What windows are told of a project, each as JSON.
#[derive(Clone, Debug)]
pub enum Event {
    /// Someone changed it.
    State(Bytes),
    /// A view: a complete one, or one without a search that was too late for the answer to its change.
    View(Bytes),
    /// Its cloth.
    Cloth(Bytes),
    /// She went on or back at the needles.
    Needles(Bytes),
}

/// How many events a slow window may be behind before it misses some.
const BEHIND: usize = 16;

/// What both threads and those who wait for them share.
pub struct Shared {
    /// The newest revision.
    newest: AtomicU64,
    /// The last complete view.
    done: watch::Sender<Option<Arc<Done>>>,
    earlier: Mutex<Option<Arc<Earlier>>>,
    events: broadcast::Sender<Event>,
}

/// An open project.
pub struct Desk {
    shared: Arc<Shared>,
    state: Mutex<Arc<State>>,
    reading: std::sync::mpsc::Sender<reading::Job>,
    search: Arc<Slot>,
    cloths: Cloths,
    /// The newest revision of which the search was followed up.
    followed: AtomicU64,
}

impl Desk {
    /// Opens a project and begins to search it.
    pub fn open(state: State) -> Desk {
        let state = Arc::new(state);
        let shared = Arc::new(Shared {
            newest: AtomicU64::new(state.revision),
            done: watch::Sender::new(None),
            earlier: Mutex::new(None),
            events: broadcast::Sender::new(BEHIND),
        });
        let reading = reading::start(&shared);
        let search = search::start(&shared, Arc::clone(&state));
        // The first reading is the slowest; nobody waits for this one.
        let _ = reading.send(reading::Job::to_warm_up(&state));
        Desk {
            shared,
            state: Mutex::new(state),
            reading,
            search,
            cloths: Cloths::default(),
            followed: AtomicU64::new(u64::MAX),
        }
    }

    /// Takes a newer state and tells all windows; an older one is passed over.
    pub fn put(&self, state: State, event: &StateEvent) {
        let state = Arc::new(state);
        {
            let mut newest = self.state.lock().unwrap_or_else(PoisonError::into_inner);
            if state.revision <= newest.revision {
                return;
            }
            *newest = Arc::clone(&state);
            self.shared.newest.store(state.revision, Ordering::SeqCst);
        }
        self.shared.tell(Event::State, event);
        self.search.put(state);
    }

    /// The newest state.
    pub fn state(&self) -> Arc<State> {
        Arc::clone(&self.state.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// The newest state read without a search; `None` where something newer came in between.
    pub async fn read(&self) -> Option<View> {
        let (reply, answer) = oneshot::channel();
        let earlier = self.shared.earlier.lock().unwrap_or_else(PoisonError::into_inner).clone();
        self.reading.send(reading::Job { state: self.state(), earlier, reply }).ok()?;
        answer.await.ok()?
    }

    /// Tells all windows a view without a search that came late, unless there is something newer or better.
    pub fn tell_late(&self, view: &View) {
        if view.revision == self.shared.newest() && self.done_already().is_none() {
            self.shared.tell(Event::View, view);
        }
    }

    /// Tells all windows of a move at the needles.
    pub fn tell_move(&self, event: &NeedlesEvent) {
        self.shared.tell(Event::Needles, event);
    }

    /// Everything made of the newest state, when it is there.
    pub async fn done(&self) -> Option<Arc<Done>> {
        let mut watch = self.shared.done.subscribe();
        let is_newest = |done: &Option<Arc<Done>>| {
            done.as_ref().is_some_and(|done| done.view.revision >= self.shared.newest())
        };
        let done = watch.wait_for(is_newest).await.ok()?;
        done.clone()
    }

    /// Everything made of the newest state, if it is there already.
    pub fn done_already(&self) -> Option<Arc<Done>> {
        let done = self.shared.done.borrow().clone();
        done.filter(|done| done.view.revision == self.shared.newest())
    }

    /// Whether the caller is the first to follow up the search of a revision.
    pub fn claim(&self, revision: u64) -> bool {
        self.followed.swap(revision, Ordering::SeqCst) != revision
    }

    /// What happens from now on.
    pub fn events(&self) -> broadcast::Receiver<Event> {
        self.shared.events.subscribe()
    }

    /// Whether any window listens.
    pub fn is_watched(&self) -> bool {
        self.shared.events.receiver_count() > 0
    }

    /// The cloth of a piece of the newest state.
    pub async fn cloth(&self, piece: usize) -> Option<Arc<ClothPiece>> {
        let done = self.done().await?;
        self.cloths.of(&done, piece).await
    }

    /// Works out the cloth of all pieces and tells the windows, unless something newer comes in between.
    pub async fn drape(&self, done: &Done) {
        let is_newest = || done.view.revision == self.shared.newest();
        let mut told = Vec::with_capacity(done.pieces.len());
        for piece in 0..done.pieces.len() {
            if !is_newest() {
                return;
            }
            match self.cloths.of(done, piece).await {
                Some(cloth) => told.push(cloth.info(piece)),
                None => return,
            }
        }
        if is_newest() {
            let event = crate::app::wire::ClothEvent { revision: done.view.revision, pieces: told };
            self.shared.tell(Event::Cloth, &event);
        }
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        self.shared.newest.store(u64::MAX, Ordering::SeqCst);
        self.search.close();
    }
}

impl Shared {
    fn newest(&self) -> u64 {
        self.newest.load(Ordering::SeqCst)
    }

    /// Tells all windows; where nobody listens, nobody is told.
    fn tell(&self, event: impl Fn(Bytes) -> Event, body: &impl serde::Serialize) {
        if let Ok(json) = serde_json::to_vec(body) {
            let _ = self.events.send(event(json.into()));
        }
    }
}

//! What all requests share: the shelf, the projects that are open, and what the program must tell.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{SystemTime, UNIX_EPOCH};

use shelf::{ProjectId, Shelf, Stored, Timestamp};
use tokio::sync::{Semaphore, watch};

use crate::app::desk::{Desk, State};
use crate::app::refused::Refused;
use crate::app::translate;
use crate::app::wire::StateEvent;

/// Projects that stay open when nobody looks at them, so that going back to one is quick.
const OPEN: usize = 6;

/// Texts that are read from the beginning at the same time.
const READINGS: usize = 2;

/// The running app.
pub struct Running {
    shelf: Mutex<Shelf>,
    desks: Mutex<Desks>,
    readings: Semaphore,
    /// The folder of the shelf.
    pub folder: PathBuf,
    /// What she must be told.
    pub notices: Vec<String>,
    /// Becomes true when the program ends.
    pub ending: watch::Receiver<bool>,
}

/// The open projects, each with when it was used last.
#[derive(Default)]
struct Desks {
    open: HashMap<ProjectId, (Arc<Desk>, u64)>,
    used: u64,
}

impl Running {
    /// The app on a shelf.
    pub fn new(shelf: Shelf, notices: Vec<String>, ending: watch::Receiver<bool>) -> Running {
        let folder = shelf.folder().to_owned();
        Running {
            shelf: Mutex::new(shelf),
            desks: Mutex::default(),
            readings: Semaphore::new(READINGS),
            folder,
            notices,
            ending,
        }
    }

    /// Does something with the shelf, where waiting for the disk holds nobody else up.
    ///
    /// # Errors
    /// [`Refused`] with what the shelf says.
    pub async fn shelf<T: Send + 'static, E: Into<Refused> + Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&mut Shelf) -> Result<T, E> + Send + 'static,
    ) -> Result<T, Refused> {
        let running = Arc::clone(self);
        let done = tokio::task::spawn_blocking(move || work(&mut running.lock_shelf())).await;
        done.map_err(|_| Refused::stumbled())?.map_err(Into::into)
    }

    fn lock_shelf(&self) -> MutexGuard<'_, Shelf> {
        // A panic leaves the shelf whole: what was not committed is taken back.
        self.shelf.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Reads a text from the beginning, for something that is asked for seldom; only few at the same time.
    ///
    /// # Errors
    /// [`Refused`] with what the work says.
    pub async fn reading<T: Send + 'static, E: Into<Refused> + Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, E> + Send + 'static,
    ) -> Result<T, Refused> {
        let _turn = self.readings.acquire().await;
        let done = tokio::task::spawn_blocking(work).await;
        done.map_err(|_| Refused::stumbled())?.map_err(Into::into)
    }

    /// The project, opened if it is not.
    ///
    /// # Errors
    /// [`Refused`] where there is no such project.
    pub async fn desk(self: &Arc<Self>, id: ProjectId) -> Result<Arc<Desk>, Refused> {
        if let Some(desk) = self.desks().find(id) {
            return Ok(desk);
        }
        let stored = self.shelf(move |shelf| shelf.project(id)).await?;
        let desk = self.desks().open(id, || Desk::open(state(&stored)));
        // It may have been changed before the desk was there to be told.
        let stored = self.shelf(move |shelf| shelf.project(id)).await?;
        desk.put(state(&stored), &event(&stored, String::new()));
        Ok(desk)
    }

    /// The project, if it is open.
    pub fn open_desk(&self, id: ProjectId) -> Option<Arc<Desk>> {
        self.desks().find(id)
    }

    /// Gives a new state to the project and tells its windows.
    pub fn changed(self: &Arc<Self>, id: ProjectId, desk: &Arc<Desk>, stored: &Stored, window: String) {
        let event = event(stored, window);
        desk.put(state(stored), &event);
        // The desk may have been closed and another opened while the change was made.
        if let Some(open) = self.desks().find(id).filter(|open| !Arc::ptr_eq(open, desk)) {
            open.put(state(stored), &event);
        }
        self.follow(id, desk);
    }

    /// When the search is done: notes what the list shows of the project, and works out the cloth for whoever looks.
    pub fn follow(self: &Arc<Self>, id: ProjectId, desk: &Arc<Desk>) {
        let (running, desk) = (Arc::clone(self), Arc::clone(desk));
        tokio::spawn(async move { crate::app::after::search(&running, id, &desk).await });
    }

    /// A window began to look at the project: works out its cloth, if that was not done for another.
    pub fn watched(self: &Arc<Self>, id: ProjectId, desk: &Arc<Desk>) {
        let (running, desk) = (Arc::clone(self), Arc::clone(desk));
        tokio::spawn(async move { crate::app::after::watched(&running, id, &desk).await });
    }

    fn desks(&self) -> MutexGuard<'_, Desks> {
        self.desks.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Desks {
    fn find(&mut self, id: ProjectId) -> Option<Arc<Desk>> {
        self.used += 1;
        let (desk, used) = self.open.get_mut(&id)?;
        *used = self.used;
        Some(Arc::clone(desk))
    }

    /// The desk that is open by now, or a new one; those that nobody has looked at for long are closed.
    fn open(&mut self, id: ProjectId, new: impl FnOnce() -> Desk) -> Arc<Desk> {
        if let Some(desk) = self.find(id) {
            return desk;
        }
        let idle = |desks: &Desks| {
            let unwatched = desks.open.iter().filter(|(_, (desk, _))| !desk.is_watched());
            unwatched.min_by_key(|(_, (_, used))| *used).map(|(id, _)| *id)
        };
        while self.open.len() >= OPEN {
            let Some(oldest) = idle(self) else { break };
            self.open.remove(&oldest);
        }
        let desk = Arc::new(new());
        self.open.insert(id, (Arc::clone(&desk), self.used));
        desk
    }
}

/// What windows are told of a change.
pub fn event(stored: &Stored, window: String) -> StateEvent {
    StateEvent {
        revision: translate::revision(stored.revision),
        window,
        undo: stored.undo.clone(),
        redo: stored.redo.clone(),
    }
}

/// The state of a project as the desk takes it.
pub fn state(stored: &Stored) -> State {
    state_of(&stored.project, translate::revision(stored.revision))
}

/// One state of a project, such as one that was kept under a name.
pub fn state_of(project: &shelf::Project, revision: u64) -> State {
    State {
        revision,
        title: project.title.clone(),
        text: project.text.clone(),
        glossary: project.glossary.clone(),
        given: translate::given(project),
    }
}

/// The moment; the one place that asks the clock what time it is.
pub fn now() -> Timestamp {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Timestamp::from_millis(i64::try_from(since.as_millis()).unwrap_or(i64::MAX))
}

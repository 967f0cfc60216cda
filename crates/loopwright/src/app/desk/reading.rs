//! The thread that reads after every change, without a search.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use tokio::sync::oneshot;

use super::Shared;
use super::warm::{STACK, State, Warm, work};
use crate::app::view::{Charts, Earlier};
use crate::app::wire::View;
use crate::checked::Checked;
use crate::failure::Failure;

/// A state to be read, and who waits for it.
pub struct Job {
    pub state: Arc<State>,
    pub earlier: Option<Arc<Earlier>>,
    pub reply: oneshot::Sender<Option<View>>,
}

impl Job {
    /// A reading that nobody waits for: the next one will be quicker.
    pub fn to_warm_up(state: &Arc<State>) -> Job {
        Job { state: Arc::clone(state), earlier: None, reply: oneshot::channel().0 }
    }
}

/// Starts the thread; it ends when nobody can send it anything.
pub fn start(shared: &Arc<Shared>) -> Sender<Job> {
    let (sender, jobs) = channel();
    let shared = Arc::clone(shared);
    let thread = std::thread::Builder::new().name("reading".to_owned()).stack_size(STACK);
    let started = thread.spawn(move || {
        let mut charts = Charts::default();
        let one = |warm: Result<Warm<'_>, Failure>, job: Job| {
            let view = view(warm, &job, &mut charts);
            // Who asked may have gone.
            let _ = job.reply.send(Some(view));
        };
        work(|| newest(&jobs, &shared), |job: &Job| &job.state, one);
    });
    if let Err(error) = started {
        // Without the thread every reading is answered as missing; searches may still work.
        anstream::eprintln!("note: no thread for reading could be started: {error}");
    }
    sender
}

/// The next job that is still of use.
fn newest(jobs: &Receiver<Job>, shared: &Shared) -> Option<Job> {
    loop {
        let job = jobs.recv().ok()?;
        if job.state.revision >= shared.newest() {
            return Some(job);
        }
        let _ = job.reply.send(None);
    }
}

fn view(warm: Result<Warm<'_>, Failure>, job: &Job, charts: &mut Charts) -> View {
    let state = &job.state;
    let warm = match warm {
        Ok(warm) => warm,
        Err(failure) => return View::failed(state.revision, format!("{failure}; {}", failure.help())),
    };
    let earlier = job.earlier.as_deref();
    let mut rulings = state.given.rulings.clone();
    rulings.extend(
        earlier.map_or_else(Vec::new, |earlier| earlier.applied_in(&state.text, &state.given.rulings)),
    );
    let checked = Checked::only_read(warm.reader, warm.study, state.source(), state.options(), rulings);
    View::of(state.revision, &checked, &state.given, charts, earlier)
}

//! A progress bar that shows itself only when the work lasts.
//!
//! Silent for the first second and where standard error is no terminal. The bar lives in a thread of its own;
//! dropping the [`Progress`] takes it off the screen.

use std::io::IsTerminal;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

/// How long nothing is shown.
const PATIENCE: Duration = Duration::from_secs(1);
/// How often the sign of life moves.
const TICK: Duration = Duration::from_millis(120);

/// Work under way.
pub struct Progress {
    running: Option<(Sender<&'static str>, JoinHandle<()>)>,
}

impl Progress {
    /// Begins work of so many steps.
    pub fn of(steps: u64) -> Progress {
        if !std::io::stderr().is_terminal() {
            return Progress { running: None };
        }
        let (sender, receiver) = channel();
        let thread = std::thread::spawn(move || show(steps, &receiver));
        Progress { running: Some((sender, thread)) }
    }

    /// Goes on to the next step.
    pub fn step(&self, what: &'static str) {
        if let Some((sender, _)) = &self.running {
            // The thread ends only when the sender is gone, so there is somebody to hear it.
            let _ = sender.send(what);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some((sender, thread)) = self.running.take() {
            drop(sender);
            // A bar that failed to draw is no reason to fail.
            let _ = thread.join();
        }
    }
}

fn show(steps: u64, receiver: &Receiver<&'static str>) {
    let start = Instant::now();
    let (mut done, mut what) = (0, "");
    loop {
        match receiver.recv_timeout(PATIENCE.saturating_sub(start.elapsed())) {
            Ok(next) => (done, what) = (done + 1, next),
            Err(RecvTimeoutError::Timeout) => break,
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
    let bar = ProgressBar::new(steps);
    if let Ok(style) = ProgressStyle::with_template("{spinner} {bar:24} {pos}/{len} {msg}") {
        bar.set_style(style);
    }
    bar.set_position(done);
    bar.set_message(what);
    bar.enable_steady_tick(TICK);
    for next in receiver {
        bar.inc(1);
        bar.set_message(next);
    }
    bar.finish_and_clear();
}

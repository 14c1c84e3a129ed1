//! The desk: one thread makes the changes that requests ask for, one after another.
//!
//! Changes take turns anyway. Were each request's own thread to wait at the gate, every change would
//! end with waking the next thread, which then waits for a processor among all that answer requests;
//! one thread that goes on with the next change does not wait. It makes the server's changes nearly
//! as fast as one loop that does nothing else.

use std::panic::AssertUnwindSafe;
use std::sync::OnceLock;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::time::{Duration, Instant};

use crate::error::Error;

/// A change that keeps by itself what came of it.
pub(super) type Job = Box<dyn FnOnce() + Send>;

/// Whoever waited this long at the desk is told so, and nothing is changed.
const PATIENCE: Duration = Duration::from_secs(10);
/// How many may wait at the desk.
const QUEUE: usize = 512;

/// A change that waits, and whom to tell that it was made.
struct Waiting {
    job: Job,
    since: Instant,
    tell: Sender<()>,
}

/// Where changes are handed in. Its thread starts with the first and ends with the desk.
#[derive(Debug, Default)]
pub(super) struct Desk(OnceLock<SyncSender<Waiting>>);

impl Desk {
    /// Has a change made in its turn, and waits until it was.
    ///
    /// # Errors
    /// [`Error::Busy`] when its turn does not come in time; [`Error::Broken`] when it fell over.
    pub(super) fn make(&self, job: Job) -> Result<(), Error> {
        let (tell, told) = channel();
        let since = Instant::now();
        let desk = self.0.get_or_init(open);
        desk.try_send(Waiting { job, since, tell }).map_err(|_full_or_closed| Error::Busy)?;
        // Nothing is told of a change that fell over, nor of one that waited too long.
        told.recv().map_err(|e| {
            if since.elapsed() > PATIENCE { Error::Busy } else { Error::broken("desk", e) }
        })
    }
}

fn open() -> SyncSender<Waiting> {
    let (sender, jobs) = sync_channel(QUEUE);
    let thread = std::thread::Builder::new().name("desk".to_owned());
    if let Err(e) = thread.spawn(move || work(&jobs)) {
        // Without a thread the queue is closed, and every change is answered with “busy”.
        tracing::error!("no thread for changes: {e}");
    }
    sender
}

fn work(desk: &Receiver<Waiting>) {
    while let Ok(Waiting { job, since, tell }) = desk.recv() {
        if since.elapsed() > PATIENCE {
            continue;
        }
        // One change that falls over must not take the desk with it.
        if std::panic::catch_unwind(AssertUnwindSafe(job)).is_ok() {
            // Who asked may be gone; the change stands all the same.
            let _ = tell.send(());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_made_one_at_a_time_and_one_that_falls_over_alone() {
        let desk = Desk::default();
        let inside = std::sync::atomic::AtomicUsize::new(0);
        let inside = std::sync::Arc::new(inside);
        std::thread::scope(|scope| {
            for n in 0..40 {
                let (desk, inside) = (&desk, inside.clone());
                scope.spawn(move || {
                    let made = desk.make(Box::new(move || {
                        use std::sync::atomic::Ordering::SeqCst;
                        assert_eq!(inside.fetch_add(1, SeqCst), 0, "somebody else is at the desk");
                        std::thread::yield_now();
                        inside.fetch_sub(1, SeqCst);
                        assert!(n % 8 != 0, "this one falls over on purpose");
                    }));
                    assert_eq!(made.is_ok(), n % 8 != 0, "{made:?}");
                });
            }
        });
    }
}

//! What this server knows of the pulse: asked at most twice a second, and only while somebody
//! watches.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use parking_lot::Mutex;

use super::{days, store};
use crate::clock::Span;
use crate::db::Db;
use crate::error::Error;

/// How often the database is asked.
const EVERY: Duration = Duration::from_millis(500);
/// How many pages may watch one server.
const MOST: usize = 400;

#[derive(Debug, Default)]
struct Seen {
    asked: Option<Instant>,
    is_asking: bool,
    count: i64,
    days: HashMap<i64, i64>,
}

/// The pulse as this server last saw it, and who watches it.
#[derive(Debug, Default)]
pub struct Watch {
    seen: Mutex<Seen>,
    closing: AtomicBool,
    watching: AtomicUsize,
}

/// One watcher's place; given back when it is dropped.
#[derive(Debug)]
pub struct Place(Arc<Watch>);

impl Drop for Place {
    fn drop(&mut self) {
        self.0.watching.fetch_sub(1, Ordering::SeqCst);
    }
}

impl Watch {
    /// Ends all streams, because the server stops.
    pub fn close(&self) {
        self.closing.store(true, Ordering::SeqCst);
    }

    /// Whether streams shall end.
    #[must_use]
    pub fn is_closing(&self) -> bool {
        self.closing.load(Ordering::SeqCst)
    }

    /// How many watch.
    #[must_use]
    pub fn watching(&self) -> usize {
        self.watching.load(Ordering::SeqCst)
    }

    /// A place for one more watcher.
    ///
    /// # Errors
    /// [`Error::Busy`] when there is none, or the server stops.
    pub fn enter(self: &Arc<Watch>) -> Result<Place, Error> {
        if self.is_closing() {
            return Err(Error::Busy);
        }
        if self.watching.fetch_add(1, Ordering::SeqCst) >= MOST {
            self.watching.fetch_sub(1, Ordering::SeqCst);
            return Err(Error::Busy);
        }
        Ok(Place(self.clone()))
    }

    /// The latest count known for a stretch, after asking the database if it is time to.
    ///
    /// # Errors
    /// As the database's.
    pub async fn latest(&self, db: &Db, span: Span) -> Result<i64, Error> {
        if let Some(since) = self.turn() {
            let found = db.read(move |conn| store::changed(conn, since)).await;
            let mut seen = self.seen.lock();
            seen.is_asking = false;
            let (count, changed) = found?;
            seen.count = count;
            seen.days.extend(changed);
        }
        let (from, to) = days(span);
        let seen = self.seen.lock();
        let of = |day: i64| seen.days.get(&day).copied().unwrap_or(0);
        Ok((from..=to.min(from + 40)).map(of).max().unwrap_or(0).max(of(store::EVERY_DAY)))
    }

    /// Whether it is the caller's turn to ask, and since which count.
    fn turn(&self) -> Option<i64> {
        let mut seen = self.seen.lock();
        let is_due = seen.asked.is_none_or(|at| at.elapsed() >= EVERY);
        // Who asked and was dropped before the answer must not keep the others from asking.
        let is_stuck = seen.asked.is_some_and(|at| at.elapsed() >= 20 * EVERY);
        if !is_due || (seen.is_asking && !is_stuck) {
            return None;
        }
        seen.asked = Some(Instant::now());
        seen.is_asking = true;
        Some(seen.count)
    }
}

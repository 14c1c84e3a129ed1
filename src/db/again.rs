//! What is tried again, and how often: a change that met another one, a connection that was cut.

use std::time::{Duration, Instant};

use diesel::r2d2::{Pool, R2D2Connection};

use super::Work;
use super::connect::Manager;
use crate::error::Error;

/// As many connections that were cut are given up without a pause: more than a pool holds.
const CUT: u32 = 8;
/// How often a change that met another one is tried again.
const TRIES: u32 = 6;
/// After so long nothing is tried again: whoever waits is told.
const PATIENCE: Duration = Duration::from_secs(4);

/// Why an attempt failed.
pub(super) enum Failed {
    /// Its connection was cut and is given up; the next may stand.
    Cut(Error),
    Otherwise(Error),
}

impl From<Error> for Failed {
    fn from(e: Error) -> Failed {
        Failed::Otherwise(e)
    }
}

impl From<Failed> for Error {
    fn from(failed: Failed) -> Error {
        match failed {
            Failed::Cut(e) | Failed::Otherwise(e) => e,
        }
    }
}

/// Work on a connection of a pool. One that a server cut, which was perhaps only started anew, is
/// known by its silence, and does not go back to the pool.
pub(super) fn on(pool: &Pool<Manager>, work: Work<'_>) -> Result<(), Failed> {
    let conn = &mut *pool.get().map_err(Error::from)?;
    work(conn).map_err(|e| match e.is_passing() && conn.ping().is_err() {
        true => Failed::Cut(e),
        false => Failed::Otherwise(e),
    })
}

/// Tries again what failed only because others were there, with growing and uneven pauses, or
/// because a connection was cut, at once.
pub(super) fn again(attempt: &dyn Fn() -> Result<(), Failed>) -> Result<(), Error> {
    let (begun, mut tries, mut cut) = (Instant::now(), 0, 0);
    loop {
        match attempt() {
            Err(Failed::Cut(_)) if cut < CUT => cut += 1,
            Err(Failed::Cut(e) | Failed::Otherwise(e))
                if e.is_passing() && tries < TRIES && begun.elapsed() < PATIENCE =>
            {
                tries += 1;
                let jitter = rand::random_range(5..25);
                std::thread::sleep(Duration::from_millis(jitter << tries.min(4)));
            }
            done => return Ok(done?),
        }
    }
}

//! Passwords: how they are kept and compared. Slow on purpose, so never inside a transaction.

use std::time::Duration;

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use parking_lot::{Condvar, Mutex};

use super::email::composed;
use crate::error::Error;

/// How a try went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Not this one.
    Wrong,
    /// This one.
    Right,
    /// This one, but kept in an older way: keep it afresh.
    RightButOld,
}

/// Memory in KiB, passes, lanes: OWASP's Argon2id minimum (Password Storage Cheat Sheet).
const FULL: (u32, u32, u32) = (19_456, 2, 1);
/// The least the algorithm takes; for tests alone.
const QUICK: (u32, u32, u32) = (8, 1, 1);

/// Salt and hash of nothing anybody types, for comparing where there is no account.
const NOBODY: &str = "bm9ib2R5aXNoZXJlIQ$T9HQtHvYR7TkGqzKYdtX1e1ZcLyeW3PUZlsWQ2o8Xbk";

fn cost(quick: bool) -> (u32, u32, u32) {
    if quick { QUICK } else { FULL }
}

fn hasher(quick: bool) -> Result<Argon2<'static>, Error> {
    let (memory, passes, lanes) = cost(quick);
    let params =
        Params::new(memory, passes, lanes, None).map_err(|e| Error::broken("password", e))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// What the database keeps of a password. `quick` is for tests alone.
///
/// # Errors
/// [`Error::Busy`] when too many are being worked on.
pub fn hash(quick: bool, password: &str) -> Result<String, Error> {
    let _place = Place::wait()?;
    let kept: PasswordHash = hasher(quick)?
        .hash_password(composed(password).as_bytes())
        .map_err(|e| Error::broken("password", e))?;
    Ok(kept.to_string())
}

/// Compares a password with what is kept. Where nothing is kept the same work is done, so that
/// the time taken does not tell whether there is an account.
///
/// # Errors
/// [`Error::Busy`] when too many are being worked on.
pub fn verify(quick: bool, kept: Option<&str>, password: &str) -> Result<Verdict, Error> {
    let (memory, passes, lanes) = cost(quick);
    let head = format!("$argon2id$v=19$m={memory},t={passes},p={lanes}$");
    let nobody = format!("{head}{NOBODY}");
    let known = PasswordHash::new(kept.unwrap_or(&nobody))
        .map_err(|e| Error::broken("kept password", e))?;
    let password = composed(password);
    let _place = Place::wait()?;
    let fits = hasher(quick)?.verify_password(password.as_bytes(), &known).is_ok();
    Ok(match kept {
        Some(kept) if fits && kept.starts_with(&head) => Verdict::Right,
        Some(_) if fits => Verdict::RightButOld,
        _ => Verdict::Wrong,
    })
}

/// At most this many at a time: each takes 19 MiB and a whole processor.
const AT_ONCE: u32 = 2;
/// At most this many more may wait; whoever comes then is told that the house is busy.
const WAITING: u32 = 40;

struct Queue {
    working: u32,
    waiting: u32,
}

static QUEUE: Mutex<Queue> = Mutex::new(Queue { working: 0, waiting: 0 });
static FREED: Condvar = Condvar::new();

struct Place;

impl Place {
    fn wait() -> Result<Place, Error> {
        let mut queue = QUEUE.lock();
        if queue.waiting >= WAITING {
            return Err(Error::Busy);
        }
        queue.waiting += 1;
        let waited =
            FREED.wait_while_for(&mut queue, |q| q.working >= AT_ONCE, Duration::from_secs(15));
        queue.waiting -= 1;
        if waited.timed_out() && queue.working >= AT_ONCE {
            return Err(Error::Busy);
        }
        queue.working += 1;
        Ok(Place)
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        QUEUE.lock().working -= 1;
        FREED.notify_one();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_is_recognised_however_its_accents_are_typed() {
        let kept = hash(true, "caf\u{e9} at the pier").unwrap();
        let tried = |p| verify(true, Some(&kept), p).unwrap();
        assert_eq!(tried("cafe\u{301} at the pier"), Verdict::Right);
        assert_eq!(tried("cafe at the pier"), Verdict::Wrong);
    }

    #[test]
    fn nobody_has_a_password_that_fits() {
        assert_eq!(verify(true, None, "").unwrap(), Verdict::Wrong);
        assert_eq!(verify(true, None, "nobodyishere").unwrap(), Verdict::Wrong);
    }

    #[test]
    fn what_was_kept_with_other_figures_fits_but_is_old() {
        let kept = hash(true, "a gannet over the harbour").unwrap();
        assert!(kept.starts_with("$argon2id$v=19$m=8,t=1,p=1$"));
        let verdict = verify(false, Some(&kept), "a gannet over the harbour").unwrap();
        assert_eq!(verdict, Verdict::RightButOld);
    }

    #[test]
    fn the_figures_of_a_real_server_are_the_published_ones() {
        // OWASP Password Storage Cheat Sheet: Argon2id, m = 19456 KiB, t = 2, p = 1.
        assert!(hash(false, "x").unwrap().starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
    }
}

//! The worker: claims a few due letters under a lease, sends them outside any transaction, marks
//! them. Two servers may share one outbox; a letter repeats only if a server dies between sending
//! and marking, and then under the same Message-ID.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::compose;
use super::mailer::Trouble;
use super::store::{self, LetterRow, Outcome};
use crate::app::App;
use crate::error::Error;
use crate::secrets;

/// Letters claimed at once.
const FEW: i64 = 5;
/// For how long; longer than these few can take with a hanging mail server.
const LEASE_S: i64 = 120;
/// No new try is begun when less of the lease than this is left.
const MARGIN: Duration = Duration::from_secs(40);
/// Tries before a letter is parked: pauses of 1, 2, 4 ... minutes, a day at the longest.
const TRIES: i64 = 12;
const LONGEST_PAUSE_S: i64 = 86_400;

/// Works until told to stop.
pub fn run(app: &App, stop: &AtomicBool) {
    let worker = secrets::token();
    while !stop.load(Ordering::SeqCst) {
        let done = turn(app, &worker);
        let pause = match &done {
            Ok(0) => 1000,
            Ok(_) => 0,
            Err(e) => {
                tracing::warn!(cause = %describe(e), "the outbox could not be worked on");
                3000
            }
        };
        app.metrics.job("outbox", done.is_ok());
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_millis(pause) && !stop.load(Ordering::SeqCst) {
            std::thread::sleep(Duration::from_millis(50));
        }
    }
    // What this worker still holds may go at once to another.
    let _ = app.db.write_now(|tx| store::release(tx, &worker));
}

fn describe(e: &Error) -> String {
    match e {
        Error::Broken(cause) => cause.clone(),
        other => other.to_string(),
    }
}

/// One turn: returns how many letters were taken in hand.
///
/// # Errors
/// As the database's; letters already sent in this turn are marked.
pub fn turn(app: &App, worker: &str) -> Result<usize, Error> {
    let now = app.clock.now();
    if app.db.read_now(|conn| store::due(conn, now))? == 0 {
        return Ok(0);
    }
    let begun = Instant::now();
    let letters = app.db.write_now(|tx| store::claim(tx, now, worker, (FEW, LEASE_S)))?;
    let lease = Duration::from_secs(u64::try_from(LEASE_S).unwrap_or_default());
    for letter in &letters {
        if begun.elapsed() + MARGIN > lease {
            break;
        }
        let outcome = send(app, letter);
        app.db.write_now(|tx| store::mark(tx, app.clock.now(), worker, letter.id, &outcome))?;
    }
    Ok(letters.len())
}

fn send(app: &App, letter: &LetterRow) -> Outcome {
    let made = app
        .db
        .read_now(|conn| compose::text(app, conn, letter))
        .and_then(|text| Ok((compose::message(app, letter, &text)?, text)));
    let (message, text) = match made {
        Ok(made) => made,
        Err(e) => return Outcome::Parked { said: describe(&e) },
    };
    match app.mailer.send(&message, &text, &letter.message_id) {
        Ok(()) => Outcome::Sent,
        Err(Trouble::Final(said)) => {
            tracing::warn!(letter = letter.id, said, "the mail server will not take a letter");
            Outcome::Parked { said }
        }
        Err(Trouble::Passing(said)) => {
            tracing::warn!(letter = letter.id, said, "a letter could not leave yet");
            if letter.attempts + 1 >= TRIES {
                return Outcome::Parked { said };
            }
            Outcome::Later { at: app.clock.now().plus(pause_s(letter.attempts)), said }
        }
    }
}

/// Seconds to wait after this many earlier tries.
fn pause_s(attempts: i64) -> i64 {
    let doublings = u32::try_from(attempts.clamp(0, 20)).unwrap_or(20);
    (60_i64 << doublings).min(LONGEST_PAUSE_S)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_grow_from_a_minute_to_a_day() {
        assert_eq!((0..4).map(pause_s).collect::<Vec<_>>(), [60, 120, 240, 480]);
        assert_eq!(pause_s(TRIES - 1), LONGEST_PAUSE_S);
        assert_eq!(pause_s(i64::MAX), LONGEST_PAUSE_S);
    }
}

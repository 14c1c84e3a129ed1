//! What the house does by itself: small verbs run by the clock, each told what time it is.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::members::passwords;
use crate::{links, sessions, throttle};

/// A repeated form or call is recognised for this long.
const ONCE_KEYS_S: i64 = 3 * 86_400;

mod hours;
pub use hours::{hours, keep_hours};

/// Works until told to stop: reads the studio's settings every few seconds, so that a change on
/// another server is seen here, and tidies up every minute.
pub fn run(app: &App, stop: &AtomicBool) {
    let mut tidied = Instant::now();
    while !stop.load(Ordering::SeqCst) {
        app.metrics.job("settings", app.refresh_studio().is_ok());
        if tidied.elapsed() > Duration::from_secs(60) {
            tidied = Instant::now();
            passwords::tidy();
            app.metrics.job("tidy", tidy(app, app.clock.now()).is_ok());
        }
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(3) && !stop.load(Ordering::SeqCst) {
            std::thread::sleep(Duration::from_millis(100));
        }
    }
}

/// Forgets what is over: sessions, what links carried, tries, once-keys.
///
/// # Errors
/// As the database's.
pub fn tidy(app: &App, now: Moment) -> Result<(), Error> {
    app.db.write_now(|tx| {
        sessions::sweep(tx, now)?;
        links::sweep(tx, now)?;
        throttle::sweep(tx, now)
    })?;
    app.db.forget_once_keys(now.plus(-ONCE_KEYS_S))?;
    Ok(())
}

//! What the house does by itself: small verbs run by the clock, each told what time it is.

mod backups;
mod hours;

use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::app::App;
use crate::bookings::Place;
use crate::clock::Moment;
use crate::db::lease::{self, Pace};
use crate::db::migrate;
use crate::error::Error;
use crate::incidents::{self, Here};
use crate::members::passwords;
use crate::{baths, day, keeping, links, rolls, sessions, shelf, sinks, throttle};

pub use backups::daily as back_up;
pub use hours::{follow_clock, hours, keep_hours};

/// A repeated form or call is recognised for this long.
const ONCE_KEYS_S: i64 = 3 * 86_400;

/// Works until told to stop: reads the studio's settings every few seconds, so that a change on
/// another server is seen here, asks whether the schema is still one for this program, and tidies
/// up every minute.
pub fn run(app: &App, stop: &AtomicBool) {
    let mut tidied = Instant::now();
    while !stop.load(Ordering::SeqCst) {
        app.metrics.job("settings", app.refresh_studio().is_ok());
        if let Err(Error::Refused { sentence, .. }) = app.db.read_now(migrate::may_go_on) {
            tracing::error!("this server stops: {sentence}");
            app.outgrown.store(true, Ordering::SeqCst);
            return;
        }
        if tidied.elapsed() > Duration::from_secs(60) {
            tidied = Instant::now();
            passwords::tidy();
            app.metrics.job("tidy", in_turn(app, "tidy", tidy).is_ok());
            app.metrics.job("baths", in_turn(app, "baths", watch_baths).is_ok());
            app.metrics.job("day letters", in_turn(app, "day letters", day_letters).is_ok());
            app.metrics.job("spread", count_spread(app).is_ok());
            let backup = back_up(app, app.clock.now());
            if let Err(e) = &backup {
                tracing::error!("no backup today: {e}");
            }
            app.metrics.job("backup", backup.is_ok());
        }
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(3) && !stop.load(Ordering::SeqCst) {
            std::thread::sleep(Duration::from_millis(100));
        }
    }
}

/// A job comes round every minute, to whichever server asks first; two minutes after a server died
/// in the middle of one, another takes it over.
const MINUTELY: Pace = Pace { every_s: 50, at_most_s: 120 };

/// Who we are among the servers of this studio.
fn own_name() -> &'static str {
    static NAME: OnceLock<String> = OnceLock::new();
    NAME.get_or_init(|| {
        let drawn: u64 = rand::random();
        format!("{}-{drawn:016x}", std::process::id())
    })
}

/// Does a job if it is this server's turn.
fn in_turn(
    app: &App,
    name: &'static str,
    work: impl Fn(&App, Moment) -> Result<(), Error>,
) -> Result<(), Error> {
    let Some(lease) = app.db.take_job(name, own_name(), MINUTELY)? else { return Ok(()) };
    let done = lease::under(&lease, || work(app, app.clock.now()));
    app.db.give_back(&lease)?;
    done
}

/// Once a day, and at once in a database in which it never was.
fn count_spread(app: &App) -> Result<(), Error> {
    const DAILY: Pace = Pace { every_s: 86_400, at_most_s: 600 };
    let Some(lease) = app.db.take_job("spread", own_name(), DAILY)? else { return Ok(()) };
    app.db.count_spread()?;
    app.db.give_back(&lease)
}

/// Writes the letters about tomorrow in the evening and about today in the morning.
///
/// # Errors
/// As the database's.
pub fn day_letters(app: &App, now: Moment) -> Result<(), Error> {
    let place = Place { now, ..app.place() };
    app.db.write_now(|tx| {
        day::follow_baths(tx, now)?;
        day::write_letters(tx, &place)
    })
}

/// Forgets what is over (sessions, what links carried, tries, once-keys), asks after negatives that
/// lie on the pick-up shelf for too long, and tells the time chart what stands on the shelf.
///
/// # Errors
/// As the database's.
pub fn tidy(app: &App, now: Moment) -> Result<(), Error> {
    app.db.write_now(|tx| {
        sessions::sweep(tx, now)?;
        links::sweep(tx, now)?;
        incidents::sweep(tx, now)?;
        throttle::sweep(tx, now)?;
        let usable = baths::on_the_shelf(tx, now)?.into_iter().filter(|(_, s)| s.is_usable());
        let mixed = usable.filter_map(|(bath, _)| bath.product_id).collect();
        shelf::tell_chart(tx, now, &mixed)?;
        keeping::sweep(tx, now)?;
        let (before, most) = keeping::holds_end(tx, now)?;
        sinks::forget_past(tx, before, most)?;
        rolls::remind(tx, now).map(|_written| ())
    })?;
    let here = Here { now, address: app.config.base_url.clone() };
    app.db.write_now(|tx| incidents::remind_of_eyewash(tx, &here))?;
    app.db.forget_once_keys(now.plus(-ONCE_KEYS_S))?;
    Ok(())
}

/// Looks at the age of the baths, and at what is published for tomorrow.
///
/// # Errors
/// As the database's.
pub fn watch_baths(app: &App, now: Moment) -> Result<(), Error> {
    if app.db.read_now(|conn| baths::ask_for_anything(conn, now))? {
        app.db.write_now(|tx| baths::watch(tx, now))?;
    }
    Ok(())
}

//! What the hours of the room bring by themselves.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::app::App;
use crate::bookings::{self, Place, waitlist};
use crate::clock::Moment;
use crate::db::lease::{self, Pace};
use crate::error::Error;
use crate::{customs, presence};

/// Works until told to stop: every minute all of [`hours`], and every ten seconds the waiting list
/// while somebody waits.
pub fn keep_hours(app: &App, stop: &AtomicBool) {
    app.metrics.job("clock", follow_clock(app, app.clock.now()).is_ok());
    let mut whole = Instant::now();
    let mut waited = Instant::now();
    while !stop.load(Ordering::SeqCst) {
        if whole.elapsed() > Duration::from_secs(60) {
            whole = Instant::now();
            waited = whole;
            app.metrics.job("hours", super::in_turn(app, "hours", hours).is_ok());
        } else if waited.elapsed() > Duration::from_secs(10) {
            waited = Instant::now();
            app.metrics.job("waiting list", pass_on(app).is_ok());
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}

fn place(app: &App, now: Moment) -> Place {
    Place { now, ..app.place() }
}

/// A newer program may know newer rules of the studio's time zone: coming bookings keep their local
/// times.
///
/// # Errors
/// As the database's.
pub fn follow_clock(app: &App, now: Moment) -> Result<(), Error> {
    let zone = app.zone();
    if app.db.read_now(|c| bookings::has_drifted(c, (now, zone)))? {
        let place = place(app, now);
        app.db.write_now(|tx| bookings::follow_new_rules(tx, &place).map(|_followed| ()))?;
    }
    Ok(())
}

fn pass_on(app: &App) -> Result<(), Error> {
    if app.db.read_now(waitlist::is_quiet)? {
        return Ok(());
    }
    let pace = Pace { every_s: 8, at_most_s: 60 };
    let Some(lease) = app.db.take_job("waiting list", super::own_name(), pace)? else {
        return Ok(());
    };
    let place = place(app, app.clock.now());
    let done = lease::under(&lease, || app.db.write_now(|tx| waitlist::turn(tx, &place)));
    app.db.give_back(&lease)?;
    done
}

/// What the hours bring: reminders, slots that nobody came for, offers that ran out, evenings left
/// open.
///
/// # Errors
/// As the database's.
pub fn hours(app: &App, now: Moment) -> Result<(), Error> {
    let place = place(app, now);
    app.db.write_now(|tx| {
        let customs = customs::load(tx)?;
        bookings::remind(tx, &place, customs.remind_min)?;
        presence::give_back_no_shows(tx, &place)?;
        waitlist::turn(tx, &place)?;
        presence::tell_of_evenings_left_open(tx, &place)
    })
}

//! Coming bookings derived anew from their local times: after the studio hung its clock in another
//! zone, or the rules of its zone changed.

use chrono::{NaiveDate, NaiveTime};

use super::{Booking, Place, changing, mail, store};
use crate::clock::{Moment, Span, WallFault, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::{Person, Role, Taste, Via};
use crate::sinks::{self, Lifted};
use crate::{duty, members};

/// A booking's local times as they were wished, and the instants they came to.
#[derive(Clone, Debug)]
pub(super) struct Walls {
    pub(super) id: i64,
    pub(super) date: NaiveDate,
    pub(super) from: NaiveTime,
    pub(super) to: NaiveTime,
    /// Of a time that happens twice: whether the second is meant.
    pub(super) second: (bool, bool),
    pub(super) span: Span,
}

impl Walls {
    /// The stretch these times name in a zone.
    fn span_in(&self, zone: Zone) -> Result<Span, String> {
        let next = self.date.succ_opt().unwrap_or(self.date);
        let day_of_end = if self.to == NaiveTime::MIN { next } else { self.date };
        let at = |date: NaiveDate, time: NaiveTime, second: bool| {
            zone.instant(date.and_time(time)).or_else(|fault| match fault {
                WallFault::Twice(first, _) if !second => Ok(first),
                WallFault::Twice(_, later) => Ok(later),
                WallFault::Missing => {
                    Err(format!("the clocks skip {} on that day", time.format("%H:%M")))
                }
            })
        };
        let from = at(self.date, self.from, self.second.0)?;
        let to = at(day_of_end, self.to, self.second.1)?;
        let longest = 3 * 86_400;
        let span = Span::new(from, to).filter(|s| s.seconds() < longest);
        span.ok_or_else(|| "it would end before it begins".to_owned())
    }
}

/// A booking that could not follow the clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Collision {
    /// As it was.
    pub booking: Booking,
    /// Why it could not follow.
    pub why: String,
    /// Whether it stands where it stood; else it was cancelled, and its owner told.
    pub stays: bool,
}

/// What came of following the clock.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Followed {
    /// How many bookings keep their local times at new instants.
    pub moved: usize,
    /// Those that could not.
    pub collisions: Vec<Collision>,
    /// How many runs of published plans stay at their instants.
    pub runs: usize,
}

/// Whether a coming booking is not where the clock of this zone puts it.
///
/// # Errors
/// As the database's.
pub fn has_drifted(conn: &mut Conn, (now, zone): (Moment, Zone)) -> Result<bool, Error> {
    let coming = store::walls(conn, now)?;
    Ok(coming.iter().any(|w| w.span_in(zone) != Ok(w.span)))
}

/// Moves coming bookings and duties to where the clock of `place` puts their local times, the
/// earlier made first. One that finds its place taken stays where it was, if that is still free;
/// else it is cancelled and its owner told.
///
/// # Errors
/// As the database's.
pub fn follow_clock(tx: &mut Tx<'_>, place: &Place, by: &Person) -> Result<Followed, Error> {
    let mut drifted = store::walls(tx, place.now)?;
    drifted.retain(|w| w.span_in(place.zone) != Ok(w.span));
    // All are lifted before the first is put down: neighbours must not be in each other's way.
    let mut lifted: Vec<(Walls, Lifted)> = Vec::new();
    for walls in drifted {
        let held = sinks::lift(tx, walls.id, walls.span)?;
        lifted.push((walls, held));
    }
    let mut followed = Followed::default();
    let mut left = Vec::new();
    for (walls, held) in lifted {
        let why = match walls.span_in(place.zone) {
            Err(why) => why,
            Ok(span) => match tx.attempt(|tx| sinks::put_down(tx, place.now, &held, span)) {
                Ok(()) => {
                    store::set_span(tx, place.now, walls.id, span)?;
                    followed.moved += 1;
                    continue;
                }
                Err(Error::Refused { .. }) => "that time is taken".to_owned(),
                Err(e) => return Err(e),
            },
        };
        left.push((walls, held, why));
    }
    for (walls, held, why) in left {
        let booking = store::one(tx, walls.id)?;
        let stays = match tx.attempt(|tx| sinks::put_down(tx, place.now, &held, walls.span)) {
            Ok(()) => true,
            Err(Error::Refused { .. }) => false,
            Err(e) => return Err(e),
        };
        if !stays {
            let reason = format!("the studio's clock changed, and {why}.");
            changing::take_away(tx, place, (&booking, by), &reason)?;
        }
        followed.collisions.push(Collision { booking, why, stays });
    }
    duty::follow_clock(tx, (place.now, place.zone))?;
    followed.runs = runs_ahead(tx, place.now)?;
    Ok(followed)
}

/// Runs of published plans that have not begun.
fn runs_ahead(conn: &mut Conn, now: Moment) -> Result<usize, Error> {
    let ahead = Span { from: now, to: now.plus(400 * 86_400) };
    let held = sinks::held(conn, sinks::Kind::SinkPlace, ahead)?;
    let is_run = |h: &&sinks::Held| matches!(h.why, sinks::Why::Run(_)) && h.span.from > now;
    Ok(held.iter().filter(is_run).count())
}

/// As [`follow_clock`], for a program whose zone rules are newer than the bookings: by itself, with
/// a letter to the leads about what could not follow.
///
/// # Errors
/// As the database's.
pub fn follow_new_rules(tx: &mut Tx<'_>, place: &Place) -> Result<Followed, Error> {
    let itself = Person {
        id: 0,
        name: "the studio".to_owned(),
        role: Role::Lead,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    };
    let followed = follow_clock(tx, place, &itself)?;
    if !followed.collisions.is_empty() {
        for lead in members::leads(tx)? {
            mail::clock_changed(tx, place, lead, &followed)?;
        }
    }
    Ok(followed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn walls(date: &str, from: &str, to: &str, second: (bool, bool)) -> Walls {
        let time = |t: &str| NaiveTime::parse_from_str(t, "%H:%M").unwrap();
        let span = Span { from: Moment(0), to: Moment(1) };
        let date = date.parse().unwrap();
        Walls { id: 1, date, from: time(from), to: time(to), second, span }
    }

    #[test]
    fn local_times_are_placed_by_the_rules_of_the_zone() {
        // EU summer time 2027 begins on 28 March and ends on 31 October (Directive 2000/84/EC).
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let long = |w: &Walls| w.span_in(dublin).map(|s| s.seconds() / 60);
        assert_eq!(long(&walls("2027-03-16", "22:00", "00:00", (false, false))), Ok(120));
        assert_eq!(long(&walls("2027-10-31", "01:30", "01:30", (false, true))), Ok(60));
        assert_eq!(long(&walls("2027-10-31", "01:30", "02:00", (false, false))), Ok(90));
        let skipped = walls("2027-03-28", "01:30", "03:00", (false, false));
        assert!(skipped.span_in(dublin).unwrap_err().contains("skip 01:30"));
        let backwards = walls("2027-10-31", "01:45", "01:15", (false, false));
        assert!(backwards.span_in(dublin).unwrap_err().contains("before it begins"));
    }
}

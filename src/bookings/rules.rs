//! When who may book: pure, with the time and the opening hours handed in.

use chrono::{Days, NaiveDate, NaiveTime, Timelike};

use crate::clock::{Moment, Span, WallFault, Zone};
use crate::error::Error;
use crate::sessions::Role;

/// The grid of bookings, in seconds.
pub const GRID_S: i64 = 900;
/// The longest booking, in seconds.
pub const LONGEST_S: i64 = 6 * 3600;
/// How many days ahead one may book.
pub const AHEAD_DAYS: i64 = 60;

/// Whether somebody of this standing may book at all.
///
/// # Errors
/// The rule that refuses.
pub fn may_book(role: Role, paused: bool) -> Result<(), Error> {
    if paused {
        return Err(rule("You are on a break, so you cannot book. Ask a lead to end the break."));
    }
    if role == Role::Newcomer {
        return Err(rule(
            "A newcomer works only while a lead is on duty, and cannot book alone yet. Ask a lead \
             to book with you.",
        ));
    }
    Ok(())
}

/// The stretch of time that these wall-clock times name; midnight as the end is the end of day.
///
/// # Errors
/// The field whose time does not exist, happens twice or is out of order.
pub fn span(zone: Zone, date: NaiveDate, from: NaiveTime, to: NaiveTime) -> Result<Span, Error> {
    let start = instant(zone, date, from, "from")?;
    let end = if to == NaiveTime::MIN {
        let next = date.checked_add_days(Days::new(1)).unwrap_or(date);
        instant(zone, next, to, "to")?
    } else {
        instant(zone, date, to, "to")?
    };
    for (name, time) in [("from", from), ("to", to)] {
        if time.minute() % 15 != 0 || time.second() != 0 {
            return Err(Error::field(name, "Choose a full quarter of an hour, such as 18:15."));
        }
    }
    Span::new(start, end)
        .ok_or_else(|| Error::field("to", "The end must come after the beginning, the same day."))
}

fn instant(zone: Zone, date: NaiveDate, time: NaiveTime, field: &str) -> Result<Moment, Error> {
    let shown = time.format("%H:%M");
    zone.instant(date.and_time(time)).map_err(|fault| match fault {
        WallFault::Missing => Error::field(
            field,
            format!("The clocks go forward that day and skip {shown}. Choose another time."),
        ),
        WallFault::Twice(..) => Error::field(
            field,
            format!("The clocks go back that day, so {shown} happens twice. Choose another time."),
        ),
    })
}

/// Whether the studio's rules let this time be booked.
///
/// # Errors
/// The rule that refuses.
pub fn check(now: Moment, open: &[Span], span: Span) -> Result<(), Error> {
    if span.from < now {
        return Err(rule("That time has begun already. Choose one that lies ahead."));
    }
    if span.from.since(now) > AHEAD_DAYS * 86_400 {
        return Err(rule("Bookings open 60 days ahead. Choose an earlier day."));
    }
    if !(GRID_S..=LONGEST_S).contains(&span.seconds()) {
        return Err(rule("A booking lasts from 15 minutes to 6 hours. Choose another end."));
    }
    if open.iter().any(|o| o.from <= span.from && span.to <= o.to) {
        Ok(())
    } else {
        Err(rule("The studio is not open for the whole of that time. The board shows when it is."))
    }
}

fn rule(sentence: &str) -> Error {
    Error::refused("rule", sentence)
}

/// The first quarter of an hour in the span that is free at one of so many places, if any.
#[must_use]
pub fn first_free(span: Span, taken: &[(i64, Span)], places: i64, now: Moment) -> Option<Moment> {
    let mut at = span.from;
    while at < span.to {
        let quarter = Span { from: at, to: at.plus(GRID_S) };
        let busy = taken.iter().filter(|(_, s)| s.meets(&quarter)).map(|(seat, _)| seat);
        let busy = busy.collect::<std::collections::BTreeSet<_>>().len();
        if at >= now && i64::try_from(busy).unwrap_or(i64::MAX) < places {
            return Some(at);
        }
        at = quarter.to;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(h: u32, m: u32) -> NaiveTime {
        NaiveTime::from_hms_opt(h, m, 0).unwrap()
    }

    #[test]
    fn skipped_and_repeated_times_are_refused_in_words() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let say = |d: &str| {
            span(dublin, d.parse().unwrap(), at(1, 30), at(4, 0)).unwrap_err().to_string()
        };
        assert!(say("2027-03-28").contains("skip 01:30"));
        assert!(say("2027-10-31").contains("happens twice"));
    }

    #[test]
    fn each_rule_refuses_just_past_its_edge() {
        let open = [Span { from: Moment(36_000), to: Moment(79_200) }];
        let s = |a, b| Span { from: Moment(a), to: Moment(b) };
        let ok = |now, span| check(Moment(now), &open, span).is_ok();
        assert!(ok(0, s(36_000, 36_900)) && ok(36_000, s(36_000, 57_600)));
        assert!(!ok(36_001, s(36_000, 36_900)), "begun");
        assert!(!ok(0, s(36_000, 57_601)), "too long");
        assert!(!ok(0, s(35_999, 37_000)) && !ok(0, s(79_000, 79_201)), "closed");
        assert!(!ok(36_000 - 60 * 86_400 - 1, s(36_000, 36_900)), "too far ahead");
        assert!(may_book(Role::Newcomer, false).is_err() && may_book(Role::Lead, true).is_err());
    }

    #[test]
    fn a_place_is_free_only_when_fewer_seats_are_taken_than_there_are() {
        let hour = Span { from: Moment(0), to: Moment(3600) };
        let half = Span { from: Moment(0), to: Moment(1800) };
        let free = |taken: &[(i64, Span)], places| first_free(hour, taken, places, Moment(0));
        assert_eq!(free(&[(1, half)], 1), Some(Moment(1800)));
        assert_eq!(free(&[(1, half)], 2), Some(Moment(0)));
        assert_eq!(free(&[(1, hour)], 1), None);
    }
}

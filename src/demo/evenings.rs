//! Two weeks of invented bookings: what was, what comes, and one evening that is full.

use chrono::{Days, NaiveTime};

use super::people::Ids;
use crate::bookings::{self, Place, Wish};
use crate::db::Tx;
use crate::error::Error;
use crate::outbox;
use crate::sessions::{Person, Role, Taste, Via};
use crate::sinks::{self, Inventory, Light};

/// In so many days both sinks are taken from 17:00 to 22:00.
pub(super) const FULL_EVENING: i64 = 3;

/// One of them: day from today, sink, hours, whose, tanks, dry reels of 135.
type Line = (i64, usize, (u32, u32), usize, &'static [usize], i64);

const PAST: [Line; 8] = [
    (-7, 0, (18, 20), 0, &[1], 2),
    (-6, 1, (10, 12), 1, &[2], 2),
    (-5, 0, (19, 21), 2, &[], 0),
    (-4, 1, (14, 17), 0, &[0], 4),
    (-4, 0, (18, 20), 1, &[1], 1),
    (-3, 2, (15, 18), 2, &[], 0),
    (-2, 0, (9, 11), 0, &[1], 2),
    (-1, 1, (18, 21), 1, &[1, 2], 4),
];

const COMING: [Line; 14] = [
    (1, 0, (18, 20), 0, &[1], 2),
    (1, 1, (20, 22), 1, &[2], 1),
    (2, 1, (10, 12), 2, &[1], 2),
    (2, 2, (14, 17), 0, &[], 0),
    (FULL_EVENING, 0, (17, 19), 0, &[1], 2),
    (FULL_EVENING, 1, (17, 20), 1, &[2], 2),
    (FULL_EVENING, 0, (19, 22), 2, &[0], 3),
    (FULL_EVENING, 1, (20, 22), 0, &[1], 1),
    (4, 0, (14, 16), 2, &[1], 2),
    (5, 0, (18, 20), 1, &[], 0),
    (6, 1, (17, 19), 0, &[2], 2),
    (7, 0, (10, 13), 2, &[0], 4),
    (8, 1, (18, 21), 1, &[1, 2], 3),
    (10, 0, (18, 20), 0, &[1], 2),
];

pub(super) fn book(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let all = sinks::inventory(tx)?;
    // Of what is past nobody wants a letter now.
    letters(tx, ids, false)?;
    for line in PAST {
        let then = Place { now: place.now.plus((line.0 - 2) * 86_400), ..place.clone() };
        let day = day(place, line.0);
        one(tx, (&then, day), ids, (&all, &line))?;
    }
    for line in COMING.iter().skip(4) {
        one(tx, (place, day(place, line.0)), ids, (&all, line))?;
    }
    letters(tx, ids, true)?;
    for line in COMING.iter().take(4) {
        one(tx, (place, day(place, line.0)), ids, (&all, line))?;
    }
    newcomer(tx, place, ids, &all)
}

fn letters(tx: &mut Tx<'_>, ids: &Ids, wanted: bool) -> Result<(), Error> {
    for member in &ids.members {
        outbox::want(tx, *member, "booking_made", wanted)?;
    }
    Ok(())
}

fn day(place: &Place, from_today: i64) -> chrono::NaiveDate {
    let today = place.zone.date(place.now);
    let days = Days::new(from_today.unsigned_abs());
    if from_today < 0 { today - days } else { today + days }
}

fn person(id: i64, role: Role) -> Person {
    Person {
        id,
        name: "Maren Ostervald".to_owned(),
        role,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    }
}

fn one(
    tx: &mut Tx<'_>,
    (place, date): (&Place, chrono::NaiveDate),
    ids: &Ids,
    (all, line): (&Inventory, &Line),
) -> Result<(), Error> {
    let (_, sink, (from, to), member, tanks, reels) = *line;
    let (Some(sink), Some(member)) = (all.sinks.get(sink), ids.members.get(member)) else {
        return Ok(());
    };
    let at = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or(NaiveTime::MIN);
    let first = (Some(false), Some(false));
    let span = bookings::rules::span(place.zone, date, (at(from), at(to)), first)?;
    let reel = all.reels.iter().find(|r| r.kind == "135");
    let wish = Wish {
        tank_ids: tanks.iter().filter_map(|t| all.tanks.get(*t).map(|t| t.id)).collect(),
        reels: reel.filter(|_| reels > 0).map(|r| (r.id, reels)).into_iter().collect(),
        light: if sink.is_sink { Light::White } else { Light::Safelight },
        note: if sink.is_sink { String::new() } else { "Contact prints".to_owned() },
        ..Wish::of(sink.id, span)
    };
    bookings::book(tx, place, &person(*member, Role::Member), &wish).map(|_| ())
}

/// A lead has booked with the newcomer, who cannot book alone yet.
fn newcomer(tx: &mut Tx<'_>, place: &Place, ids: &Ids, all: &Inventory) -> Result<(), Error> {
    let Some(sink) = all.sinks.get(1) else { return Ok(()) };
    let at = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or(NaiveTime::MIN);
    let first = (Some(false), Some(false));
    let times = (at(15), at(17));
    let span = bookings::rules::span(place.zone, day(place, 5), times, first)?;
    let wish = Wish {
        member: Some(ids.newcomer),
        note: "First roll together".to_owned(),
        ..Wish::of(sink.id, span)
    };
    bookings::book(tx, place, &person(ids.lead, Role::Lead), &wish).map(|_| ())
}

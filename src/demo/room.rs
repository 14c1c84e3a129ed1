//! The invented room: sinks, tanks, reels, hours, and a few bookings.

use chrono::{NaiveTime, Timelike};

use super::people::Ids;
use crate::bookings::{self, Place, Wish};
use crate::db::Tx;
use crate::error::Error;
use crate::sessions::{Person, Role, Taste, Via};
use crate::sinks::{self, Hours, ReelKind, Sink, Tank};

/// Open every day, so that the demonstration can be planned on whatever day it is looked at.
fn week() -> Vec<Hours> {
    (1..=7).map(|weekday| Hours { weekday, from_min: 9 * 60, to_min: 22 * 60 }).collect()
}

pub(super) fn furnish(tx: &mut Tx<'_>) -> Result<(), Error> {
    sinks::set_hours(tx, &week())?;
    for (position, name, note) in [
        (1, "North sink", "Under the window; the tap runs cold."),
        (2, "Harbour sink", "Fan above it."),
    ] {
        let (name, note) = (name.to_owned(), note.to_owned());
        sinks::add_sink(tx, &Sink { name, position, note, ..Sink::default() })?;
    }
    for (position, name, stack_mm, max_reels, min_ml, max_ml) in [
        (1, "Tank A", 210, 4, 300, 1250),
        (2, "Tank B", 105, 2, 300, 650),
        (3, "Tank C", 105, 2, 300, 650),
    ] {
        let tank = Tank {
            name: name.to_owned(),
            position,
            stack_mm,
            max_reels,
            base_ml: 10,
            min_ml,
            max_ml,
            ..Tank::default()
        };
        sinks::add_tank(tx, &tank)?;
    }
    for (kind, height_mm, cover_ml, owned) in [("135", 50, 290, 8), ("120", 70, 480, 4)] {
        let kind = kind.to_owned();
        let reels =
            ReelKind { kind, height_mm, cover_ml, owned, drying_s: 7200, ..ReelKind::default() };
        sinks::add_reels(tx, &reels)?;
    }
    Ok(())
}

/// Bookings for tomorrow and the days after.
pub(super) fn bookings(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let all = sinks::sinks(tx)?;
    for (n, (days, hour)) in
        [(1_u64, 18), (1, 20), (2, 10), (3, 18), (4, 14), (6, 17)].into_iter().enumerate()
    {
        let Some(id) = ids.members.get(n % ids.members.len().max(1)).copied() else { continue };
        let Some(sink) = all.get(n % all.len().max(1)) else { continue };
        let date = place.zone.date(place.now) + chrono::Days::new(days);
        let from = NaiveTime::MIN.with_hour(hour).unwrap_or(NaiveTime::MIN);
        let to = NaiveTime::MIN.with_hour(hour + 2).unwrap_or(NaiveTime::MIN);
        let person = Person {
            id,
            name: String::new(),
            role: Role::Member,
            paused: false,
            taste: Taste::default(),
            via: Via::Session(0),
        };
        let span = bookings::rules::span(place.zone, date, (from, to), (Some(false), Some(false)))?;
        bookings::book(tx, place, &person, &Wish::of(sink.id, span))?;
    }
    Ok(())
}

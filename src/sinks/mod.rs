//! The room itself: sinks, tanks, reels, stations, opening hours, and who holds which of them when.

pub(crate) mod api;
mod for_run;
mod furnish;
mod holds;
mod lifting;
mod pages;
mod rules;
mod seating;
mod store;
mod supply;
mod things;

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};

use crate::clock::{Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use for_run::{
    ForRun, LoadingPlaces, closed_to_loading, closed_to_runs, hang, hanging_places, promise_run,
};
pub use furnish::{
    add_reels, add_room, add_sink, add_station, add_tank, change_reels, change_room, change_sink,
    change_station, change_tank,
};
pub use holds::{
    FURTHER_NOTICE, Held, Kind, Outage, Why, add_outage, end_outage, forget_past, held,
    held_by_booking, hold, lights, need_light, outage_reasons, outages, promise, release_booking,
    release_offer, release_run, supply,
};
pub use lifting::{Lifted, lift, put_down};
pub use rules::{Hours, SpecialDay, hours_text, read_hours, read_loads, read_reel_formats};
pub use seating::most_at_once;
pub use supply::{Lit, Supply};
pub use things::{
    Inventory, Light, Load, ReelFormat, ReelKind, Room, Sink, Station, StationKind, Tank,
};

/// The sinks that are in the studio, in their order.
///
/// # Errors
/// As the database's.
pub fn sinks(conn: &mut Conn) -> Result<Vec<Sink>, Error> {
    let mut all = store::sinks(conn)?;
    all.retain(|s| s.is_sink && !s.retired);
    Ok(all)
}

/// Everything booked by the hour, in its order: sinks, stations of the studio's own naming, and
/// what is retired.
///
/// # Errors
/// As the database's.
pub fn all_sinks(conn: &mut Conn) -> Result<Vec<Sink>, Error> {
    store::sinks(conn)
}

/// The tanks that are in the studio, in their order.
///
/// # Errors
/// As the database's.
pub fn tanks(conn: &mut Conn) -> Result<Vec<Tank>, Error> {
    let mut all = store::tanks(conn)?;
    all.retain(|t| !t.retired);
    Ok(all)
}

/// All tanks, retired ones included.
///
/// # Errors
/// As the database's.
pub fn all_tanks(conn: &mut Conn) -> Result<Vec<Tank>, Error> {
    store::tanks(conn)
}

/// All kinds of reels.
///
/// # Errors
/// As the database's.
pub fn reel_kinds(conn: &mut Conn) -> Result<Vec<ReelKind>, Error> {
    store::reel_kinds(conn)
}

/// All loading places, washers and hanging places, retired ones included.
///
/// # Errors
/// As the database's.
pub fn stations(conn: &mut Conn) -> Result<Vec<Station>, Error> {
    store::stations(conn)
}

/// The rooms, in their order.
///
/// # Errors
/// As the database's.
pub fn rooms(conn: &mut Conn) -> Result<Vec<Room>, Error> {
    store::rooms(conn)
}

/// All that there is.
///
/// # Errors
/// As the database's.
pub fn inventory(conn: &mut Conn) -> Result<Inventory, Error> {
    some_inventory(conn, (true, true, true))
}

/// Sinks and rooms, and of the rest only what is asked for: `(tanks, reels, stations)`.
///
/// # Errors
/// As the database's.
pub fn some_inventory(
    conn: &mut Conn,
    (tanks, reels, stations): (bool, bool, bool),
) -> Result<Inventory, Error> {
    Ok(Inventory {
        sinks: store::sinks(conn)?,
        tanks: if tanks { store::tanks(conn)? } else { Vec::new() },
        reels: if reels { store::reel_kinds(conn)? } else { Vec::new() },
        stations: if stations { store::stations(conn)? } else { Vec::new() },
        rooms: store::rooms(conn)?,
    })
}

/// The weekly opening hours.
///
/// # Errors
/// As the database's.
pub fn hours(conn: &mut Conn) -> Result<Vec<Hours>, Error> {
    store::hours(conn)
}

/// Replaces the weekly opening hours.
///
/// # Errors
/// As the database's.
pub fn set_hours(tx: &mut Tx<'_>, week: &[Hours]) -> Result<(), Error> {
    store::replace_hours(tx, week)
}

/// When the room is open on a local date, in order.
///
/// # Errors
/// As the database's.
pub fn opening(conn: &mut Conn, zone: Zone, date: NaiveDate) -> Result<Vec<Span>, Error> {
    Ok(openings(conn, zone, (date, date))?.remove(&date).unwrap_or_default())
}

/// When the room is open on each of these local dates, both ends included; at most 400 of them.
///
/// # Errors
/// As the database's.
pub fn openings(
    conn: &mut Conn,
    zone: Zone,
    (from, to): (NaiveDate, NaiveDate),
) -> Result<BTreeMap<NaiveDate, Vec<Span>>, Error> {
    let week = store::hours(conn)?;
    let special = store::special_days(conn, from, to)?;
    let dates = from.iter_days().take_while(|d| *d <= to).take(400);
    Ok(dates.map(|d| (d, rules::open(zone, d, &week, &special))).collect())
}

/// When the room would be open with other weekly hours or special days than it has.
#[must_use]
pub fn open_with(zone: Zone, date: NaiveDate, week: &[Hours], special: &[SpecialDay]) -> Vec<Span> {
    rules::open(zone, date, week, special)
}

/// The stretches of these weekly hours on a local date.
#[must_use]
pub fn weekly(zone: Zone, date: NaiveDate, week: &[Hours]) -> Vec<Span> {
    let weekday = i64::from(date.weekday().number_from_monday());
    rules::spans(zone, date, week.iter().filter(|h| h.weekday == weekday))
}

/// The special days that touch these dates.
///
/// # Errors
/// As the database's.
pub fn special_days(
    conn: &mut Conn,
    (from, to): (NaiveDate, NaiveDate),
) -> Result<Vec<SpecialDay>, Error> {
    store::special_days(conn, from, to)
}

/// Makes days special: closed, or open at other hours than their weekday's.
///
/// # Errors
/// A sentence beside `from_date` when one of them is special already.
pub fn add_special_day(tx: &mut Tx<'_>, day: &SpecialDay) -> Result<i64, Error> {
    if let Some(other) = store::special_days(tx, day.from, day.to)?.first() {
        return Err(Error::field(
            "from_date",
            format!(
                "{} to {} is special already ({}). Take that out of the list first.",
                other.from, other.to, other.reason
            ),
        ));
    }
    store::insert_special_day(tx, day)
}

/// Makes days ordinary again.
///
/// # Errors
/// [`Error::NotFound`] where there are no such ones.
pub fn remove_special_day(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    if store::delete_special_day(tx, id)? { Ok(()) } else { Err(Error::NotFound) }
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

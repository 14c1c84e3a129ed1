//! The room itself: sinks, tanks, reels, opening hours, and who holds which of them when.

pub(crate) mod api;
mod pages;
mod rules;
mod store;

use chrono::{Datelike, NaiveDate};
use serde::Serialize;

use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use rules::{Hours, read_hours};

/// A sink, with one or more places to work at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, utoipa::ToSchema)]
pub struct Sink {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Where it stands in lists.
    pub position: i64,
    /// How many people can work at it at once, 1 to 12.
    pub places: i64,
    /// What to know about it.
    pub note: String,
    /// The version an edit form is made from.
    pub version: i64,
}

/// A developing tank.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, utoipa::ToSchema)]
pub struct Tank {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Where it stands in lists.
    pub position: i64,
    /// Height it gives the reels, in millimetres, 10 to 2000.
    pub stack_mm: i64,
    /// Most reels it takes, 1 to 40.
    pub max_reels: i64,
    /// Volume below the reels, in millilitres.
    pub base_ml: i64,
    /// Least volume to work with, in millilitres.
    pub min_ml: i64,
    /// Most volume it holds, in millilitres.
    pub max_ml: i64,
    /// What to know about it.
    pub note: String,
    /// The version an edit form is made from.
    pub version: i64,
}

/// A kind of reel and how many the studio owns.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReelKind {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// What it takes, such as `135`.
    pub kind: String,
    /// Height in the tank, in millimetres.
    pub height_mm: i64,
    /// Volume that covers one, in millilitres.
    pub cover_ml: i64,
    /// How many there are.
    pub owned: i64,
    /// How long one dries before it can be loaded again, in seconds.
    pub drying_s: i64,
}

/// Kinds of things that can be promised to somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A place at a sink.
    SinkPlace,
    /// A tank.
    Tank,
    /// One reel of a kind.
    Reel,
    /// A place to hang a film.
    Hanging,
    /// A place to load reels in the dark.
    Loading,
}

impl Kind {
    /// The word for it in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::SinkPlace => "sink_place",
            Kind::Tank => "tank",
            Kind::Reel => "reel",
            Kind::Hanging => "hanging",
            Kind::Loading => "loading",
        }
    }
}

/// For what a thing is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// A member's booking.
    Booking(i64),
    /// A run of a published day plan.
    Run(i64),
    /// Anything else, such as being out of service.
    Other,
}

/// One thing held for a while.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// The sink, tank or reel kind.
    pub of_id: i64,
    /// Which one of them, from 1.
    pub seat: i64,
    /// When.
    pub span: Span,
    /// For what.
    pub why: Why,
}

/// All sinks in their order.
///
/// # Errors
/// As the database's.
pub fn sinks(conn: &mut Conn) -> Result<Vec<Sink>, Error> {
    store::sinks(conn)
}

/// All tanks in their order.
///
/// # Errors
/// As the database's.
pub fn tanks(conn: &mut Conn) -> Result<Vec<Tank>, Error> {
    store::tanks(conn)
}

/// All kinds of reels.
///
/// # Errors
/// As the database's.
pub fn reel_kinds(conn: &mut Conn) -> Result<Vec<ReelKind>, Error> {
    store::reel_kinds(conn)
}

/// The weekly opening hours.
///
/// # Errors
/// As the database's.
pub fn hours(conn: &mut Conn) -> Result<Vec<Hours>, Error> {
    store::hours(conn)
}

/// When the room is open on a local date, in order.
///
/// # Errors
/// As the database's.
pub fn opening(conn: &mut Conn, zone: Zone, date: NaiveDate) -> Result<Vec<Span>, Error> {
    let weekday = i64::from(date.weekday().number_from_monday());
    let all = store::hours(conn)?;
    Ok(rules::spans(zone, date, all.iter().filter(|h| h.weekday == weekday)))
}

/// Adds a sink with its places; returns its number.
///
/// # Errors
/// A refusal when the name is taken.
pub fn add_sink(tx: &mut Tx<'_>, sink: &Sink) -> Result<i64, Error> {
    let id = store::insert_sink(tx, sink)?;
    store::add_units(tx, Kind::SinkPlace, id, 1..=sink.places)?;
    Ok(id)
}

/// Changes a sink. Places can be taken away only while nobody holds them.
///
/// # Errors
/// A refusal when it changed meanwhile, the name is taken or a place is still promised.
pub fn change_sink(tx: &mut Tx<'_>, now: Moment, sink: &Sink) -> Result<(), Error> {
    let before = store::update_sink(tx, sink)?;
    if sink.places >= before {
        return store::add_units(tx, Kind::SinkPlace, sink.id, before + 1..=sink.places);
    }
    if store::drop_units(tx, now, Kind::SinkPlace, sink.id, sink.places)? {
        return Ok(());
    }
    Err(Error::field(
        "places",
        "A place that would go is still booked. Cancel or move that booking first.",
    ))
}

/// Adds a tank; returns its number.
///
/// # Errors
/// A refusal when the name is taken.
pub fn add_tank(tx: &mut Tx<'_>, tank: &Tank) -> Result<i64, Error> {
    let id = store::insert_tank(tx, tank)?;
    store::add_units(tx, Kind::Tank, id, 1..=1)?;
    Ok(id)
}

/// Changes a tank.
///
/// # Errors
/// A refusal when it changed meanwhile or the name is taken.
pub fn change_tank(tx: &mut Tx<'_>, tank: &Tank) -> Result<(), Error> {
    store::update_tank(tx, tank)
}

/// Adds a kind of reel and as many reels as are owned; returns its number.
///
/// # Errors
/// A refusal when the kind is there already.
pub fn add_reels(tx: &mut Tx<'_>, reels: &ReelKind) -> Result<i64, Error> {
    let id = store::insert_reels(tx, reels)?;
    store::add_units(tx, Kind::Reel, id, 1..=reels.owned)?;
    Ok(id)
}

/// Replaces the weekly opening hours.
///
/// # Errors
/// As the database's.
pub fn set_hours(tx: &mut Tx<'_>, week: &[Hours]) -> Result<(), Error> {
    store::replace_hours(tx, week)
}

/// Holds the first free one of a thing for that time.
///
/// # Errors
/// A refusal (`slot-taken`) when none is free.
pub fn hold(tx: &mut Tx<'_>, kind: Kind, of_id: i64, span: Span, why: Why) -> Result<(), Error> {
    let unit = store::free_unit(tx, kind, of_id, span)?.ok_or_else(taken)?;
    store::insert_hold(tx, unit, span, why)
}

/// Gives back everything a booking held.
///
/// # Errors
/// As the database's.
pub fn release_booking(tx: &mut Tx<'_>, booking: i64) -> Result<(), Error> {
    store::delete_holds(tx, Why::Booking(booking))
}

/// Gives back everything a run held.
///
/// # Errors
/// As the database's.
pub fn release_run(tx: &mut Tx<'_>, run: i64) -> Result<(), Error> {
    store::delete_holds(tx, Why::Run(run))
}

/// What of a kind is held at some time within the span, by time.
///
/// # Errors
/// As the database's.
pub fn held(conn: &mut Conn, kind: Kind, span: Span) -> Result<Vec<Held>, Error> {
    store::held(conn, kind, span)
}

/// What is said when there is nothing free.
fn taken() -> Error {
    Error::refused(
        "slot-taken",
        "That time is taken, or was taken a moment ago. Please look at the board for another.",
    )
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

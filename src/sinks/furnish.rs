//! Putting things into the studio, changing them, and taking them out again.

use super::{Kind, ReelKind, Room, Sink, Station, Tank, store};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;

/// Adds a room; returns its number.
///
/// # Errors
/// A sentence when the name is taken.
pub fn add_room(tx: &mut Tx<'_>, room: &Room) -> Result<i64, Error> {
    store::insert_room(tx, room)
}

/// Changes a room.
///
/// # Errors
/// A refusal when it changed meanwhile or the name is taken.
pub fn change_room(tx: &mut Tx<'_>, room: &Room) -> Result<(), Error> {
    store::update_room(tx, room)
}

/// The room of that number; 0 means the first.
fn room(tx: &mut Tx<'_>, id: i64) -> Result<i64, Error> {
    if id == 0 {
        return store::first_room(tx);
    }
    let known = store::rooms(tx)?.into_iter().any(|r| r.id == id);
    if known {
        Ok(id)
    } else {
        Err(Error::field("room", "There is no such room. Choose one of the list."))
    }
}

/// Adds a sink with its places; returns its number.
///
/// # Errors
/// A sentence when the name is taken or there is no such room.
pub fn add_sink(tx: &mut Tx<'_>, sink: &Sink) -> Result<i64, Error> {
    let room_id = room(tx, sink.room_id)?;
    let id = store::insert_sink(tx, &Sink { room_id, ..sink.clone() })?;
    store::add_units(tx, Kind::SinkPlace, id, 1..=sink.places)?;
    store::add_units(tx, Kind::SinkTank, id, 1..=sink.tanks_at_once)?;
    Ok(id)
}

/// Changes a sink. What is promised cannot be taken away.
///
/// # Errors
/// A refusal when it changed meanwhile, the name is taken or a place is still promised.
pub fn change_sink(tx: &mut Tx<'_>, now: Moment, sink: &Sink) -> Result<(), Error> {
    let room_id = room(tx, sink.room_id)?;
    let (places, tanks, was) = store::update_sink(tx, &Sink { room_id, ..sink.clone() })?;
    let of = |kind, field| Counted { kind, of_id: sink.id, field };
    recount(tx, now, of(Kind::SinkPlace, "places"), (places, sink.places))?;
    recount(tx, now, of(Kind::SinkTank, "tanks_at_once"), (tanks, sink.tanks_at_once))?;
    retire(tx, now, (Kind::SinkPlace, sink.id), (was, sink.retired))
}

/// Adds a tank; returns its number.
///
/// # Errors
/// A sentence when the name is taken.
pub fn add_tank(tx: &mut Tx<'_>, tank: &Tank) -> Result<i64, Error> {
    let id = store::insert_tank(tx, tank)?;
    store::add_units(tx, Kind::Tank, id, 1..=1)?;
    Ok(id)
}

/// Changes a tank.
///
/// # Errors
/// A refusal when it changed meanwhile, the name is taken, or it retires while still promised.
pub fn change_tank(tx: &mut Tx<'_>, now: Moment, tank: &Tank) -> Result<(), Error> {
    let was = store::update_tank(tx, tank)?;
    retire(tx, now, (Kind::Tank, tank.id), (was, tank.retired))
}

/// Adds a kind of reel and as many reels as are owned; returns its number. Without formats they
/// serve the one they are called by.
///
/// # Errors
/// A sentence when the kind is there already.
pub fn add_reels(tx: &mut Tx<'_>, reels: &ReelKind) -> Result<i64, Error> {
    let id = store::insert_reels(tx, &with_formats(reels))?;
    store::add_units(tx, Kind::Reel, id, 1..=reels.owned)?;
    Ok(id)
}

fn with_formats(reels: &ReelKind) -> ReelKind {
    let mut reels = reels.clone();
    if reels.formats.is_empty() {
        let format = reels.kind.clone();
        let (height_mm, cover_ml) = (reels.height_mm, reels.cover_ml);
        reels.formats.push(super::ReelFormat { format, height_mm, cover_ml });
    }
    reels
}

/// Changes a kind of reel.
///
/// # Errors
/// A refusal when it changed meanwhile, the name is taken or a reel is still promised.
pub fn change_reels(tx: &mut Tx<'_>, now: Moment, reels: &ReelKind) -> Result<(), Error> {
    let before = store::update_reels(tx, &with_formats(reels))?;
    let of = Counted { kind: Kind::Reel, of_id: reels.id, field: "owned" };
    recount(tx, now, of, (before, reels.owned))
}

/// Adds a station with its places; returns its number.
///
/// # Errors
/// A sentence when the name is taken or there is no such room.
pub fn add_station(tx: &mut Tx<'_>, station: &Station) -> Result<i64, Error> {
    let room_id = room(tx, station.room_id)?;
    let id = store::insert_station(tx, &Station { room_id, ..station.clone() })?;
    store::add_units(tx, station.kind.unit(), id, 1..=station.places)?;
    Ok(id)
}

/// Changes a station.
///
/// # Errors
/// A refusal when it changed meanwhile, the name is taken or a place is still promised.
pub fn change_station(tx: &mut Tx<'_>, now: Moment, station: &Station) -> Result<(), Error> {
    let room_id = room(tx, station.room_id)?;
    let (before, was) = store::update_station(tx, &Station { room_id, ..station.clone() })?;
    let kind = station.kind.unit();
    let of = Counted { kind, of_id: station.id, field: "places" };
    recount(tx, now, of, (before, station.places))?;
    retire(tx, now, (kind, station.id), (was, station.retired))
}

/// A thing of which there are several, and the field of the form that says how many.
#[derive(Clone, Copy)]
struct Counted {
    kind: Kind,
    of_id: i64,
    field: &'static str,
}

/// Adds or takes away units; one that is promised stays.
fn recount(
    tx: &mut Tx<'_>,
    now: Moment,
    of: Counted,
    (before, after): (i64, i64),
) -> Result<(), Error> {
    if after > before {
        return store::add_units(tx, of.kind, of.of_id, before + 1..=after);
    }
    if after == before {
        return Ok(());
    }
    if store::is_promised(tx, now, (of.kind, of.of_id, after))? {
        return Err(Error::field(
            of.field,
            "One that would go is still booked. Take it out of service first: that shows whom it \
             hits.",
        ));
    }
    store::drop_units(tx, of.kind, of.of_id, after)
}

/// What is still promised cannot go.
fn retire(
    tx: &mut Tx<'_>,
    now: Moment,
    (kind, of_id): (Kind, i64),
    (was, is): (bool, bool),
) -> Result<(), Error> {
    if is && !was && store::is_promised(tx, now, (kind, of_id, 0))? {
        return Err(Error::field(
            "retired",
            "It is still booked. Take it out of service first: that shows whom it hits, and tells \
             them.",
        ));
    }
    Ok(())
}

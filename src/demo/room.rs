//! The invented room: sinks, tanks, reels, stations, hours.

use crate::clock::Zone;
use crate::db::Tx;
use crate::error::Error;
use crate::sinks::{
    self, Hours, Kind, Load, Outage, ReelFormat, ReelKind, Room, Sink, SpecialDay, Station,
    StationKind, Tank,
};

/// Open every day, so that the demonstration can be planned on whatever day it is looked at.
fn week() -> Vec<Hours> {
    (1..=7).map(|weekday| Hours { weekday, from_min: 9 * 60, to_min: 22 * 60 }).collect()
}

pub(super) fn furnish(tx: &mut Tx<'_>) -> Result<(), Error> {
    sinks::set_hours(tx, &week())?;
    let dark = Room {
        name: "Loading room".to_owned(),
        position: 2,
        note: "No window; knock before you open.".to_owned(),
        ..Room::default()
    };
    let dark = sinks::add_room(tx, &dark)?;
    let print = Room { name: "Print room".to_owned(), position: 3, ..Room::default() };
    let print = sinks::add_room(tx, &print)?;
    for (position, name, room_id, tanks_at_once, note) in [
        (1, "North sink", 0, 2, "Under the window; the tap runs cold."),
        (2, "Harbour sink", 0, 3, "Fan above it."),
        (3, "Enlarger", print, 0, "The easel takes paper up to 30 x 40 cm."),
    ] {
        let (name, note) = (name.to_owned(), note.to_owned());
        let is_sink = tanks_at_once > 0;
        let sink =
            Sink { name, position, room_id, is_sink, tanks_at_once, note, ..Sink::default() };
        sinks::add_sink(tx, &sink)?;
    }
    tanks(tx)?;
    reels(tx)?;
    stations(tx, dark)
}

fn tanks(tx: &mut Tx<'_>) -> Result<(), Error> {
    for (position, name, stack_mm, (films, sheets), (min_ml, rotary_ml, max_ml)) in [
        (1, "Tank A", 210, (4, 3), (300, None, 1250)),
        (2, "Tank B", 105, (2, 1), (300, Some(150), 650)),
        (3, "Tank C", 105, (2, 1), (300, Some(150), 650)),
    ] {
        let load = |format: &str, most| Load { format: format.to_owned(), most };
        let tank = Tank {
            name: name.to_owned(),
            position,
            stack_mm,
            max_reels: films,
            base_ml: 10,
            min_ml,
            rotary_ml,
            max_ml,
            holds: vec![load("135", films), load("120", sheets)],
            ..Tank::default()
        };
        sinks::add_tank(tx, &tank)?;
    }
    Ok(())
}

fn reels(tx: &mut Tx<'_>) -> Result<(), Error> {
    let set = |format: &str, height_mm, cover_ml| {
        let format = format.to_owned();
        ReelFormat { format, height_mm, cover_ml }
    };
    let (small, large) = (set("135", 50, 290), set("120", 70, 480));
    for (position, kind, owned, formats) in [
        (1, "135", 8, vec![small.clone()]),
        (2, "120", 4, vec![large.clone()]),
        (3, "Adjustable", 2, vec![small, large]),
    ] {
        let (height_mm, cover_ml) =
            formats.first().map(|f| (f.height_mm, f.cover_ml)).unwrap_or_default();
        let reels = ReelKind {
            kind: kind.to_owned(),
            height_mm,
            cover_ml,
            owned,
            drying_s: 7200,
            formats,
            position,
            ..ReelKind::default()
        };
        sinks::add_reels(tx, &reels)?;
    }
    Ok(())
}

fn stations(tx: &mut Tx<'_>, dark: i64) -> Result<(), Error> {
    for (position, kind, name, places, room_id, drying_s) in [
        (1, StationKind::Loading, "Loading bench", 1, dark, 0),
        (2, StationKind::Washer, "Film washer", 2, 0, 0),
        (3, StationKind::Hanging, "Drying cabinet", 24, 0, 1800),
    ] {
        let station = Station {
            id: 0,
            kind,
            name: name.to_owned(),
            position,
            places,
            room_id,
            drying_s,
            note: String::new(),
            retired: false,
            version: 0,
        };
        sinks::add_station(tx, &station)?;
    }
    Ok(())
}

/// A closure next week, and one reel that is broken.
pub(super) fn closures(
    tx: &mut Tx<'_>,
    (now, zone): (crate::clock::Moment, Zone),
    lead: i64,
) -> Result<(), Error> {
    let date = zone.date(now) + chrono::Days::new(9);
    let reason = "The harbour festival needs the stairs".to_owned();
    sinks::add_special_day(
        tx,
        &SpecialDay { id: 0, from: date, to: date, hours: String::new(), reason },
    )?;
    let broken = sinks::reel_kinds(tx)?.into_iter().find(|r| r.kind == "Adjustable");
    let Some(broken) = broken else { return Ok(()) };
    let outage = Outage {
        id: 0,
        kind: Kind::Reel,
        of_id: broken.id,
        count: 1,
        span: crate::clock::Span { from: now, to: sinks::FURTHER_NOTICE },
        reason: "A ball is missing from its catch".to_owned(),
    };
    sinks::add_outage(tx, now, lead, &outage).map(|_| ())
}

//! What a run of a day plan takes of the room besides what its booking would: the sink with room
//! for its tank, the tank, reels, a place to load in the dark, places to hang, and the light.

use std::collections::BTreeMap;

use super::holds::{held, need_light, promise, supply};
use super::seating::most_at_once;
use super::{Held, Kind, Light, Sink, StationKind, Why, store};
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// Everything that one run takes.
#[derive(Clone, Debug)]
pub struct ForRun {
    /// The run.
    pub id: i64,
    /// Its sink.
    pub sink_id: i64,
    /// Its tank.
    pub tank_id: i64,
    /// While its reels are loaded in the dark; nothing where they come loaded.
    pub load: Option<Span>,
    /// While its room is lit for it, without cleaning up.
    pub wet: Span,
    /// While it has the sink, cleaning up included.
    pub at_sink: Span,
    /// While it has the tank, rinsing included.
    pub in_tank: Span,
    /// Reels: which pool, how many, and until they are dry again.
    pub reels: Vec<(i64, usize, Span)>,
    /// How many films hang, and for how long.
    pub hung: (i64, Span),
}

/// Holds all that a run needs; like things are dealt out anew where that helps.
///
/// # Errors
/// A refusal (`slot-taken`) that names what is not free.
pub fn promise_run(tx: &mut Tx<'_>, now: Moment, run: &ForRun) -> Result<(), Error> {
    let why = Why::Run(run.id);
    let sinks = store::sinks(tx)?;
    let sink = sinks.iter().find(|s| s.id == run.sink_id).ok_or(Error::NotFound)?;
    let mut take = |what: &str, kind: Kind, of_id: i64, (count, span): (usize, Span)| {
        promise(tx, now, (kind, of_id, count), (span, why)).map_err(|e| named(what, e))
    };
    take(&sink.name, Kind::SinkPlace, sink.id, (1, run.at_sink))?;
    let room = format!("{}, room for a tank,", sink.name);
    take(&room, Kind::SinkTank, sink.id, (1, run.at_sink))?;
    take("The tank", Kind::Tank, run.tank_id, (1, run.in_tank))?;
    for (pool, count, wet) in &run.reels {
        take("A reel", Kind::Reel, *pool, (*count, *wet))?;
    }
    hang(tx, now, run.id, run.hung)?;
    let lit = |name: &str, light: Light, e: Error| match e {
        Error::Refused { code, .. } => {
            let light = light.name().to_lowercase();
            let sentence = format!("{name} is needed in {light}, and somebody needs another light");
            Error::refused(code, format!("{sentence} in that room then"))
        }
        other => other,
    };
    need_light(tx, (sink.room_id, Light::White), (run.wet, why))
        .map_err(|e| lit(&sink.name, Light::White, e))?;
    let Some(load) = run.load else { return Ok(()) };
    match loading_place(tx, load)? {
        None => Ok(()),
        Some((id, room_id, name)) => {
            promise(tx, now, (Kind::Loading, id, 1), (load, why)).map_err(|e| named(&name, e))?;
            need_light(tx, (room_id, Light::Dark), (load, why))
                .map_err(|e| lit(&name, Light::Dark, e))
        }
    }
}

/// A refusal that says what it is about.
fn named(what: &str, e: Error) -> Error {
    match e {
        Error::Refused { code, .. } => Error::refused(code, format!("{what} is taken then")),
        other => other,
    }
}

/// The loading place to go to, its room and its name: the first that is free, or the first; nothing
/// where the studio has named none.
fn loading_place(conn: &mut Conn, load: Span) -> Result<Option<(i64, i64, String)>, Error> {
    let supply = supply(conn, load)?;
    let mut places = store::stations(conn)?;
    places.retain(|s| s.kind == StationKind::Loading && !s.retired);
    let is_free = |s: &&super::Station| {
        supply.free(Kind::Loading, s.id, load) > 0
            && supply.other_light(s.room_id, Light::Dark, load).is_none()
    };
    let place = places.iter().find(is_free).or_else(|| places.first());
    Ok(place.map(|s| (s.id, s.room_id, s.name.clone())))
}

/// Holds places for so many films of a run to hang, in the order of the places; nothing where the
/// studio has named none.
///
/// # Errors
/// A refusal (`slot-taken`) when too few are free.
pub fn hang(
    tx: &mut Tx<'_>,
    now: Moment,
    run: i64,
    (films, span): (i64, Span),
) -> Result<(), Error> {
    let mut films = films;
    let mut rows = store::stations(tx)?;
    rows.retain(|s| s.kind == StationKind::Hanging && !s.retired);
    if rows.is_empty() || films == 0 {
        return Ok(());
    }
    let supply = supply(tx, span)?;
    for row in rows {
        let here = supply.free(Kind::Hanging, row.id, span).min(films);
        let count = usize::try_from(here).unwrap_or(0);
        promise(tx, now, (Kind::Hanging, row.id, count), (span, Why::Run(run)))?;
        films -= here;
    }
    if films > 0 {
        return Err(Error::refused(
            "slot-taken",
            format!("Too few hanging places are free then ({films} are missing): it is taken then"),
        ));
    }
    Ok(())
}

/// How many films the studio's hanging places take, where it has named any.
///
/// # Errors
/// As the database's.
pub fn hanging_places(conn: &mut Conn) -> Result<Option<i64>, Error> {
    let mut rows = store::stations(conn)?;
    rows.retain(|s| s.kind == StationKind::Hanging && !s.retired);
    Ok((!rows.is_empty()).then(|| rows.iter().map(|r| r.places).sum()))
}

/// What of the sinks' places a run cannot have: places that are held, and all places of a sink
/// while it takes no further tank or its room is promised in another light than white. What is held
/// for `but` is left out of it.
///
/// # Errors
/// As the database's.
pub fn closed_to_runs(
    conn: &mut Conn,
    sinks: &[Sink],
    (span, but): (Span, Option<Why>),
) -> Result<Vec<Held>, Error> {
    let mut taken = held(conn, Kind::SinkPlace, span)?;
    taken.retain(|h| Some(h.why) != but);
    let lights = store::lights(conn, span)?;
    let mut tanks: BTreeMap<i64, Vec<Span>> = BTreeMap::new();
    for h in held(conn, Kind::SinkTank, span)?.into_iter().filter(|h| Some(h.why) != but) {
        tanks.entry(h.of_id).or_default().push(h.span);
    }
    for sink in sinks {
        let held = tanks.remove(&sink.id).unwrap_or_default();
        let most = usize::try_from(sink.tanks_at_once).unwrap_or(0);
        let mut shut = full(&held, most, span);
        let other = lights.iter().filter(|l| l.room_id == sink.room_id && l.light != Light::White);
        shut.extend(other.map(|l| l.span));
        for span in shut {
            let seats = 1..=sink.places;
            taken.extend(seats.map(|seat| Held { of_id: sink.id, seat, span, why: Why::Other }));
        }
    }
    Ok(taken)
}

/// The studio's loading places taken together.
#[derive(Clone, Debug, Default)]
pub struct LoadingPlaces {
    /// How many can load film at once.
    pub places: i64,
    /// When so many of them cannot be had.
    pub taken: Vec<(Span, i64)>,
}

/// How many can load film at once where the studio has named its loading places, and when so many
/// of them cannot be had: promised to somebody, or in a room that is promised in another light than
/// darkness. What is held for `but` is left out of it.
///
/// # Errors
/// As the database's.
pub fn closed_to_loading(
    conn: &mut Conn,
    (span, but): (Span, Option<Why>),
) -> Result<Option<LoadingPlaces>, Error> {
    let mut places = store::stations(conn)?;
    places.retain(|s| s.kind == StationKind::Loading && !s.retired);
    if places.is_empty() {
        return Ok(None);
    }
    let mut held = held(conn, Kind::Loading, span)?;
    held.retain(|h| Some(h.why) != but);
    let mut lights = store::lights(conn, span)?;
    lights.retain(|l| l.light != Light::Dark);
    lights.retain(|l| l.booking.is_none_or(|id| Some(Why::Booking(id)) != but));
    let lit =
        |room: i64, piece: &Span| lights.iter().any(|l| l.room_id == room && l.span.meets(piece));
    let meeting = |place: i64, piece: &Span| {
        let count = held.iter().filter(|h| h.of_id == place && h.span.meets(piece)).count();
        i64::try_from(count).unwrap_or(i64::MAX)
    };
    let spans: Vec<Span> =
        held.iter().map(|h| h.span).chain(lights.iter().map(|l| l.span)).collect();
    let taken = |piece: Span| {
        let of = |s: &super::Station| {
            if lit(s.room_id, &piece) { s.places } else { meeting(s.id, &piece).min(s.places) }
        };
        (piece, places.iter().map(of).sum::<i64>())
    };
    let taken = pieces(&spans, span).map(taken).filter(|(_, count)| *count > 0).collect();
    Ok(Some(LoadingPlaces { places: places.iter().map(|s| s.places).sum(), taken }))
}

/// The stretches between all beginnings and ends within a span.
fn pieces(spans: &[Span], within: Span) -> impl Iterator<Item = Span> + use<> {
    let mut marks: Vec<Moment> = spans.iter().flat_map(|s| [s.from, s.to]).collect();
    marks.retain(|at| *at > within.from && *at < within.to);
    marks.extend([within.from, within.to]);
    marks.sort_unstable();
    marks.dedup();
    let later = marks.clone().into_iter().skip(1);
    marks.into_iter().zip(later).filter_map(|(from, to)| Span::new(from, to))
}

/// The stretches within a span in which so many of these meet.
fn full(held: &[Span], most: usize, within: Span) -> Vec<Span> {
    pieces(held, within).filter(|piece| most_at_once(held, *piece) >= most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sink_is_full_while_it_takes_no_further_tank() {
        let span = |from, to| Span { from: Moment(from), to: Moment(to) };
        let held = [span(0, 10), span(5, 20), span(30, 40)];
        assert_eq!(full(&held, 2, span(0, 50)), [span(5, 10)]);
        assert_eq!(full(&held, 3, span(0, 50)), []);
        let never: i64 = full(&held, 0, span(0, 50)).iter().map(Span::seconds).sum();
        assert_eq!(never, 50, "a sink that takes no tank is closed all day");
    }
}

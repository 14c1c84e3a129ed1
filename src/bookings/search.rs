//! Finding a time: what would do instead, and the first free places of a week.

use chrono::{Days, NaiveDate};

use super::asking::{self, Ask};
use super::facts::{self, Whose};
use super::{Place as Where, Wish, finding, rules, whose};
use crate::clock::Span;
use crate::db::Conn;
use crate::error::Error;
use crate::sessions::Person;
use crate::sinks::{self, Inventory, Kind, Supply};

/// A place and time that would do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The sink.
    pub sink_id: i64,
    /// Its name.
    pub sink: String,
    /// When.
    pub span: Span,
    /// Tanks that are free then, as many as were asked for.
    pub tank_ids: Vec<i64>,
}

/// A time to be found: something like this wish, on one of these days.
#[derive(Clone, Debug)]
pub struct Search {
    /// What is wanted; its sink is 0 where any will do, its time does not matter.
    pub wish: Wish,
    /// How many tanks, whichever.
    pub tanks: usize,
    /// How long, in minutes.
    pub minutes: i64,
    /// The first day.
    pub from: NaiveDate,
    /// How many days, 1 to 31.
    pub days: u64,
}

/// The first so many places and times that would do.
///
/// # Errors
/// The field that asks for what the studio does not have.
pub fn find(
    conn: &mut Conn,
    place: &Where,
    person: &Person,
    (search, most): (&Search, usize),
) -> Result<Vec<Place>, Error> {
    let whose = whose(conn, person, search.wish.member)?;
    rules::may_book(whose.owner)?;
    let last = search.from.checked_add_days(Days::new(search.days.clamp(1, 31) - 1));
    let dates = (search.from, last.unwrap_or(search.from));
    let (facts, supply, all) = around(conn, place, whose, dates)?;
    let tanks: Vec<i64> = all.tanks.iter().filter(|t| !t.retired).map(|t| t.id).collect();
    let mut found = Vec::new();
    for sink in all.sinks.iter().filter(|s| !s.retired) {
        let any = search.wish.sink_id == 0 && sink.is_sink;
        let room = usize::try_from(sink.tanks_at_once).unwrap_or(0);
        if !(any || search.wish.sink_id == sink.id) || search.tanks > room {
            continue;
        }
        let mut ask = asking::ask(
            &Wish { sink_id: sink.id, ..search.wish.clone() },
            &all,
            facts.limits.gap_min * 60,
        )?;
        let gap_s = facts.limits.gap_min * 60;
        add_tank_room(&mut ask, sink.id, (search.tanks, gap_s));
        let free =
            |span: Span| free_tanks(&supply, &tanks, Span { to: span.to.plus(gap_s), ..span });
        let fits = |span: Span| free(span).len() >= search.tanks;
        for span in finding::first(&facts, &supply, &ask, (search.minutes * 60, most, &fits)) {
            let mut tank_ids = free(span);
            tank_ids.truncate(search.tanks);
            found.push(Place { sink_id: sink.id, sink: sink.name.clone(), span, tank_ids });
        }
    }
    found.sort_by_key(|p| p.span.from);
    found.truncate(most);
    Ok(found)
}

fn add_tank_room(ask: &mut Ask, sink_id: i64, (tanks, gap_s): (usize, i64)) {
    if tanks > 0 {
        ask.needs.push(asking::Need {
            kind: Kind::SinkTank,
            of_id: sink_id,
            count: i64::try_from(tanks).unwrap_or(i64::MAX),
            after_s: gap_s,
            name: String::new(),
        });
    }
}

fn free_tanks(supply: &Supply, tanks: &[i64], span: Span) -> Vec<i64> {
    tanks.iter().copied().filter(|t| supply.free(Kind::Tank, *t, span) > 0).collect()
}

pub(super) fn around(
    conn: &mut Conn,
    place: &Where,
    whose: Whose,
    (first, last): (NaiveDate, NaiveDate),
) -> Result<(rules::Facts, Supply, Inventory), Error> {
    let facts = facts::facts(conn, (place.now, place.zone), whose, (first, last))?;
    // What is held somewhat later counts too: gaps and drying reach beyond the day.
    let to = place.zone.day(last).to.plus(86_400);
    let span = Span { from: place.zone.day(first).from, to };
    let mut supply = sinks::supply(conn, span)?;
    if let Some(id) = whose.changing {
        supply = supply.without(id);
    }
    Ok((facts, supply, sinks::inventory(conn)?))
}

/// What would do instead of a wish that was refused: the same time at another sink, and the
/// nearest time at the same one, within a week.
///
/// # Errors
/// As the database's.
pub(super) fn instead(
    conn: &mut Conn,
    place: &Where,
    person: &Person,
    (wish, changing): (&Wish, Option<i64>),
) -> Result<Vec<Place>, Error> {
    let Some(span) = wish.span else { return Ok(Vec::new()) };
    let mut whose = whose(conn, person, wish.member)?;
    whose.changing = changing;
    let today = place.zone.date(place.now);
    let date = place.zone.date(span.from).max(today);
    let first = date.checked_sub_days(Days::new(3)).unwrap_or(date).max(today);
    let last = date.checked_add_days(Days::new(7)).unwrap_or(date);
    let (facts, supply, all) = around(conn, place, whose, (first, last))?;
    let gap_s = facts.limits.gap_min * 60;
    let asked = |sink_id: i64| asking::ask(&Wish { sink_id, ..wish.clone() }, &all, gap_s).ok();
    let found = |sink: &sinks::Sink, span: Span| Place {
        sink_id: sink.id,
        sink: sink.name.clone(),
        span,
        tank_ids: wish.tank_ids.clone(),
    };
    let mut places = Vec::new();
    if rules::check(&facts, span).is_ok() {
        let own = all.sink(wish.sink_id).is_none_or(|s| s.is_sink);
        let others = all.sinks.iter().filter(|s| !s.retired && s.is_sink == own);
        let free = |s: &&sinks::Sink| {
            s.id != wish.sink_id
                && asked(s.id).is_some_and(|a| asking::is_free(&supply, &a, span).is_ok())
        };
        places.extend(others.filter(free).take(1).map(|s| found(s, span)));
    }
    if let (Some(sink), Some(ask)) = (all.sink(wish.sink_id), asked(wish.sink_id)) {
        places.extend(finding::nearest(&facts, &supply, &ask, span).map(|at| found(sink, at)));
    }
    Ok(places)
}

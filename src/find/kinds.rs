//! What can be found, room by room.

use chrono::NaiveDate;
use serde::Serialize;

use super::rules::speaks_of;
use crate::clock::Moment;
use crate::db::Conn;
use crate::db::like::holds;
use crate::error::Error;
use crate::recipes::{Search, clock_of};
use crate::sessions::{Person, Role};
use crate::web::{Words, beginning};
use crate::{baths, bookings, incidents, members, recipes, rolls, safety, shelf, sinks};

/// So many of a kind are shown; the room's own list has the others.
pub(super) const SHOWN: usize = 5;

/// One more is asked for, to know whether there are others.
const ASKED: i64 = 6;

/// A lead finds others' bookings by what they are for as far back as this, in seconds: 90 days.
const BOOKINGS_BACK_S: i64 = 90 * 86_400;

/// Kinds of things that are looked for together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Days,
    Rolls,
    People,
    Chart,
    Recipes,
    Baths,
    Shelf,
    Sheets,
    Notes,
    Bookings,
    Incidents,
}

/// How a kind is shown and where else its things are found.
pub(super) struct Manner {
    pub(super) kind: Kind,
    /// What stands above them.
    pub(super) head: &'static str,
    /// The door that each of them is seen through: to whom it is shut, the kind is not looked for.
    pub(super) door: &'static str,
    /// The room's own list; what was typed is put behind it where it ends in `=`.
    pub(super) list: &'static str,
    /// What that list is called.
    pub(super) called: &'static str,
}

const fn manner(
    kind: Kind,
    head: &'static str,
    door: &'static str,
    (list, called): (&'static str, &'static str),
) -> Manner {
    Manner { kind, head, door, list, called }
}

/// All kinds in the order in which they are shown.
#[rustfmt::skip]
pub(super) const KINDS: [Manner; 11] = [
    manner(Kind::Days, "Days", "/days/{date}", ("/days", "Mix sheets")),
    manner(Kind::Rolls, "Rolls", "/rolls/{ticket}", ("/rolls?search=", "All rolls that fit")),
    manner(Kind::People, "People", "/members/{id}", ("/members?q=", "All people who fit")),
    manner(Kind::Chart, "Films and developers", "/chart", ("/chart?search=", "Time chart")),
    manner(Kind::Recipes, "Developing times", "/chart/{id}", ("/chart?search=", "All times that fit")),
    manner(Kind::Baths, "Baths", "/baths/{id}", ("/baths", "Baths in use and those retired")),
    manner(Kind::Shelf, "On the shelf", "/shelf/products/{id}", ("/shelf", "The shelf")),
    manner(Kind::Sheets, "Data sheets", "/shelf/products/{id}", ("/shelf", "The shelf")),
    manner(Kind::Notes, "Safety notes", "/notes/{slug}", ("/notes", "All safety notes")),
    manner(Kind::Bookings, "Bookings", "/bookings/{id}", ("/bookings", "Your bookings")),
    manner(Kind::Incidents, "Incidents", "/incidents/{id}", ("/incidents", "Incidents")),
];

/// Who looks for what, and when.
pub(super) struct Look {
    pub(super) person: Person,
    pub(super) words: Vec<String>,
    /// The day that was written, where what was typed is one.
    pub(super) day: Option<NaiveDate>,
    pub(super) now: Moment,
    pub(super) say: Words,
}

/// One thing that was found.
#[derive(Debug, Serialize)]
pub(super) struct Hit {
    href: String,
    title: String,
    note: String,
}

fn hit(href: String, title: impl Into<String>, note: impl Into<String>) -> Hit {
    Hit { href, title: title.into(), note: note.into() }
}

/// What of a kind the words fit; more than are shown where there are others.
pub(super) fn found(conn: &mut Conn, look: &Look, kind: Kind) -> Result<Vec<Hit>, Error> {
    match kind {
        Kind::Days => Ok(look.day.map(|day| days(look, day)).unwrap_or_default()),
        Kind::Rolls => of_rolls(conn, look),
        Kind::People => people(conn, look),
        Kind::Chart => chart(conn, look),
        Kind::Recipes => times(conn, look),
        Kind::Baths => of_baths(conn, look),
        Kind::Shelf => on_the_shelf(conn, look),
        Kind::Sheets => sheets(conn, look),
        Kind::Notes => notes(conn, look),
        Kind::Bookings => of_bookings(conn, look),
        Kind::Incidents => of_incidents(conn, look),
    }
}

fn days(look: &Look, day: NaiveDate) -> Vec<Hit> {
    let named = look.say.date(day);
    let hit = |href: &str, what: &str, note| {
        hit(format!("{href}{day}"), format!("{what}, {named}"), note)
    };
    let board = hit("/board?date=", "The board", "who has which sink");
    vec![board, hit("/days/", "The mix sheet", "what is developed")]
}

fn of_rolls(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let all = look.person.role == Role::Lead;
    let found = rolls::found(conn, &look.person, (&look.words, ASKED))?;
    let line = |r: rolls::Roll| {
        let owner = if all { format!("{}, ", r.member_name) } else { String::new() };
        let title = format!("{}, {} at EI {}", rolls::spoken(&r.ticket), r.film, r.ei);
        let note = format!("{owner}{}, {}", r.state.name(), look.say.moment(r.since));
        hit(format!("/rolls/{}", r.ticket), title, note)
    };
    Ok(found.into_iter().map(line).collect())
}

fn people(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let line = |m: members::Member| {
        let note = format!("{}, {}", m.role.word(), m.email.unwrap_or_default());
        hit(format!("/members/{}", m.id), m.name, note)
    };
    Ok(members::found(conn, &look.words)?.into_iter().map(line).collect())
}

fn chart(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let films = recipes::films(conn)?.into_iter().filter(|f| holds(&[&f.name], &look.words));
    let film = |f: recipes::Film| {
        hit(format!("/chart?film={}", f.id), f.name, format!("film of speed {}", f.speed))
    };
    let mut hits: Vec<Hit> = films.map(film).collect();
    let fits = |d: &recipes::Developer| holds(&[&d.name, &d.product], &look.words);
    let developer = |d: recipes::Developer| {
        let stands = if d.on_hand { "on the shelf" } else { "not on the shelf" };
        hit(format!("/chart?developer={}", d.id), d.name, format!("developer, {stands}"))
    };
    hits.extend(recipes::developers(conn)?.into_iter().filter(fits).map(developer));
    Ok(hits)
}

fn times(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let search = Search { words: look.words.clone(), limit: ASKED, ..Search::default() };
    let line = |r: recipes::Recipe| {
        let note = format!("{}: {}\u{202f}min", r.developer.name, clock_of(r.time_s));
        hit(format!("/chart/{}", r.id), format!("{} at EI {}", r.film.name, r.ei), note)
    };
    Ok(recipes::found(conn, &search)?.into_iter().map(line).collect())
}

fn of_baths(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let line = |b: baths::Bath| {
        let (what, at) = b.retired.map_or(("mixed", b.mixed), |at| ("retired", at));
        let note = format!("{}, {what} {}", b.kind.name(), look.say.moment(at));
        hit(format!("/baths/{}", b.id), b.of.label, note)
    };
    Ok(baths::found(conn, &look.words, ASKED)?.into_iter().map(line).collect())
}

fn on_the_shelf(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let found = shelf::found(conn, &look.words, ASKED)?;
    let product = |p: shelf::Product| {
        hit(format!("/shelf/products/{}", p.id), p.of.name, p.of.purpose.name())
    };
    let bottle = |(b, name): (shelf::Bottle, String)| {
        hit(
            format!("/shelf/bottles/{}", b.id),
            format!("{name}, number {}", b.id),
            format!("lot {}", b.lot),
        )
    };
    let products = found.products.into_iter().map(product);
    Ok(products.chain(found.bottles.into_iter().map(bottle)).collect())
}

fn sheets(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let line = |(p, told): (shelf::Product, String)| {
        hit(format!("/shelf/products/{}", p.id), p.of.name, beginning(&told, 160))
    };
    Ok(shelf::found(conn, &look.words, ASKED)?.sheets.into_iter().map(line).collect())
}

/// Those with the words in their title come first.
fn notes(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let fits = |n: &safety::Note| speaks_of((&[&n.title, &n.summary], &n.body), &look.words);
    let mut found: Vec<safety::Note> = safety::current(conn)?.into_iter().filter(fits).collect();
    found.sort_by_key(|n| !holds(&[&n.title], &look.words));
    let line = |n: safety::Note| hit(format!("/notes/{}", n.slug), n.title, n.summary);
    Ok(found.into_iter().map(line).collect())
}

fn of_bookings(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let since = look.now.plus(-BOOKINGS_BACK_S);
    let found = bookings::found(conn, &look.person, since, (&look.words, ASKED))?;
    let sinks = if found.is_empty() { Vec::new() } else { sinks::all_sinks(conn)? };
    let line = |b: bookings::Booking| {
        let sink = sinks.iter().find(|s| s.id == b.sink_id).map_or("a sink", |s| s.name.as_str());
        let whose = if b.member_id == look.person.id { "yours" } else { &b.member_name };
        let title = format!("{sink}, {}", look.say.span(b.span.from, b.span.to));
        hit(format!("/bookings/{}", b.id), title, format!("{whose}: {}", beginning(&b.note, 120)))
    };
    Ok(found.into_iter().map(line).collect())
}

fn of_incidents(conn: &mut Conn, look: &Look) -> Result<Vec<Hit>, Error> {
    let fits = |i: &incidents::Incident| {
        let told = &i.told;
        holds(&[&told.what, &told.place, &told.chemical, &told.happened], &look.words)
    };
    let line = |i: incidents::Incident| {
        let note = format!("{}: {}", i.told.place, beginning(&i.told.what, 120));
        hit(format!("/incidents/{}", i.id), format!("Incident {}", i.id), note)
    };
    let seen = incidents::seen_by(conn, &look.person)?;
    Ok(seen.into_iter().filter(fits).map(line).collect())
}

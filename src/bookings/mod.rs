//! Bookings: a member's promise of a sink, and of tanks, reels and places with it, for a while.

pub(crate) mod api;
pub mod asking;
mod board;
mod by_the_clock;
mod changing;
mod closing;
mod desk;
mod facts;
pub mod finding;
pub mod grid;
mod known;
mod limits;
mod mail;
mod pages;
pub mod rules;
mod search;
mod store;
pub mod waitlist;

use chrono::NaiveDate;

use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members;
use crate::safety;
use crate::sessions::{Person, Role};
use crate::sinks::{self, Inventory, Light, Why};
use crate::web::Routes;
use facts::Whose;
use rules::Owner;

use board::boards;
pub use board::{Board, Entry, What, board};
pub use by_the_clock::{Collision, Followed, follow_clock, follow_new_rules, has_drifted};
pub use changing::{cancel, change, release_all_of, shift, withdraw};
pub use closing::{
    Closing, Hits, add_outage, add_special_day, hit_by_day, hit_by_hours, hit_by_outage, set_hours,
};
pub use desk::{Kept, WhoseBookings, beginning, give_up, history, kept, remind};
pub use known::KnownDays;
pub use limits::{GRIDS, Limits, change_limits, limits};
pub use search::{Place as Found, Search, find};

/// No booking is longer than this, in seconds (its holds could not be); so that those which reach
/// into a stretch can be found by their beginning.
const LONGEST_S: i64 = 3 * 86_400;

/// What somebody wants to book.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wish {
    /// The sink.
    pub sink_id: i64,
    /// Tanks to have with it.
    pub tank_ids: Vec<i64>,
    /// Kinds of reels and how many dry ones of each.
    pub reels: Vec<(i64, i64)>,
    /// Loading places and washers.
    pub stations: Vec<i64>,
    /// How many hanging places.
    pub hanging: i64,
    /// The light it needs in its room.
    pub light: Light,
    /// When, in instants: what the wall clock shows twice is told apart before.
    pub span: Option<Span>,
    /// What for.
    pub note: String,
    /// For whom, if a lead books for somebody else.
    pub member: Option<i64>,
}

impl Wish {
    /// A sink for a time, and nothing else.
    #[must_use]
    pub fn of(sink_id: i64, span: Span) -> Wish {
        Wish { sink_id, span: Some(span), ..Wish::default() }
    }

    /// The part of the inventory that this wish speaks of.
    fn inventory(&self, conn: &mut Conn) -> Result<Inventory, Error> {
        let stations = !self.stations.is_empty() || self.hanging > 0;
        let parts = (!self.tank_ids.is_empty(), !self.reels.is_empty(), stations);
        sinks::some_inventory(conn, parts)
    }

    fn span(&self) -> Result<Span, Error> {
        self.span.ok_or_else(|| Error::field("from", "Choose a beginning and an end."))
    }
}

/// A booking.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Booking {
    /// Its number.
    pub id: i64,
    /// Whose it is.
    pub member_id: i64,
    /// Their name.
    pub member_name: String,
    /// The sink.
    pub sink_id: i64,
    /// When.
    pub span: Span,
    /// The light it needs in its room.
    pub light: Light,
    /// What for.
    pub note: String,
    /// Whether it stands; else it was cancelled.
    pub stands: bool,
    /// The version an edit form is made from; it grows with every change.
    pub version: i64,
}

/// Where a change happens: the clock, the studio's zone and its address.
#[derive(Clone, Debug)]
pub struct Place {
    /// The time now.
    pub now: Moment,
    /// The studio's time zone.
    pub zone: Zone,
    /// The base address for letters.
    pub address: String,
}

/// Books; returns the booking's number. The letter that says so is written with it.
///
/// # Errors
/// The rule that refuses, or `slot-taken`.
pub fn book(tx: &mut Tx<'_>, place: &Place, person: &Person, wish: &Wish) -> Result<i64, Error> {
    let told = keep(tx, place, person, wish)?;
    let id = told.id;
    mail::made(tx, place, person, told)?;
    Ok(id)
}

/// As [`book`], without the letter: for many at once, of which their maker knows.
///
/// # Errors
/// As [`book`].
pub fn make(tx: &mut Tx<'_>, place: &Place, person: &Person, wish: &Wish) -> Result<i64, Error> {
    keep(tx, place, person, wish).map(|told| told.id)
}

/// Keeps a booking and all it holds; says what there is to tell of it.
fn keep(tx: &mut Tx<'_>, place: &Place, person: &Person, wish: &Wish) -> Result<mail::Told, Error> {
    // What was held too long for others is not in the way.
    waitlist::pass_on(tx, place)?;
    let whose = whose(tx, person, wish.member)?;
    if whose.member == person.id {
        safety::refuse_unready(tx, person)?;
    } else {
        safety::refuse_unread_of(tx, whose.member)?;
    }
    rules::may_book(whose.owner)?;
    let span = wish.span()?;
    let all = wish.inventory(tx)?;
    let date = place.zone.date(span.from);
    let facts = facts::facts(tx, (place.now, place.zone), whose, (date, date))?;
    let gap_s = facts.limits.gap_min * 60;
    let ask = asking::ask(wish, &all, gap_s)?;
    rules::check(&facts, span)?;
    let id = store::insert(tx, place, (whose.member, person.id, gap_s), (wish, span))?;
    hold(tx, place.now, (Why::Booking(id), span), &ask)?;
    let sink = all.sink(wish.sink_id).map(|s| s.name.clone()).unwrap_or_default();
    Ok(mail::Told { id, member: whose.member, sink, span, with: ask.with() })
}

/// Holds all that a booking asks for, or says what is not free.
fn hold(
    tx: &mut Tx<'_>,
    now: Moment,
    (why, span): (Why, Span),
    ask: &asking::Ask,
) -> Result<(), Error> {
    match hold_all(tx, now, (why, span), ask) {
        Err(e @ Error::Refused { code: "slot-taken", .. }) => {
            let longest = ask.needs.iter().map(|n| n.after_s).max().unwrap_or(0);
            let wide = Span { to: span.to.plus(longest), ..span };
            let supply = sinks::supply(tx, wide)?;
            let supply = if let Why::Booking(id) = why { supply.without(id) } else { supply };
            Err(asking::is_free(&supply, ask, span).err().map_or(e, Error::from))
        }
        done => done,
    }
}

fn hold_all(
    tx: &mut Tx<'_>,
    now: Moment,
    (why, span): (Why, Span),
    ask: &asking::Ask,
) -> Result<(), Error> {
    for need in &ask.needs {
        let count = usize::try_from(need.count).unwrap_or(usize::MAX);
        sinks::promise(tx, now, (need.kind, need.of_id, count), (need.span(span), why))?;
    }
    for (room, light, _) in &ask.lights {
        sinks::need_light(tx, (*room, *light), (span, why))?;
    }
    Ok(())
}

/// For whom a person books: themselves, or as a lead somebody else.
fn whose(conn: &mut Conn, person: &Person, member: Option<i64>) -> Result<Whose, Error> {
    let by_lead = person.role == Role::Lead;
    match member.filter(|m| *m != person.id) {
        None => Ok(Whose {
            member: person.id,
            owner: Owner { role: person.role, paused: person.paused, by_lead },
            changing: None,
        }),
        Some(_) if !by_lead => {
            Err(Error::Forbidden("Only a lead books for somebody else.".to_owned()))
        }
        Some(id) => {
            let (role, _) = members::standing(conn, id)?.ok_or_else(|| {
                Error::field("member", "There is no such member. Choose one of the list.")
            })?;
            Ok(Whose { member: id, owner: Owner { role, paused: false, by_lead }, changing: None })
        }
    }
}

/// What a booking has with it, as the wish that would make it again.
///
/// # Errors
/// As the database's.
pub fn wish_of(conn: &mut Conn, all: &Inventory, booking: &Booking) -> Result<Wish, Error> {
    let mut wish = Wish {
        light: booking.light,
        note: booking.note.clone(),
        member: Some(booking.member_id),
        ..Wish::of(booking.sink_id, booking.span)
    };
    for (kind, of_id, count) in sinks::held_by_booking(conn, booking.id)? {
        match kind {
            sinks::Kind::Tank => wish.tank_ids.push(of_id),
            sinks::Kind::Reel => wish.reels.push((of_id, count)),
            sinks::Kind::Loading | sinks::Kind::Washer => {
                wish.stations.extend(all.station(of_id).map(|s| s.id));
            }
            sinks::Kind::Hanging => wish.hanging += count,
            sinks::Kind::SinkPlace | sinks::Kind::SinkTank => {}
        }
    }
    Ok(wish)
}

/// The bookings that stand on a local date, by time.
///
/// # Errors
/// As the database's.
pub fn on(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Booking>, Error> {
    store::on(conn, (date, date))
}

/// A member's bookings that stand and begin within a stretch, by time.
///
/// # Errors
/// As the database's.
pub fn of_member(conn: &mut Conn, member: i64, span: Span) -> Result<Vec<Booking>, Error> {
    store::of_member(conn, member, span)
}

/// One booking, cancelled or not; others' only for a lead.
///
/// # Errors
/// [`Error::NotFound`] where there is none, or it is somebody else's.
pub fn own(conn: &mut Conn, person: &Person, id: i64) -> Result<Booking, Error> {
    let booking = store::one(conn, id)?;
    if booking.member_id == person.id || person.role == Role::Lead {
        Ok(booking)
    } else {
        Err(Error::NotFound)
    }
}

/// Which sink is booked when, of all bookings that stand and meet a stretch; whose they are is not
/// said.
///
/// # Errors
/// As the database's.
pub fn taken(conn: &mut Conn, span: Span) -> Result<Vec<(i64, Span)>, Error> {
    store::taken(conn, span)
}

/// The bookings that somebody may open, with all these words in what they are for, the latest first.
/// Of others' a lead finds those that begin after `since`.
///
/// # Errors
/// As the database's.
pub fn found(
    conn: &mut Conn,
    person: &Person,
    since: Moment,
    (words, most): (&[String], i64),
) -> Result<Vec<Booking>, Error> {
    let whose = (person.role != Role::Lead).then_some(person.id);
    store::noted(conn, (whose, since), words, most)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    waitlist::routes(open);
    api::routes(open);
}

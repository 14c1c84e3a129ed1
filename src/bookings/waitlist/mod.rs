//! The waiting list: a wish for a day and a length. A freed slot is offered to the first whose
//! wish it meets, held for them a while, then offered to the next; each wish is offered one slot.

mod mail;
mod pages;
mod rules;
mod store;

use chrono::{NaiveDate, NaiveTime};

use super::rules::Owner;
use super::{Place, Wish as Booking, asking, facts::Whose, finding, hold, search};
use crate::clock::{Moment, Span};
use crate::customs;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::{Person, Role};
use crate::sinks::{self, Why};
use crate::web::Routes;

/// What somebody waits for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewWish {
    /// The local date.
    pub date: NaiveDate,
    /// Not before this wall-clock time.
    pub from: NaiveTime,
    /// Over by this one; midnight is the end of the day.
    pub to: NaiveTime,
    /// For how long, in minutes, 5 to 1440.
    pub length_min: i64,
    /// At which sink; any where there is none.
    pub sink_id: Option<i64>,
}

/// Where a wish stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Nothing was free so far.
    Waiting,
    /// A slot is held for it.
    Offered,
    /// It became a booking.
    Taken,
    /// Its owner gave it up.
    Withdrawn,
    /// Its offer ran out.
    Lapsed,
}

/// A wish on the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// Its number; the lower is served first.
    pub id: i64,
    /// Whose it is.
    pub member_id: i64,
    /// Their name.
    pub member_name: String,
    /// What they may do.
    pub role: Role,
    /// What they wait for.
    pub what: NewWish,
    /// Where it stands.
    pub state: State,
}

/// A slot held for somebody.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// Its number.
    pub id: i64,
    /// For which wish.
    pub wish_id: i64,
    /// For whom.
    pub member_id: i64,
    /// The sink.
    pub sink_id: i64,
    /// When.
    pub span: Span,
    /// Held until then.
    pub expires: Moment,
    /// Whether it still is.
    pub is_open: bool,
}

/// The most wishes one member may have at once.
const MOST: usize = 10;

/// Puts a wish on the list; returns its number.
///
/// # Errors
/// A sentence beside the field; a refusal when such a time is free already, or when the member
/// waits for that day already.
pub fn join(tx: &mut Tx<'_>, place: &Place, person: &Person, new: &NewWish) -> Result<i64, Error> {
    if person.paused {
        return Err(Error::refused("rule", "You are on a break. Ask a lead to end it first."));
    }
    let window = rules::window(place.zone, new)?;
    if window.to <= place.now {
        return Err(Error::field("date", "That time is over. Choose one that lies ahead."));
    }
    if let Some(sink) = new.sink_id
        && !sinks::sinks(tx)?.iter().any(|s| s.id == sink)
    {
        return Err(Error::field("sink", "There is no such sink. Choose one of the list."));
    }
    let own = store::open_of(tx, person.id)?;
    if own.iter().any(|w| w.what.date == new.date) {
        return Err(Error::field(
            "date",
            "You wait for that day already. Take that wish off first.",
        ));
    }
    if own.len() >= MOST {
        return Err(Error::field("date", "You wait for ten days already. Take one off first."));
    }
    if let Some(free) = fit(tx, place, (person.id, person.role), new)? {
        let (from, to) = (place.zone.wall(free.span.from), place.zone.wall(free.span.to));
        return Err(Error::refused(
            "rule",
            format!(
                "{} is free from {} to {} on that day. Book it on the board instead of waiting.",
                free.sink,
                from.format("%H:%M"),
                to.format("%H:%M")
            ),
        ));
    }
    store::insert(tx, place.now, person.id, new)
}

/// Takes a wish off the list; a slot held for it goes to the next.
///
/// # Errors
/// [`Error::NotFound`] for others'.
pub fn withdraw(tx: &mut Tx<'_>, place: &Place, person: &Person, id: i64) -> Result<(), Error> {
    let wish = store::wish(tx, id)?;
    if wish.member_id != person.id {
        return Err(Error::NotFound);
    }
    match wish.state {
        State::Waiting => store::set_state(tx, id, State::Withdrawn),
        State::Offered => {
            if let Some(offer) = store::offer_of(tx, id)? {
                close(tx, place, &offer, ("declined", State::Withdrawn))?;
            }
            Ok(())
        }
        State::Taken | State::Withdrawn | State::Lapsed => Ok(()),
    }
}

/// Takes an offer: what was held becomes a booking like any other; returns its number.
///
/// # Errors
/// [`Error::NotFound`] for others'; `offer-over` when it ran out; whatever refuses a booking.
pub fn take(tx: &mut Tx<'_>, place: &Place, person: &Person, id: i64) -> Result<i64, Error> {
    let offer = store::offer(tx, id)?;
    if offer.member_id != person.id {
        return Err(Error::NotFound);
    }
    if !offer.is_open || offer.expires <= place.now {
        return Err(Error::refused(
            "offer-over",
            "This offer has ended, and the time went to the next on the list. Look at the board, \
             or wait for the day again.",
        ));
    }
    sinks::release_offer(tx, offer.id)?;
    store::close_offer(tx, offer.id, "taken")?;
    store::set_state(tx, offer.wish_id, State::Taken)?;
    super::book(tx, place, person, &Booking::of(offer.sink_id, offer.span))
}

/// Passes on what was held for those who did not take it in time. Cheap where there is nothing.
///
/// # Errors
/// As the database's.
pub fn pass_on(tx: &mut Tx<'_>, place: &Place) -> Result<(), Error> {
    for offer in store::expired(tx, place.now)? {
        close(tx, place, &offer, ("lapsed", State::Lapsed))?;
    }
    Ok(())
}

/// Whether anybody waits or is offered anything: else a turn changes nothing.
///
/// # Errors
/// As the database's.
pub fn is_quiet(conn: &mut Conn) -> Result<bool, Error> {
    Ok(store::waiting_dates(conn)?.is_empty() && store::open_offers(conn)? == 0)
}

/// Passes on what ran out, and looks at every day somebody waits for: a slot may have come free by
/// other ways than a cancelled booking.
///
/// # Errors
/// As the database's.
pub fn turn(tx: &mut Tx<'_>, place: &Place) -> Result<(), Error> {
    pass_on(tx, place)?;
    for date in store::waiting_dates(tx)? {
        offer_freed(tx, place, date)?;
    }
    Ok(())
}

/// Offers what is free on a date to those who wait for it, in the order they came. To be called
/// in the transaction that frees something, so that nobody else is quicker.
///
/// # Errors
/// As the database's.
pub fn offer_freed(tx: &mut Tx<'_>, place: &Place, date: NaiveDate) -> Result<(), Error> {
    for wish in store::waiting(tx, date)? {
        let window = rules::window(place.zone, &wish.what);
        if window.is_ok_and(|w| w.to <= place.now) {
            store::set_state(tx, wish.id, State::Lapsed)?;
            continue;
        }
        let Some(free) = fit(tx, place, (wish.member_id, wish.role), &wish.what)? else {
            continue;
        };
        let held = customs::load(tx)?.offer_min * 60;
        let expires = Moment(place.now.plus(held).0.min(free.span.from.0));
        let id = store::insert_offer(tx, place.now, wish.id, (free.sink_id, free.span, expires))?;
        hold(tx, place.now, (Why::Offer(id), free.span), &free.ask)?;
        store::set_state(tx, wish.id, State::Offered)?;
        mail::offered(tx, place, &wish, (&free.sink, free.span, expires))?;
    }
    Ok(())
}

/// Ends an offer and its wish, gives back what was held, and goes to the next.
fn close(
    tx: &mut Tx<'_>,
    place: &Place,
    offer: &Offer,
    (word, state): (&'static str, State),
) -> Result<(), Error> {
    end(tx, offer, (word, state))?;
    offer_freed(tx, place, place.zone.date(offer.span.from))
}

/// Ends an offer and its wish, and gives back what was held.
fn end(tx: &mut Tx<'_>, offer: &Offer, (word, state): (&'static str, State)) -> Result<(), Error> {
    sinks::release_offer(tx, offer.id)?;
    store::close_offer(tx, offer.id, word)?;
    store::set_state(tx, offer.wish_id, state)
}

/// A time that meets a wish, and all that must be held for it.
struct Free {
    sink_id: i64,
    sink: String,
    span: Span,
    ask: asking::Ask,
}

/// The first free time that meets a wish and every rule for its owner, at the first sink that has
/// one.
fn fit(
    conn: &mut Conn,
    place: &Place,
    (member, role): (i64, Role),
    what: &NewWish,
) -> Result<Option<Free>, Error> {
    let window = rules::window(place.zone, what)?;
    let owner = Owner { role, paused: false, by_lead: role == Role::Lead };
    let whose = Whose { member, owner, changing: None };
    let (facts, supply, all) = search::around(conn, place, whose, (what.date, what.date))?;
    let within: finding::Fits<'_> = &|s: Span| window.from <= s.from && s.to <= window.to;
    let mut best: Option<Free> = None;
    for sink in all.sinks.iter().filter(|s| !s.retired) {
        if !what.sink_id.map_or(sink.is_sink, |id| id == sink.id) {
            continue;
        }
        let ask = asking::ask(&Booking::of(sink.id, window), &all, facts.limits.gap_min * 60)?;
        let length = (what.length_min * 60, 1, within);
        let Some(span) = finding::first(&facts, &supply, &ask, length).pop() else { continue };
        if best.as_ref().is_none_or(|b| span.from < b.span.from) {
            best = Some(Free { sink_id: sink.id, sink: sink.name.clone(), span, ask });
        }
    }
    Ok(best)
}

/// Takes back what is offered and can no longer be had, and tells those it was offered to why: they
/// keep their place on the list.
///
/// # Errors
/// As the database's.
pub(super) fn take_back(
    tx: &mut Tx<'_>,
    place: &Place,
    reason: &str,
    is_lost: impl Fn(&Offer) -> bool,
) -> Result<(), Error> {
    for offer in store::open_offers_from(tx, place.now)?.iter().filter(|o| is_lost(o)) {
        sinks::release_offer(tx, offer.id)?;
        store::forget_offer(tx, offer.id)?;
        store::set_state(tx, offer.wish_id, State::Waiting)?;
        let wish = store::wish(tx, offer.wish_id)?;
        mail::taken_back(tx, place, &wish, (offer, reason))?;
    }
    Ok(())
}

/// Takes a leaver's wishes off the list; what was held for them is free.
///
/// # Errors
/// As the database's.
pub fn forget_member(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    for wish in store::open_of(tx, member)? {
        match store::offer_of(tx, wish.id)?.filter(|o| o.is_open) {
            Some(offer) => end(tx, &offer, ("declined", State::Withdrawn))?,
            None => store::set_state(tx, wish.id, State::Withdrawn)?,
        }
    }
    Ok(())
}

/// The doors of the waiting list.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

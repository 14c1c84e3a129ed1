//! Handing in, and the terms under which the studio takes film.

use super::rules::{NewRoll, State};
use super::{mail, store, ticket};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::{members, outbox, recipes};

/// Hands a roll in and returns its id and ticket.
///
/// # Errors
/// As [`hand_in_many`].
pub fn hand_in(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    new: &NewRoll,
) -> Result<(i64, String), Error> {
    let mut done = hand_in_many(tx, now, member, std::slice::from_ref(new))?;
    done.pop().ok_or_else(|| Error::broken("handing in", "no ticket"))
}

/// Hands several rolls in, each with a ticket of its own, and writes one letter about them.
///
/// # Errors
/// A sentence beside the field that does not fit; a refusal while the owner has not accepted the
/// present drop-off terms.
pub fn hand_in_many(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    rolls: &[NewRoll],
) -> Result<Vec<(i64, String)>, Error> {
    let terms = accepted(tx, member)?;
    let mut done = Vec::with_capacity(rolls.len());
    for new in rolls {
        check(tx, new)?;
        let ticket = fresh_ticket(tx)?;
        let id = store::insert(tx, now, (member, terms), &ticket, new)?;
        store::add_event(tx, now, (id, Some(member)), State::HandedIn, "")?;
        done.push((id, ticket));
    }
    let tickets: Vec<&str> = done.iter().map(|(_, ticket)| ticket.as_str()).collect();
    let to = members::recipient(tx, member)?;
    outbox::post(tx, now, &mail::handed_in(now, &to, &tickets)?)?;
    Ok(done)
}

/// The present terms, which the member has accepted; nothing where the studio has none.
fn accepted(tx: &mut Tx<'_>, member: i64) -> Result<Option<i64>, Error> {
    let Some(terms) = store::current_terms(tx)? else { return Ok(None) };
    if store::has_accepted(tx, terms.id, member)? {
        return Ok(Some(terms.id));
    }
    Err(Error::field(
        "terms",
        format!(
            "The studio takes film under its drop-off terms, version {}. Read and accept them.",
            terms.number
        ),
    ))
}

fn check(tx: &mut Tx<'_>, new: &NewRoll) -> Result<(), Error> {
    let film = recipes::film(tx, new.film_id).map_err(|_e| {
        Error::field("film", "That film is not on the time chart; choose another.")
    })?;
    if !film.is_made_in(new.format.name) {
        let made = film.formats.replace(' ', ", ");
        let sentence = format!("{} is made in {made}, not in {}.", film.name, new.format.name);
        return Err(Error::field("format", sentence));
    }
    if new.format.is_sheet() != new.sheets.is_some() {
        let sentence = if new.format.is_sheet() {
            "Say how many sheets there are."
        } else {
            "A roll has no sheets; leave this empty."
        };
        return Err(Error::field("sheets", sentence));
    }
    if let (Some(ready), Some(due)) = (new.ready, new.due)
        && due <= ready
    {
        return Err(Error::field("due", "It cannot be due before it may be begun."));
    }
    let Some(id) = new.recipe_id else { return Ok(()) };
    let recipe = recipes::by_id(tx, id)
        .map_err(|_e| Error::field("recipe", "That recipe is not on the time chart."))?;
    if !matches!(recipe.standing, recipes::Standing::Approved | recipes::Standing::Replaced) {
        return Err(Error::field("recipe", "That recipe is not on the time chart."));
    }
    if recipe.film.id != new.film_id || recipe.ei != new.ei {
        return Err(Error::field(
            "recipe",
            format!(
                "That recipe is for {} at EI {}. Choose one that fits, or let the lead decide.",
                recipe.film.name, recipe.ei
            ),
        ));
    }
    Ok(())
}

fn fresh_ticket(tx: &mut Tx<'_>) -> Result<String, Error> {
    for _ in 0..20 {
        let ticket = ticket::ticket(rand::random());
        if !store::has_ticket(tx, &ticket)? {
            return Ok(ticket);
        }
    }
    Err(Error::broken("tickets", "no free one in twenty tries"))
}

/// A member accepts the present drop-off terms, named by their number.
///
/// # Errors
/// A sentence beside `terms` when others are in force by now.
pub fn accept_terms(tx: &mut Tx<'_>, now: Moment, member: i64, number: i64) -> Result<(), Error> {
    match store::current_terms(tx)? {
        Some(terms) if terms.number == number => store::accept(tx, now, terms.id, member),
        Some(terms) => Err(Error::field(
            "terms",
            format!("The terms were changed: version {} is in force. Read them.", terms.number),
        )),
        None => Ok(()),
    }
}

/// Publishes the next version of the drop-off terms; returns its number. Every member accepts it
/// with their next roll.
///
/// # Errors
/// A sentence beside `body` when it says nothing new.
pub fn post_terms(tx: &mut Tx<'_>, now: Moment, by: i64, body: &str) -> Result<i64, Error> {
    if store::current_terms(tx)?.is_some_and(|t| t.body == body) {
        return Err(Error::field("body", "This is word for word the version in force."));
    }
    store::insert_terms(tx, (now, by), body)
}

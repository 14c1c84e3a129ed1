//! Rolls: from the drop box to the pick-up shelf. What is handed in is a ticket: one roll, or one
//! set of sheets.

pub(crate) mod api;
mod mail;
mod pages;
mod rules;
mod store;
mod ticket;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;
use crate::{members, outbox, recipes};

pub use rules::{Format, NewRoll, State};
pub use store::{Event, Roll};

/// Hands a roll in and returns its ticket.
///
/// # Errors
/// A refusal when the recipe is for another film or exposure index.
pub fn hand_in(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    new: &NewRoll,
) -> Result<(i64, String), Error> {
    if !recipes::films(tx)?.iter().any(|f| f.id == new.film_id) {
        return Err(Error::field("film", "That film is not on the time chart; choose another."));
    }
    if let Some(id) = new.recipe_id {
        let recipe = recipes::by_id(tx, id)
            .map_err(|_e| Error::field("recipe", "That recipe is not on the time chart."))?;
        if recipe.film.id != new.film_id || recipe.ei != new.ei {
            return Err(Error::field(
                "recipe",
                format!(
                    "That recipe is for {} at EI {}. Choose one that fits, or let the lead decide.",
                    recipe.film.name, recipe.ei
                ),
            ));
        }
    }
    let ticket = fresh_ticket(tx)?;
    let id = store::insert(tx, now, member, &ticket, new)?;
    store::add_event(tx, now, (id, Some(member)), State::HandedIn, "")?;
    let to = members::recipient(tx, member)?;
    outbox::post(tx, now, &mail::handed_in(now, &to, &ticket)?)?;
    Ok((id, ticket))
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

/// Moves a roll on. The same state twice changes nothing, so that a double tap is harmless.
///
/// # Errors
/// A refusal when that state cannot follow the present one.
pub fn set_state(
    tx: &mut Tx<'_>,
    now: Moment,
    (roll, by): (i64, Option<i64>),
    to: State,
    note: &str,
) -> Result<(), Error> {
    let roll = store::one(tx, roll)?;
    if roll.state == to {
        return Ok(());
    }
    rules::may_follow(roll.state, to)?;
    store::update_state(tx, roll.id, to)?;
    store::add_event(tx, now, (roll.id, by), to, note)?;
    if to == State::Ready {
        let reader = members::recipient(tx, roll.member_id)?;
        outbox::post(tx, now, &mail::ready(now, &reader, &roll)?)?;
    }
    Ok(())
}

/// The rolls that wait for a run, the longest waiting first.
///
/// # Errors
/// As the database's.
pub fn waiting(conn: &mut Conn) -> Result<Vec<Roll>, Error> {
    let mut rolls = store::list(conn, None, Some(State::HandedIn))?;
    rolls.reverse();
    Ok(rolls)
}

/// One roll.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn one(conn: &mut Conn, id: i64) -> Result<Roll, Error> {
    store::one(conn, id)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

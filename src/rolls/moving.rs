//! How a roll moves on: one or many at once, where it is then, and whom it is told.

use std::collections::BTreeMap;

use super::rules::{self, State};
use super::store::{self, Roll};
use super::{mail, ticket};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::sessions::{Person, Role};
use crate::{members, outbox};

/// A step of a roll's way.
#[derive(Clone, Debug)]
pub struct Move {
    /// What it becomes.
    pub to: State,
    /// The tank it is loaded in.
    pub tank_id: Option<i64>,
    /// Its place on the column, counted from the bottom.
    pub place: Option<i64>,
    /// The peg tag that follows it from now on.
    pub peg: Option<String>,
    /// Anything noted.
    pub note: String,
}

impl Move {
    /// A step that says no more than what the roll becomes.
    #[must_use]
    pub fn to(to: State) -> Move {
        Move { to, tank_id: None, place: None, peg: None, note: String::new() }
    }
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
    let note = note.to_owned();
    move_on(tx, now, (roll, by), &Move { note, ..Move::to(to) })
}

/// As [`set_state`], with the place on the column and the peg tag.
///
/// # Errors
/// As [`set_state`]; also when another film is on that place or that peg.
pub fn move_on(
    tx: &mut Tx<'_>,
    now: Moment,
    (roll, by): (i64, Option<i64>),
    step: &Move,
) -> Result<(), Error> {
    let roll = store::one(tx, roll)?;
    if !one_step(tx, now, (&roll, by), step)? {
        return Ok(());
    }
    match step.to {
        State::Ready => tell_ready(tx, now, &[&roll]),
        State::Lost | State::Spoiled => {
            let Some(to) = members::reader(tx, roll.member_id)? else { return Ok(()) };
            let letter = mail::mishap(now, &to, &roll, (step.to, &step.note))?;
            outbox::post(tx, now, &letter).map(|_| ())
        }
        _ => Ok(()),
    }
}

/// Moves all these tickets on and writes one letter to each owner. A lead may move everybody's; a
/// member says of their own that they have picked them up, and no more. Returns how many moved.
///
/// # Errors
/// [`Error::NotFound`] for a ticket that is not theirs to move, a refusal when that state cannot
/// follow the present one; then none moves.
pub fn move_many(
    tx: &mut Tx<'_>,
    now: Moment,
    by: &Person,
    (tickets, to): (&[String], State),
) -> Result<usize, Error> {
    let is_lead = by.role == Role::Lead;
    if !is_lead && to != State::PickedUp {
        return Err(Error::Forbidden(
            "Only a lead says that of rolls; of your own you may say that you have them."
                .to_owned(),
        ));
    }
    let mut moved: Vec<Roll> = Vec::new();
    for typed in tickets {
        let bare = ticket::read(typed).ok_or(Error::NotFound)?;
        let roll = store::by_ticket(tx, &bare, (!is_lead).then_some(by.id))?;
        if one_step(tx, now, (&roll, Some(by.id)), &Move::to(to))? {
            moved.push(roll);
        }
    }
    if to == State::Ready {
        let mut of: BTreeMap<i64, Vec<&Roll>> = BTreeMap::new();
        for roll in &moved {
            of.entry(roll.member_id).or_default().push(roll);
        }
        for rolls in of.values() {
            tell_ready(tx, now, rolls)?;
        }
    }
    Ok(moved.len())
}

/// One roll's step with its line in the roll's way, without a letter; whether anything changed.
fn one_step(
    tx: &mut Tx<'_>,
    now: Moment,
    (roll, by): (&Roll, Option<i64>),
    step: &Move,
) -> Result<bool, Error> {
    if roll.state == step.to {
        return Ok(false);
    }
    rules::may_follow(roll.state, step.to)?;
    let place = whereabouts(tx, roll, step)?;
    store::update_state(tx, (now, roll.id), step.to, &place)?;
    let note = step_in_words(tx, &place, step)?;
    store::add_event(tx, now, (roll.id, by), step.to, &note)?;
    Ok(true)
}

/// Tells the owner of these rolls that they can be picked up.
fn tell_ready(tx: &mut Tx<'_>, now: Moment, rolls: &[&Roll]) -> Result<(), Error> {
    let Some(owner) = rolls.first().map(|r| r.member_id) else { return Ok(()) };
    if let Some(to) = members::reader(tx, owner)? {
        outbox::post(tx, now, &mail::ready(now, &to, rolls)?)?;
    }
    Ok(())
}

/// Where the roll is after this step: a loaded one on its column, a hanging one on its peg.
fn whereabouts(tx: &mut Tx<'_>, roll: &Roll, step: &Move) -> Result<store::Where, Error> {
    let peg = step.peg.clone().or_else(|| roll.peg.clone());
    let place = match step.to {
        State::Loaded => store::Where { tank_id: step.tank_id, place: step.place, peg },
        State::OnTheHook | State::ReFix => store::Where { peg, ..store::Where::default() },
        _ => store::Where::default(),
    };
    if let (Some(tank), Some(at)) = (place.tank_id, place.place)
        && let Some(other) = store::on_place(tx, tank, at, roll.id)?
    {
        return Err(Error::refused(
            "place-taken",
            format!("Ticket {other} is on place {at} of that tank. Give this one its own place."),
        ));
    }
    if let Some(peg) = &place.peg
        && let Some(other) = store::on_peg(tx, peg, roll.id)?
    {
        return Err(Error::refused(
            "peg-taken",
            format!("Peg {peg} follows ticket {other}. Take another peg."),
        ));
    }
    Ok(place)
}

fn step_in_words(tx: &mut Tx<'_>, place: &store::Where, step: &Move) -> Result<String, Error> {
    let mut words = Vec::new();
    if let Some(tank) = place.tank_id {
        let names = store::tank_names(tx)?;
        let name = names.into_iter().find(|(id, _)| *id == tank).map(|(_, name)| name);
        words.push(name.ok_or_else(|| {
            Error::field("tank", "That tank is not in the room any more; choose another.")
        })?);
    }
    if let Some(at) = place.place {
        words.push(format!("place {at} from the bottom"));
    }
    if let Some(peg) = &place.peg {
        words.push(format!("peg {peg}"));
    }
    if !step.note.is_empty() {
        words.push(step.note.clone());
    }
    Ok(words.join(", "))
}

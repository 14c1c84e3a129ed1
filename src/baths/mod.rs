//! Baths: mixed, labelled, shared bodies of working solution, each with a ledger that is only
//! ever added to. A bath's state is computed from its ledger, never stored.

pub(crate) mod api;
mod mail;
mod pages;
mod rules;
mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::outbox;
use crate::web::Routes;

pub use api::Described as DescribedBath;
pub use rules::{Bath, Condition, Entry, EntryKind, Kind, State};
pub use store::NewBath;

/// Mixes a bath: from now on it is on the shelf with an empty ledger.
///
/// # Errors
/// A refusal when another bath carries that label.
pub fn mix(tx: &mut Tx<'_>, new: &NewBath) -> Result<i64, Error> {
    if store::has_label(tx, &new.label)? {
        return Err(Error::field(
            "label",
            format!("There is a bath called “{}” already; give this one its own label.", new.label),
        ));
    }
    store::insert(tx, new)
}

/// A use of a bath, in thousandths of a roll's worth.
#[derive(Clone, Debug)]
pub struct Use {
    /// Which bath.
    pub bath: i64,
    /// How much film, in thousandths of a roll equivalent.
    pub milli: i64,
    /// The run that used it, if it was one.
    pub run: Option<i64>,
    /// Anything to remember.
    pub note: String,
}

/// Records a use. What has happened is always recorded, even over the limit; a run counts once
/// however often it is told. Leads are written to in the same transaction, once for each cause.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn record_use(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    wish: &Use,
) -> Result<State, Error> {
    let bath = store::one(tx, wish.bath)?;
    let known = match wish.run {
        Some(run) => store::has_run(tx, bath.id, run)?,
        None => false,
    };
    if !known {
        store::add(tx, now, by, &bath, &Entry::of_use(now, wish.milli, wish.run, &wish.note))?;
    }
    tell(tx, now, &bath)
}

/// Records a clip test: the seconds a scrap of film took to clear.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn record_clip_test(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    bath: i64,
    seconds: i64,
) -> Result<State, Error> {
    let bath = store::one(tx, bath)?;
    store::add(tx, now, Some(by), &bath, &Entry::of_clip_test(now, seconds))?;
    tell(tx, now, &bath)
}

/// Writes to the leads about what the bath's state newly asks for.
fn tell(tx: &mut Tx<'_>, now: Moment, bath: &Bath) -> Result<State, Error> {
    let state = state(tx, now, bath)?;
    let Some(cause) = state.cause() else { return Ok(state) };
    for lead in crate::members::leads(tx)? {
        let letter = mail::alert(now, &lead, bath, &state, cause)?;
        outbox::post(tx, now, &letter)?;
    }
    Ok(state)
}

/// The state of a bath at this moment.
///
/// # Errors
/// As the database's.
pub fn state(conn: &mut Conn, now: Moment, bath: &Bath) -> Result<State, Error> {
    let near = crate::studio::load(conn)?.near_limit_percent;
    let entries = store::entries(conn, bath.id)?;
    Ok(rules::state(bath, &entries, now, near))
}

/// All baths that are in use, with their states.
///
/// # Errors
/// As the database's.
pub fn on_the_shelf(conn: &mut Conn, now: Moment) -> Result<Vec<(Bath, State)>, Error> {
    let baths = store::active(conn)?;
    baths
        .into_iter()
        .map(|bath| {
            let state = state(conn, now, &bath)?;
            Ok((bath, state))
        })
        .collect()
}

/// One bath.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn one(conn: &mut Conn, id: i64) -> Result<Bath, Error> {
    store::one(conn, id)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

//! Incidents, private to their reporter and the safety lead; the weekly run of the eyewash; and
//! what is barred until a lead takes it on by name.

mod checks;
mod mail;
mod pages;
mod store;

use chrono::Months;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::hazards::{Barred, barred_in};
use crate::members;
use crate::outbox::Recipient;
use crate::sessions::{Person, Role};
use crate::studio;
use crate::web::Routes;

pub use checks::{EYEWASH_EVERY_S, Eyewash, eyewash, record_eyewash, remind_of_eyewash};
pub use store::{Incident, NewIncident};

/// Where a change happens: the time and the address that letters lead back to.
#[derive(Clone, Debug)]
pub struct Here {
    /// The time now.
    pub now: Moment,
    /// The studio's base address.
    pub address: String,
}

/// Who answers for safety, and how long incidents are kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// The safety lead, while one is named.
    pub lead: Option<i64>,
    /// Months an incident is kept after it was closed, 1 to 600. No source: the studio's choice.
    pub keep_months: i64,
    /// The version an edit form is made from.
    pub version: i64,
}

/// Those who may read every incident: the named safety lead, or every active lead while none is
/// named or the named one has gone.
///
/// # Errors
/// As the database's.
pub fn readers(conn: &mut Conn) -> Result<Vec<Recipient>, Error> {
    let leads = members::leads(conn)?;
    let named = store::settings(conn)?.lead;
    let of_name: Vec<Recipient> =
        leads.iter().filter(|l| l.member_id == named && named.is_some()).cloned().collect();
    Ok(if of_name.is_empty() { leads } else { of_name })
}

fn reads_all(conn: &mut Conn, person: &Person) -> Result<bool, Error> {
    if person.role != Role::Lead {
        return Ok(false);
    }
    Ok(readers(conn)?.iter().any(|r| r.member_id == Some(person.id)))
}

/// Files an incident; the safety lead is written to in the same transaction.
///
/// # Errors
/// As the database's.
pub fn file(
    tx: &mut Tx<'_>,
    here: &Here,
    person: &Person,
    new: &NewIncident,
) -> Result<i64, Error> {
    let id = store::insert(tx, here.now, person.id, new)?;
    let studio = studio::load(tx)?.name;
    for to in readers(tx)? {
        mail::filed(tx, here, to, (id, &studio, new))?;
    }
    Ok(id)
}

/// An incident, for its reporter and the safety lead; for everybody else there is none.
///
/// # Errors
/// [`Error::NotFound`].
pub fn one(conn: &mut Conn, person: &Person, id: i64) -> Result<Incident, Error> {
    let incident = store::one(conn, id)?;
    if incident.filed_by == person.id || reads_all(conn, person)? {
        Ok(incident)
    } else {
        Err(Error::NotFound)
    }
}

/// The incidents somebody may see, the latest first.
///
/// # Errors
/// As the database's.
pub fn seen_by(conn: &mut Conn, person: &Person) -> Result<Vec<Incident>, Error> {
    let of = if reads_all(conn, person)? { None } else { Some(person.id) };
    store::list(conn, of)
}

/// Writes down what was done about an incident; the safety lead or the reporter.
///
/// # Errors
/// [`Error::NotFound`] for others; a refusal once it is closed.
pub fn follow_up(
    tx: &mut Tx<'_>,
    now: Moment,
    person: &Person,
    (id, text): (i64, &str),
) -> Result<(), Error> {
    let incident = one(tx, person, id)?;
    if incident.closed.is_some() {
        return Err(Error::refused("closed", "This incident is closed. File a new one instead."));
    }
    store::follow_up(tx, now, person.id, (id, text))
}

/// Closes an incident; only who reads all may.
///
/// # Errors
/// [`Error::NotFound`] for others.
pub fn close(tx: &mut Tx<'_>, now: Moment, person: &Person, id: i64) -> Result<(), Error> {
    let incident = one(tx, person, id)?;
    if !reads_all(tx, person)? {
        return Err(Error::Forbidden("Only the safety lead closes an incident.".to_owned()));
    }
    if incident.closed.is_none() {
        store::close(tx, now, id)?;
    }
    Ok(())
}

/// Erases incidents that were closed longer ago than the studio keeps them.
///
/// # Errors
/// As the database's.
pub fn sweep(tx: &mut Tx<'_>, now: Moment) -> Result<usize, Error> {
    let keep = u32::try_from(store::settings(tx)?.keep_months).unwrap_or(600);
    let before = now.utc().checked_sub_months(Months::new(keep)).map_or(0, |t| t.timestamp());
    store::erase_closed_before(tx, Moment(before))
}

/// Names the safety lead.
///
/// # Errors
/// As the database's.
pub fn name_safety_lead(tx: &mut Tx<'_>, lead: i64) -> Result<(), Error> {
    let settings = store::settings(tx)?;
    store::set(tx, &Settings { lead: Some(lead), ..settings })
}

/// What a member has filed, for them to take along.
///
/// # Errors
/// As the database's.
pub fn belongings(conn: &mut Conn, member: i64) -> Result<serde_json::Value, Error> {
    let filed: Vec<serde_json::Value> = store::list(conn, Some(member))?
        .into_iter()
        .map(|i| {
            serde_json::json!({"filed": i.filed.utc().to_rfc3339(), "when": i.told.happened,
                "where": i.told.place, "what": i.told.what, "chemical": i.told.chemical,
                "injury": i.told.injury, "first_aid": i.told.first_aid})
        })
        .collect();
    Ok(serde_json::json!(filed))
}

/// Refuses a product whose name or description speaks of something barred, unless a lead has taken
/// it on by name.
///
/// # Errors
/// The refusal, beside `field`.
pub fn refuse_barred(conn: &mut Conn, field: &str, text: &str) -> Result<(), Error> {
    let Some(barred) = barred_in(text) else { return Ok(()) };
    if store::taken_on(conn)?.iter().any(|t| t.what == barred.word()) {
        return Ok(());
    }
    Err(Error::field(field, barred.refusal()))
}

/// Takes something barred on, by name.
///
/// # Errors
/// As the database's.
pub fn take_on(
    tx: &mut Tx<'_>,
    now: Moment,
    lead: i64,
    (what, reason): (Barred, &str),
) -> Result<(), Error> {
    if store::taken_on(tx)?.iter().any(|t| t.what == what.word()) {
        return Ok(());
    }
    store::take_on(tx, now, lead, (what.word(), reason))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

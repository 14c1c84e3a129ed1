//! What waits for somebody today: their film on the shelf, the day's runs, what only a lead can do.

use chrono::NaiveDate;
use serde::Serialize;

use super::store;
use crate::baths::{Bath, Material, State};
use crate::clock::{Moment, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::outbox;
use crate::sessions::{Person, Role};
use crate::web::counted;

/// One thing that waits, and where it is done.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(super) struct Waits {
    pub(super) href: String,
    pub(super) text: String,
}

/// How much of each kind waits.
#[derive(Clone, Debug, Default)]
pub(super) struct Facts {
    /// Own film on the pick-up shelf.
    ready: i64,
    /// The beginnings of today's published runs that have not ended.
    runs: Vec<Moment>,
    /// Film of everybody that hangs for two hours, so it may be dry.
    hanging: i64,
    /// Applications that nobody has read.
    applications: i64,
    /// Letters that will not leave by themselves.
    parked: i64,
}

impl Facts {
    /// Whether a published run of today has not ended.
    pub(super) fn has_runs(&self) -> bool {
        !self.runs.is_empty()
    }
}

/// Film hangs for two hours in still air before it is sleeved (practice, as the drying time).
const DRY_AFTER_S: i64 = 2 * 3600;

/// Reads what waits for a person on a date.
///
/// # Errors
/// As the database's.
pub(super) fn facts(
    conn: &mut Conn,
    (now, date): (Moment, NaiveDate),
    person: &Person,
) -> Result<Facts, Error> {
    let mut facts = Facts { ready: store::ready_of(conn, person.id)?, ..Facts::default() };
    if person.role == Role::Newcomer {
        return Ok(facts);
    }
    facts.runs = store::runs_ahead(conn, date)?;
    if person.role == Role::Lead {
        facts.hanging = store::hanging_since(conn, now.plus(-DRY_AFTER_S))?;
        facts.applications = store::applications(conn)?;
        facts.parked = outbox::depth(conn, now)?.parked;
    }
    Ok(facts)
}

/// What a lead of a studio at work is told first while no fixer for film can be used.
pub(super) fn without_fixer(baths: &[(Bath, State)]) -> Option<Waits> {
    let is_fixer = |bath: &Bath| bath.is_fixer() && bath.material == Material::Film;
    let is_there = baths.iter().any(|(bath, state)| is_fixer(bath) && state.is_usable());
    let text = "No fixer for film is fit for use, so no day can be planned: mix one".to_owned();
    (!is_there).then(|| Waits { href: "/baths/new".to_owned(), text })
}

/// The same in sentences, what cannot wait first.
pub(super) fn in_words(
    (facts, baths): (&Facts, &[(Bath, State)]),
    (zone, date): (Zone, NaiveDate),
    person: &Person,
) -> Vec<Waits> {
    let mut all = Vec::new();
    let mut add = |href: String, text: String| all.push(Waits { href, text });
    let is_lead = person.role == Role::Lead;
    for (bath, _) in baths.iter().filter(|(_, state)| is_lead && !state.is_usable()) {
        add(format!("/baths/{}", bath.id), format!("Mix a fresh one for {}", bath.label));
    }
    if let Some(first) = facts.runs.first() {
        let count = counted(facts.runs.len(), "run", "runs");
        let at = zone.wall(*first).format("%H:%M");
        add(format!("/days/{date}"), format!("{count} today, the next from {at}"));
        add("/sink".to_owned(), "All tanks at the sink".to_owned());
    }
    if facts.ready > 0 {
        let count = counted(facts.ready, "roll of yours is", "rolls of yours are");
        let mine = if is_lead { "&mine=yes" } else { "" };
        add(format!("/rolls?state=ready{mine}"), format!("{count} ready to pick up"));
    }
    if facts.hanging > 0 {
        let count = counted(facts.hanging, "film has", "films have");
        add(
            "/rolls?state=on_the_hook".to_owned(),
            format!("{count} hung for two hours: put onto the pick-up shelf"),
        );
    }
    if facts.applications > 0 {
        let count = counted(facts.applications, "person would", "people would");
        add("/members".to_owned(), format!("{count} like to join: read, and approve or decline"));
    }
    if facts.parked > 0 {
        let count = counted(facts.parked, "letter does", "letters do");
        add("/letters".to_owned(), format!("{count} not leave: see why"));
    }
    all
}

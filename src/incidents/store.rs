use diesel::prelude::*;

use super::Settings;
use crate::clock::Moment;
use crate::db::schema::{
    eyewash_checks, incident_follow_ups, incidents, safety_settings, taken_on,
};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::studio;

/// What somebody tells of an incident.
#[derive(Clone, Debug, Default, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = incidents)]
pub struct NewIncident {
    /// When, in the reporter's words.
    pub happened: String,
    /// Where.
    pub place: String,
    /// What happened.
    pub what: String,
    /// Which chemical.
    pub chemical: String,
    /// Who was hurt and how, if anybody.
    pub injury: String,
    /// What was done at once.
    pub first_aid: String,
}

/// An incident on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incident {
    /// Its number.
    pub id: i64,
    /// Who filed it.
    pub filed_by: i64,
    /// When it was filed.
    pub filed: Moment,
    /// What was told.
    pub told: NewIncident,
    /// When it was closed.
    pub closed: Option<Moment>,
}

type Row = (i64, i64, i64, NewIncident, Option<i64>);

fn noun((id, filed_by, filed, told, closed): Row) -> Incident {
    Incident { id, filed_by, filed: Moment(filed), told, closed: closed.map(Moment) }
}

macro_rules! columns {
    () => {
        (
            incidents::id,
            incidents::filed_by,
            incidents::filed_s,
            NewIncident::as_select(),
            incidents::closed_s,
        )
    };
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    new: &NewIncident,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(incidents::table)
        .values((
            incidents::filed_by.eq(by),
            incidents::filed_s.eq(now.0),
            incidents::happened.eq(&new.happened),
            incidents::place.eq(&new.place),
            incidents::what.eq(&new.what),
            incidents::chemical.eq(&new.chemical),
            incidents::injury.eq(&new.injury),
            incidents::first_aid.eq(&new.first_aid),
        ))
        .returning(incidents::id)
        .get_result(tx.conn())?)
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Incident, Error> {
    let row: Row = incidents::table.find(id).select(columns!()).get_result(conn)?;
    Ok(noun(row))
}

/// All incidents, or those somebody filed; the latest first.
pub(super) fn list(conn: &mut Conn, of: Option<i64>) -> Result<Vec<Incident>, Error> {
    let mut wanted = incidents::table.into_boxed();
    if let Some(member) = of {
        wanted = wanted.filter(incidents::filed_by.eq(member));
    }
    let rows: Vec<Row> = wanted
        .order((incidents::filed_s.desc(), incidents::id.desc()))
        .select(columns!())
        .load(conn)?;
    Ok(rows.into_iter().map(noun).collect())
}

pub(super) fn close(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<(), Error> {
    diesel::update(incidents::table.find(id))
        .set(incidents::closed_s.eq(now.0))
        .execute(tx.conn())?;
    Ok(())
}

/// How many were erased.
pub(super) fn erase_closed_before(tx: &mut Tx<'_>, before: Moment) -> Result<usize, Error> {
    let old = incidents::table.filter(incidents::closed_s.lt(before.0));
    Ok(diesel::delete(old).execute(tx.conn())?)
}

/// What was done about an incident, in order: when, by whom, what.
pub(super) fn follow_ups(conn: &mut Conn, id: i64) -> Result<Vec<(Moment, i64, String)>, Error> {
    let rows: Vec<(i64, i64, String)> = incident_follow_ups::table
        .filter(incident_follow_ups::incident_id.eq(id))
        .order(incident_follow_ups::id)
        .select((incident_follow_ups::at_s, incident_follow_ups::by_id, incident_follow_ups::text))
        .load(conn)?;
    Ok(rows.into_iter().map(|(at, by, text)| (Moment(at), by, text)).collect())
}

pub(super) fn follow_up(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (id, text): (i64, &str),
) -> Result<(), Error> {
    diesel::insert_into(incident_follow_ups::table)
        .values((
            incident_follow_ups::incident_id.eq(id),
            incident_follow_ups::at_s.eq(now.0),
            incident_follow_ups::by_id.eq(by),
            incident_follow_ups::text.eq(text),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn settings(conn: &mut Conn) -> Result<Settings, Error> {
    let (lead, keep_months, version) = safety_settings::table
        .find(1)
        .select((
            safety_settings::safety_lead_id,
            safety_settings::keep_incidents_months,
            safety_settings::version,
        ))
        .get_result(conn)?;
    Ok(Settings { lead, keep_months, version })
}

pub(super) fn set(tx: &mut Tx<'_>, to: &Settings) -> Result<(), Error> {
    let same = safety_settings::table
        .filter(safety_settings::id.eq(1))
        .filter(safety_settings::version.eq(to.version));
    let rows = diesel::update(same)
        .set((
            safety_settings::safety_lead_id.eq(to.lead),
            safety_settings::keep_incidents_months.eq(to.keep_months),
            safety_settings::version.eq(safety_settings::version + 1),
        ))
        .execute(tx.conn())?;
    if rows == 1 { Ok(()) } else { Err(studio::changed_meanwhile("The safety settings")) }
}

/// One run of the eyewash.
#[derive(Clone, Debug, PartialEq, Eq, Queryable)]
pub(super) struct Check {
    pub(super) at_s: i64,
    pub(super) by_id: i64,
    pub(super) works: bool,
    pub(super) note: String,
}

/// The latest runs of the eyewash, the last first.
pub(super) fn checks(conn: &mut Conn, most: i64) -> Result<Vec<Check>, Error> {
    Ok(eyewash_checks::table
        .order((eyewash_checks::at_s.desc(), eyewash_checks::id.desc()))
        .limit(most)
        .select((
            eyewash_checks::at_s,
            eyewash_checks::by_id,
            eyewash_checks::works,
            eyewash_checks::note,
        ))
        .load(conn)?)
}

pub(super) fn record_check(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (works, note): (bool, &str),
) -> Result<(), Error> {
    diesel::insert_into(eyewash_checks::table)
        .values((
            eyewash_checks::at_s.eq(now.0),
            eyewash_checks::by_id.eq(by),
            eyewash_checks::works.eq(works),
            eyewash_checks::note.eq(note),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Something barred that a lead has taken on.
#[derive(Clone, Debug, PartialEq, Eq, Queryable)]
pub(super) struct TakenOn {
    pub(super) what: String,
    pub(super) taken_by: i64,
    pub(super) taken_s: i64,
    pub(super) reason: String,
}

pub(super) fn taken_on(conn: &mut Conn) -> Result<Vec<TakenOn>, Error> {
    Ok(taken_on::table
        .order(taken_on::what)
        .select((taken_on::what, taken_on::taken_by, taken_on::taken_s, taken_on::reason))
        .load(conn)?)
}

pub(super) fn take_on(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (what, reason): (&str, &str),
) -> Result<(), Error> {
    diesel::insert_into(taken_on::table)
        .values((
            taken_on::what.eq(what),
            taken_on::taken_by.eq(by),
            taken_on::taken_s.eq(now.0),
            taken_on::reason.eq(reason),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn bar_again(tx: &mut Tx<'_>, what: &str) -> Result<(), Error> {
    diesel::delete(taken_on::table.filter(taken_on::what.eq(what))).execute(tx.conn())?;
    Ok(())
}

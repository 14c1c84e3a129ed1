use chrono::{NaiveDate, NaiveTime};
use diesel::prelude::*;

use super::{Duty, NewDuty};
use crate::clock::{Moment, Span};
use crate::db::schema::{duties, members};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::Role;

pub(super) fn during(conn: &mut Conn, span: Span) -> Result<Vec<Duty>, Error> {
    type Row = (i64, i64, String, i64, i64, String);
    let rows: Vec<Row> = duties::table
        .inner_join(members::table.on(members::id.eq(duties::member_id)))
        .filter(duties::to_s.gt(span.from.0))
        .filter(duties::from_s.lt(span.to.0))
        // Who is no lead any more is on duty no more.
        .filter(members::role.eq(Role::Lead.word()))
        .filter(members::state.eq("active"))
        .order((duties::from_s, duties::id))
        .select((
            duties::id,
            duties::member_id,
            members::name,
            duties::from_s,
            duties::to_s,
            duties::note,
        ))
        .load(conn)?;
    let duty = |(id, member_id, name, from, to, note): Row| {
        let span = Span { from: Moment(from), to: Moment(to) };
        Duty { id, member_id, name, span, note }
    };
    Ok(rows.into_iter().map(duty).collect())
}

pub(super) fn is_lead(conn: &mut Conn, id: i64) -> Result<bool, Error> {
    let lead = members::table
        .filter(members::id.eq(id))
        .filter(members::role.eq(Role::Lead.word()))
        .filter(members::state.eq("active"));
    Ok(diesel::select(diesel::dsl::exists(lead)).get_result(conn)?)
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    new: &NewDuty,
    date: NaiveDate,
    span: Span,
) -> Result<(), Error> {
    diesel::insert_into(duties::table)
        .values((
            duties::member_id.eq(new.member_id),
            duties::date.eq(date),
            duties::from_wall.eq(new.from.format("%H:%M").to_string()),
            duties::to_wall.eq(new.to.format("%H:%M").to_string()),
            duties::from_s.eq(span.from.0),
            duties::to_s.eq(span.to.0),
            duties::note.eq(&new.note),
            duties::made_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

type Walls = (i64, NaiveDate, (NaiveTime, NaiveTime), Span);

/// The local times of coming duties, and the instants they came to.
pub(super) fn walls(conn: &mut Conn, now: Moment) -> Result<Vec<Walls>, Error> {
    type Row = (i64, NaiveDate, String, String, i64, i64);
    let rows: Vec<Row> = duties::table
        .filter(duties::from_s.gt(now.0))
        .select((
            duties::id,
            duties::date,
            duties::from_wall,
            duties::to_wall,
            duties::from_s,
            duties::to_s,
        ))
        .load(conn)?;
    let time = |text: &str| {
        NaiveTime::parse_from_str(text, "%H:%M")
            .map_err(|e| Error::broken("reading a duty's times", e))
    };
    let walls = |(id, date, from, to, from_s, to_s): Row| {
        let span = Span { from: Moment(from_s), to: Moment(to_s) };
        Ok((id, date, (time(&from)?, time(&to)?), span))
    };
    rows.into_iter().map(walls).collect()
}

pub(super) fn set_span(tx: &mut Tx<'_>, id: i64, span: Span) -> Result<(), Error> {
    diesel::update(duties::table.find(id))
        .set((duties::from_s.eq(span.from.0), duties::to_s.eq(span.to.0)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn delete(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    match diesel::delete(duties::table.filter(duties::id.eq(id))).execute(tx.conn())? {
        0 => Err(Error::NotFound),
        _ => Ok(()),
    }
}

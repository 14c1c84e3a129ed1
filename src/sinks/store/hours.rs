//! Opening hours and special days as rows.

use chrono::NaiveDate;
use diesel::prelude::*;

use crate::db::schema::{opening_hours, special_days};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::{Hours, SpecialDay};

pub(in crate::sinks) fn hours(conn: &mut Conn) -> Result<Vec<Hours>, Error> {
    let rows = opening_hours::table
        .order((opening_hours::weekday, opening_hours::from_min))
        .select((opening_hours::weekday, opening_hours::from_min, opening_hours::to_min))
        .load::<(i64, i64, i64)>(conn)?;
    let hours = |(weekday, from_min, to_min)| Hours { weekday, from_min, to_min };
    Ok(rows.into_iter().map(hours).collect())
}

pub(in crate::sinks) fn replace_hours(tx: &mut Tx<'_>, week: &[Hours]) -> Result<(), Error> {
    diesel::delete(opening_hours::table).execute(tx.conn())?;
    for h in week {
        diesel::insert_into(opening_hours::table)
            .values((
                opening_hours::weekday.eq(h.weekday),
                opening_hours::from_min.eq(h.from_min),
                opening_hours::to_min.eq(h.to_min),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

type Row = (i64, NaiveDate, NaiveDate, String, String);

/// Special days that touch these dates, by date.
pub(in crate::sinks) fn special_days(
    conn: &mut Conn,
    from: NaiveDate,
    to: NaiveDate,
) -> Result<Vec<SpecialDay>, Error> {
    let rows: Vec<Row> = special_days::table
        .filter(special_days::to_date.ge(from))
        .filter(special_days::from_date.le(to))
        .order((special_days::from_date, special_days::id))
        .select((
            special_days::id,
            special_days::from_date,
            special_days::to_date,
            special_days::hours,
            special_days::reason,
        ))
        .load(conn)?;
    let day = |(id, from, to, hours, reason)| SpecialDay { id, from, to, hours, reason };
    Ok(rows.into_iter().map(day).collect())
}

pub(in crate::sinks) fn insert_special_day(
    tx: &mut Tx<'_>,
    day: &SpecialDay,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(special_days::table)
        .values((
            special_days::from_date.eq(day.from),
            special_days::to_date.eq(day.to),
            special_days::hours.eq(&day.hours),
            special_days::reason.eq(&day.reason),
        ))
        .returning(special_days::id)
        .get_result(tx.conn())?)
}

/// Whether there was one.
pub(in crate::sinks) fn delete_special_day(tx: &mut Tx<'_>, id: i64) -> Result<bool, Error> {
    let gone = diesel::delete(special_days::table.find(id)).execute(tx.conn())?;
    Ok(gone > 0)
}

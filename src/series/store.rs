use chrono::{NaiveDate, NaiveDateTime};
use diesel::prelude::*;

use super::{Held, Occurrence, Outcome, Plan, Series};
use crate::clock::{Moment, Span};
use crate::db::schema::{bookings, occurrences, series, sinks};
use crate::db::{Conn, Tx};
use crate::error::Error;

const ORIGINAL: &str = "%Y-%m-%dT%H:%M";

pub(super) fn insert(tx: &mut Tx<'_>, now: Moment, lead: i64, plan: &Plan) -> Result<i64, Error> {
    Ok(diesel::insert_into(series::table)
        .values((
            series::member_id.eq(lead),
            series::title.eq(&plan.title),
            series::sink_id.eq(plan.sink_id),
            series::first_date.eq(plan.first),
            series::from_wall.eq(plan.from.format("%H:%M").to_string()),
            series::to_wall.eq(plan.to.format("%H:%M").to_string()),
            series::rule.eq(&plan.rule),
            series::made_s.eq(now.0),
            series::version.eq(1),
        ))
        .returning(series::id)
        .get_result(tx.conn())?)
}

pub(super) fn insert_occurrence(
    tx: &mut Tx<'_>,
    of: i64,
    outcome: &Outcome,
    booking: Option<i64>,
) -> Result<(), Error> {
    let left_out = outcome.made.as_ref().err().map_or("", String::as_str);
    diesel::insert_into(occurrences::table)
        .values((
            occurrences::series_id.eq(of),
            occurrences::original.eq(outcome.original.format(ORIGINAL).to_string()),
            occurrences::booking_id.eq(booking),
            occurrences::left_out.eq(left_out),
        ))
        .execute(tx.conn())?;
    Ok(())
}

type Row = (i64, String, i64, String, NaiveDate, String, String, String);

fn noun((id, title, sink_id, sink, first, from, to, rule): Row) -> Series {
    Series { id, title, sink_id, sink, first, from, to, rule }
}

#[diesel::dsl::auto_type(no_type_alias)]
fn rows() -> _ {
    series::table.inner_join(sinks::table.on(sinks::id.eq(series::sink_id))).select((
        series::id,
        series::title,
        series::sink_id,
        sinks::name,
        series::first_date,
        series::from_wall,
        series::to_wall,
        series::rule,
    ))
}

pub(super) fn all(conn: &mut Conn) -> Result<Vec<Series>, Error> {
    let found: Vec<Row> = rows().order(series::id.desc()).limit(200).load(conn)?;
    Ok(found.into_iter().map(noun).collect())
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Series, Error> {
    let row: Row = rows().filter(series::id.eq(id)).get_result(conn)?;
    Ok(noun(row))
}

pub(super) fn occurrences(conn: &mut Conn, of: i64) -> Result<Vec<Occurrence>, Error> {
    type Row = (i64, String, String, Option<(i64, i64, i64, String)>);
    let found: Vec<Row> = occurrences::table
        .left_join(bookings::table.on(occurrences::booking_id.eq(bookings::id.nullable())))
        .filter(occurrences::series_id.eq(of))
        .order(occurrences::original)
        .select((
            occurrences::id,
            occurrences::original,
            occurrences::left_out,
            (bookings::id, bookings::from_s, bookings::to_s, bookings::state).nullable(),
        ))
        .load(conn)?;
    let held = |(id, from, to, state): (i64, i64, i64, String)| Held {
        id,
        span: Span { from: Moment(from), to: Moment(to) },
        stands: state == "booked",
    };
    found
        .into_iter()
        .map(|(id, original, left_out, booking)| {
            let original = NaiveDateTime::parse_from_str(&original, ORIGINAL)
                .map_err(|e| Error::broken("reading an occurrence", e))?;
            Ok(Occurrence { id, original, booking: booking.map(held), left_out })
        })
        .collect()
}

//! The limits as rows.

use diesel::prelude::*;

use crate::bookings::Limits;
use crate::db::schema::{booking_limits, peak_hours};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::Hours;
use crate::studio;

#[derive(Queryable, Selectable)]
#[diesel(table_name = booking_limits)]
struct Row {
    grid_min: i64,
    longest_min: i64,
    per_week: Option<i64>,
    minutes_per_week: Option<i64>,
    ahead_days: i64,
    notice_min: i64,
    gap_min: i64,
    newcomers_per_lead: i64,
    peak_minutes_per_week: Option<i64>,
    peak_opens_min: i64,
    version: i64,
}

/// The grid bookings keep to, in minutes.
pub(in crate::bookings) fn grid_min(conn: &mut Conn) -> Result<i64, Error> {
    Ok(booking_limits::table.find(1).select(booking_limits::grid_min).get_result(conn)?)
}

pub(in crate::bookings) fn limits(conn: &mut Conn) -> Result<Limits, Error> {
    let row: Row = booking_limits::table.find(1).select(Row::as_select()).get_result(conn)?;
    let peak: Vec<(i64, i64, i64)> = peak_hours::table
        .order((peak_hours::weekday, peak_hours::from_min))
        .select((peak_hours::weekday, peak_hours::from_min, peak_hours::to_min))
        .load(conn)?;
    Ok(Limits {
        grid_min: row.grid_min,
        longest_min: row.longest_min,
        per_week: row.per_week,
        minutes_per_week: row.minutes_per_week,
        ahead_days: row.ahead_days,
        notice_min: row.notice_min,
        gap_min: row.gap_min,
        newcomers_per_lead: row.newcomers_per_lead,
        peak_minutes_per_week: row.peak_minutes_per_week,
        peak_opens_min: row.peak_opens_min,
        peak: peak
            .into_iter()
            .map(|(weekday, from_min, to_min)| Hours { weekday, from_min, to_min })
            .collect(),
        version: row.version,
    })
}

pub(in crate::bookings) fn update_limits(tx: &mut Tx<'_>, l: &Limits) -> Result<(), Error> {
    let same = booking_limits::table
        .filter(booking_limits::id.eq(1))
        .filter(booking_limits::version.eq(l.version));
    let rows = diesel::update(same)
        .set((
            booking_limits::grid_min.eq(l.grid_min),
            booking_limits::longest_min.eq(l.longest_min),
            booking_limits::per_week.eq(l.per_week),
            booking_limits::minutes_per_week.eq(l.minutes_per_week),
            booking_limits::ahead_days.eq(l.ahead_days),
            booking_limits::notice_min.eq(l.notice_min),
            booking_limits::gap_min.eq(l.gap_min),
            booking_limits::newcomers_per_lead.eq(l.newcomers_per_lead),
            booking_limits::peak_minutes_per_week.eq(l.peak_minutes_per_week),
            booking_limits::peak_opens_min.eq(l.peak_opens_min),
            booking_limits::version.eq(booking_limits::version + 1),
        ))
        .execute(tx.conn())?;
    if rows != 1 {
        return Err(studio::changed_meanwhile("These limits"));
    }
    diesel::delete(peak_hours::table).execute(tx.conn())?;
    for h in &l.peak {
        diesel::insert_into(peak_hours::table)
            .values((
                peak_hours::weekday.eq(h.weekday),
                peak_hours::from_min.eq(h.from_min),
                peak_hours::to_min.eq(h.to_min),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

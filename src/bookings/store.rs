use chrono::NaiveDate;
use diesel::prelude::*;

use super::{Booking, Wish};
use crate::clock::{Moment, Span};
use crate::db::schema::{bookings, members};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    wish: &Wish,
    span: Span,
) -> Result<i64, Error> {
    let wall = |t: chrono::NaiveTime| t.format("%H:%M").to_string();
    Ok(diesel::insert_into(bookings::table)
        .values((
            bookings::member_id.eq(member),
            bookings::sink_id.eq(wish.sink_id),
            bookings::date.eq(wish.date),
            bookings::from_wall.eq(wall(wish.from)),
            bookings::to_wall.eq(wall(wish.to)),
            bookings::second_pass.eq(false),
            bookings::from_s.eq(span.from.0),
            bookings::to_s.eq(span.to.0),
            bookings::state.eq("booked"),
            bookings::note.eq(&wish.note),
            bookings::created_s.eq(now.0),
            bookings::version.eq(1),
        ))
        .returning(bookings::id)
        .get_result(tx.conn())?)
}

type Row = (i64, i64, String, i64, i64, i64);

fn booking((id, member_id, member_name, sink_id, from, to): Row) -> Booking {
    let span = Span { from: Moment(from), to: Moment(to) };
    Booking { id, member_id, member_name, sink_id, span }
}

/// The booking and whether it stands.
pub(super) fn one(conn: &mut Conn, id: i64) -> Result<(Booking, bool), Error> {
    let (row, state): (Row, String) = bookings::table
        .inner_join(members::table.on(members::id.eq(bookings::member_id)))
        .filter(bookings::id.eq(id))
        .select((
            (
                bookings::id,
                bookings::member_id,
                members::name,
                bookings::sink_id,
                bookings::from_s,
                bookings::to_s,
            ),
            bookings::state,
        ))
        .first(conn)?;
    Ok((booking(row), state == "booked"))
}

pub(super) fn on(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Booking>, Error> {
    let rows: Vec<Row> = bookings::table
        .inner_join(members::table.on(members::id.eq(bookings::member_id)))
        .filter(bookings::date.eq(date))
        .filter(bookings::state.eq("booked"))
        .order((bookings::from_s, bookings::sink_id, bookings::id))
        .select((
            bookings::id,
            bookings::member_id,
            members::name,
            bookings::sink_id,
            bookings::from_s,
            bookings::to_s,
        ))
        .load(conn)?;
    Ok(rows.into_iter().map(booking).collect())
}

pub(super) fn mark_cancelled(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    diesel::update(bookings::table.find(id))
        .set((bookings::state.eq("cancelled"), bookings::version.eq(bookings::version + 1)))
        .execute(tx.conn())?;
    Ok(())
}

/// A member's bookings that stand and are not over.
pub(super) fn coming_of(conn: &mut Conn, now: Moment, member: i64) -> Result<Vec<i64>, Error> {
    Ok(bookings::table
        .filter(bookings::member_id.eq(member))
        .filter(bookings::state.eq("booked"))
        .filter(bookings::to_s.gt(now.0))
        .order(bookings::id)
        .select(bookings::id)
        .load(conn)?)
}

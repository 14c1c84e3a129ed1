use diesel::dsl::{count_star, max};
use diesel::prelude::*;

use super::{Item, Line, SignedList, Signing, Visit};
use crate::bookings::Kept;
use crate::clock::Moment;
use crate::db::schema::{
    arrivals, closing_items, closing_lines, closings, members, no_shows as missed, visits,
};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) fn inside(conn: &mut Conn) -> Result<Vec<Visit>, Error> {
    let rows: Vec<(i64, i64, String, i64)> = visits::table
        .inner_join(members::table.on(members::id.eq(visits::member_id)))
        .filter(visits::out_s.is_null())
        .order((visits::in_s, visits::id))
        .select((visits::id, visits::member_id, members::name, visits::in_s))
        .load(conn)?;
    let visit = |(id, member_id, name, since)| Visit { id, member_id, name, since: Moment(since) };
    Ok(rows.into_iter().map(visit).collect())
}

pub(super) fn visit_of(conn: &mut Conn, member: i64) -> Result<Option<i64>, Error> {
    Ok(visits::table
        .filter(visits::member_id.eq(member))
        .filter(visits::out_s.is_null())
        .select(visits::id)
        .first(conn)
        .optional()?)
}

pub(super) fn insert(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    diesel::insert_into(visits::table)
        .values((visits::member_id.eq(member), visits::in_s.eq(now.0)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn close(tx: &mut Tx<'_>, now: Moment, visit: i64, by: i64) -> Result<(), Error> {
    diesel::update(visits::table.filter(visits::id.eq(visit)).filter(visits::out_s.is_null()))
        .set((visits::out_s.eq(now.0), visits::out_by.eq(by)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn items(conn: &mut Conn) -> Result<Vec<Item>, Error> {
    let rows: Vec<(i64, String)> = closing_items::table
        .order(closing_items::position)
        .select((closing_items::position, closing_items::text))
        .load(conn)?;
    Ok(rows.into_iter().map(|(position, text)| Item { position, text }).collect())
}

pub(super) fn replace_items(tx: &mut Tx<'_>, texts: &[String]) -> Result<(), Error> {
    diesel::delete(closing_items::table).execute(tx.conn())?;
    for (text, position) in texts.iter().zip(1_i64..) {
        diesel::insert_into(closing_items::table)
            .values((closing_items::position.eq(position), closing_items::text.eq(text)))
            .execute(tx.conn())?;
    }
    Ok(())
}

pub(super) fn insert_signed(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (items, signing): (&[Item], &Signing),
) -> Result<(), Error> {
    let id: i64 = diesel::insert_into(closings::table)
        .values((
            closings::member_id.eq(by),
            closings::at_s.eq(now.0),
            closings::note.eq(signing.note.trim()),
        ))
        .returning(closings::id)
        .get_result(tx.conn())?;
    for item in items {
        diesel::insert_into(closing_lines::table)
            .values((
                closing_lines::closing_id.eq(id),
                closing_lines::position.eq(item.position),
                closing_lines::text.eq(&item.text),
                closing_lines::done.eq(signing.done.contains(&item.position)),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

pub(super) fn signed(conn: &mut Conn, most: i64) -> Result<Vec<SignedList>, Error> {
    let rows: Vec<(i64, String, i64, String)> = closings::table
        .inner_join(members::table.on(members::id.eq(closings::member_id)))
        .order((closings::at_s.desc(), closings::id.desc()))
        .limit(most)
        .select((closings::id, members::name, closings::at_s, closings::note))
        .load(conn)?;
    let ids: Vec<i64> = rows.iter().map(|r| r.0).collect();
    let lines: Vec<(i64, String, bool)> = closing_lines::table
        .filter(closing_lines::closing_id.eq_any(&ids))
        .order((closing_lines::closing_id, closing_lines::position))
        .select((closing_lines::closing_id, closing_lines::text, closing_lines::done))
        .load(conn)?;
    let of = |id: i64| {
        let own = lines.iter().filter(|l| l.0 == id);
        own.map(|(_, text, done)| Line { text: text.clone(), done: *done }).collect()
    };
    let list = |(id, name, at, note): (i64, String, i64, String)| SignedList {
        id,
        name,
        at: Moment(at),
        note,
        lines: of(id),
    };
    Ok(rows.into_iter().map(list).collect())
}

pub(super) fn arrivals(conn: &mut Conn, bookings: &[i64]) -> Result<Vec<(i64, Moment)>, Error> {
    let rows: Vec<(i64, i64)> = arrivals::table
        .filter(arrivals::booking_id.eq_any(bookings))
        .select((arrivals::booking_id, arrivals::at_s))
        .load(conn)?;
    Ok(rows.into_iter().map(|(booking, at)| (booking, Moment(at))).collect())
}

/// The first word about a booking stands.
pub(super) fn insert_arrival(
    tx: &mut Tx<'_>,
    now: Moment,
    booking: i64,
    by: i64,
) -> Result<(), Error> {
    let known: i64 =
        arrivals::table.filter(arrivals::booking_id.eq(booking)).count().get_result(tx.conn())?;
    if known > 0 {
        return Ok(());
    }
    diesel::insert_into(arrivals::table)
        .values((
            arrivals::booking_id.eq(booking),
            arrivals::at_s.eq(now.0),
            arrivals::by_id.eq(by),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn insert_no_show(tx: &mut Tx<'_>, now: Moment, booking: &Kept) -> Result<(), Error> {
    diesel::insert_into(missed::table)
        .values((
            missed::booking_id.eq(booking.id),
            missed::member_id.eq(booking.member_id),
            missed::at_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Who, how often, when last.
pub(super) fn no_shows(conn: &mut Conn, since: Moment) -> Result<Vec<(i64, i64, Moment)>, Error> {
    let rows: Vec<(i64, i64, Option<i64>)> = missed::table
        .filter(missed::at_s.gt(since.0))
        .group_by(missed::member_id)
        .select((missed::member_id, count_star(), max(missed::at_s)))
        .load(conn)?;
    Ok(rows.into_iter().map(|(who, n, last)| (who, n, Moment(last.unwrap_or(since.0)))).collect())
}

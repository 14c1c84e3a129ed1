mod limits;
mod runs;

use chrono::{NaiveDate, NaiveTime};
use diesel::prelude::*;

use super::by_the_clock::Walls;
use super::{Booking, LONGEST_S, Place, Wish};
use crate::clock::{Moment, Span, Zone};
use crate::db::like::{lower, pattern};
use crate::db::schema::{bookings, members};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::Role;
use crate::sinks::Light;
use crate::studio;

pub(super) use limits::{grid_min, limits, update_limits};
pub(super) use runs::runs;

/// Wall-clock times as they are kept, and whether each is the second of two.
struct Wall {
    date: NaiveDate,
    from: String,
    to: String,
    second: (bool, bool),
}

fn wall(zone: Zone, span: Span) -> Wall {
    let text = |m: Moment| zone.wall(m).format("%H:%M").to_string();
    let is_second = |m: Moment| matches!(zone.instant(zone.wall(m)), Err(crate::clock::WallFault::Twice(_, b)) if b == m);
    Wall {
        date: zone.date(span.from),
        from: text(span.from),
        to: text(span.to),
        second: (is_second(span.from), is_second(span.to)),
    }
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    place: &Place,
    (member, by, gap_s): (i64, i64, i64),
    (wish, span): (&Wish, Span),
) -> Result<i64, Error> {
    let wall = wall(place.zone, span);
    Ok(diesel::insert_into(bookings::table)
        .values((
            bookings::member_id.eq(member),
            bookings::sink_id.eq(wish.sink_id),
            bookings::date.eq(wall.date),
            bookings::from_wall.eq(wall.from),
            bookings::to_wall.eq(wall.to),
            bookings::second_pass.eq(wall.second.0),
            bookings::to_second_pass.eq(wall.second.1),
            bookings::from_s.eq(span.from.0),
            bookings::to_s.eq(span.to.0),
            bookings::state.eq("booked"),
            bookings::light.eq(wish.light.word()),
            bookings::gap_s.eq(gap_s),
            bookings::note.eq(&wish.note),
            bookings::made_by.eq(by),
            bookings::created_s.eq(place.now.0),
            bookings::changed_s.eq(place.now.0),
            bookings::version.eq(1),
        ))
        .returning(bookings::id)
        .get_result(tx.conn())?)
}

/// # Errors
/// A refusal when the booking is no longer of that version.
pub(super) fn update(
    tx: &mut Tx<'_>,
    place: &Place,
    (id, version, gap_s): (i64, i64, i64),
    (wish, span): (&Wish, Span),
) -> Result<(), Error> {
    let wall = wall(place.zone, span);
    let same = bookings::table.filter(bookings::id.eq(id)).filter(bookings::version.eq(version));
    let rows = diesel::update(same)
        .set((
            bookings::sink_id.eq(wish.sink_id),
            bookings::date.eq(wall.date),
            bookings::from_wall.eq(wall.from),
            bookings::to_wall.eq(wall.to),
            bookings::second_pass.eq(wall.second.0),
            bookings::to_second_pass.eq(wall.second.1),
            bookings::from_s.eq(span.from.0),
            bookings::to_s.eq(span.to.0),
            bookings::light.eq(wish.light.word()),
            bookings::gap_s.eq(gap_s),
            bookings::note.eq(&wish.note),
            bookings::changed_s.eq(place.now.0),
            bookings::version.eq(bookings::version + 1),
        ))
        .execute(tx.conn())?;
    if rows == 1 { Ok(()) } else { Err(studio::changed_meanwhile("This booking")) }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = bookings)]
struct Row {
    id: i64,
    member_id: i64,
    sink_id: i64,
    from_s: i64,
    to_s: i64,
    light: String,
    note: String,
    state: String,
    version: i64,
}

fn booking((row, member_name): (Row, String)) -> Booking {
    Booking {
        id: row.id,
        member_id: row.member_id,
        member_name,
        sink_id: row.sink_id,
        span: Span { from: Moment(row.from_s), to: Moment(row.to_s) },
        light: Light::from_word(&row.light).unwrap_or_default(),
        note: row.note,
        stands: row.state == "booked",
        version: row.version,
    }
}

macro_rules! with_names {
    () => {
        bookings::table
            .inner_join(members::table.on(members::id.eq(bookings::member_id)))
            .select((Row::as_select(), members::name))
    };
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Booking, Error> {
    Ok(booking(with_names!().filter(bookings::id.eq(id)).get_result(conn)?))
}

/// Those that stand on these local dates, both included.
pub(super) fn on(
    conn: &mut Conn,
    (first, last): (NaiveDate, NaiveDate),
) -> Result<Vec<Booking>, Error> {
    let rows: Vec<(Row, String)> = with_names!()
        .filter(bookings::date.ge(first))
        .filter(bookings::date.le(last))
        .filter(bookings::state.eq("booked"))
        .order((bookings::from_s, bookings::sink_id, bookings::id))
        .load(conn)?;
    Ok(rows.into_iter().map(booking).collect())
}

/// Those that stand and hold something within a stretch, cleaning up included.
pub(super) fn holding(conn: &mut Conn, span: Span) -> Result<Vec<Booking>, Error> {
    let rows: Vec<(Row, String)> = with_names!()
        .filter(bookings::from_s.gt(span.from.0.saturating_sub(LONGEST_S)))
        .filter(bookings::from_s.lt(span.to.0))
        .filter((bookings::to_s + bookings::gap_s).gt(span.from.0))
        .filter(bookings::state.eq("booked"))
        .load(conn)?;
    Ok(rows.into_iter().map(booking).collect())
}

/// The sinks and times of those that stand and meet a stretch.
pub(super) fn taken(conn: &mut Conn, within: Span) -> Result<Vec<(i64, Span)>, Error> {
    let rows: Vec<(i64, i64, i64)> = bookings::table
        .filter(bookings::from_s.gt(within.from.0.saturating_sub(LONGEST_S)))
        .filter(bookings::from_s.lt(within.to.0))
        .filter(bookings::to_s.gt(within.from.0))
        .filter(bookings::state.eq("booked"))
        .select((bookings::sink_id, bookings::from_s, bookings::to_s))
        .load(conn)?;
    Ok(rows.into_iter().map(|(sink, from, to)| (sink, span((from, to)))).collect())
}

/// Those of these numbers that stand, by time.
pub(super) fn some(conn: &mut Conn, ids: &[i64]) -> Result<Vec<Booking>, Error> {
    let rows: Vec<(Row, String)> = with_names!()
        .filter(bookings::id.eq_any(ids))
        .filter(bookings::state.eq("booked"))
        .order((bookings::from_s, bookings::id))
        .load(conn)?;
    Ok(rows.into_iter().map(booking).collect())
}

pub(super) fn of_member(conn: &mut Conn, member: i64, span: Span) -> Result<Vec<Booking>, Error> {
    let rows: Vec<(Row, String)> = with_names!()
        .filter(bookings::member_id.eq(member))
        .filter(bookings::from_s.ge(span.from.0))
        .filter(bookings::from_s.lt(span.to.0))
        .filter(bookings::state.eq("booked"))
        .order((bookings::from_s, bookings::id))
        .load(conn)?;
    Ok(rows.into_iter().map(booking).collect())
}

/// Those that stand and have all these words in what they are for, the latest first: a member's, or
/// all that begin after a moment.
pub(super) fn noted(
    conn: &mut Conn,
    (member, since): (Option<i64>, Moment),
    words: &[String],
    most: i64,
) -> Result<Vec<Booking>, Error> {
    let mut query = with_names!()
        .filter(bookings::state.eq("booked"))
        .order((bookings::from_s.desc(), bookings::id.desc()))
        .into_boxed();
    query = match member {
        Some(id) => query.filter(bookings::member_id.eq(id)),
        None => query.filter(bookings::from_s.ge(since.0)),
    };
    for word in words {
        query = query.filter(lower(bookings::note).like(pattern(word)).escape('\\'));
    }
    let rows: Vec<(Row, String)> = query.limit(most).load(conn)?;
    Ok(rows.into_iter().map(booking).collect())
}

pub(super) fn mark_cancelled(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<(), Error> {
    diesel::update(bookings::table.find(id))
        .set((
            bookings::state.eq("cancelled"),
            bookings::changed_s.eq(now.0),
            bookings::version.eq(bookings::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The local times of the bookings that stand and have not begun, in the order they were made.
pub(super) fn walls(conn: &mut Conn, now: Moment) -> Result<Vec<Walls>, Error> {
    type Row = (i64, NaiveDate, (String, String), (bool, bool), (i64, i64));
    let rows: Vec<Row> = bookings::table
        .filter(bookings::from_s.gt(now.0))
        .filter(bookings::state.eq("booked"))
        .order(bookings::id)
        .select((
            bookings::id,
            bookings::date,
            (bookings::from_wall, bookings::to_wall),
            (bookings::second_pass, bookings::to_second_pass),
            (bookings::from_s, bookings::to_s),
        ))
        .load(conn)?;
    let time = |text: &str| {
        NaiveTime::parse_from_str(text, "%H:%M")
            .map_err(|e| Error::broken("reading a booking's times", e))
    };
    let walls = |(id, date, (from, to), second, at): Row| {
        Ok(Walls { id, date, from: time(&from)?, to: time(&to)?, second, span: span(at) })
    };
    rows.into_iter().map(walls).collect()
}

/// Puts a booking to other instants; its local times stay.
pub(super) fn set_span(tx: &mut Tx<'_>, now: Moment, id: i64, span: Span) -> Result<(), Error> {
    diesel::update(bookings::table.find(id))
        .set((
            bookings::from_s.eq(span.from.0),
            bookings::to_s.eq(span.to.0),
            bookings::changed_s.eq(now.0),
            bookings::version.eq(bookings::version + 1),
        ))
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

/// When a member has bookings that begin within the span; one may be left out.
pub(super) fn spans_of(
    conn: &mut Conn,
    (member, but): (i64, Option<i64>),
    within: Span,
) -> Result<Vec<Span>, Error> {
    let rows: Vec<(i64, i64)> = bookings::table
        .filter(bookings::member_id.eq(member))
        .filter(bookings::from_s.ge(within.from.0))
        .filter(bookings::from_s.lt(within.to.0))
        .filter(bookings::state.eq("booked"))
        .filter(bookings::id.ne(but.unwrap_or(0)))
        .select((bookings::from_s, bookings::to_s))
        .load(conn)?;
    Ok(rows.into_iter().map(span).collect())
}

fn span((from, to): (i64, i64)) -> Span {
    Span { from: Moment(from), to: Moment(to) }
}

/// When newcomers have bookings that begin within the span; one may be left out.
pub(super) fn newcomers(
    conn: &mut Conn,
    but: Option<i64>,
    within: Span,
) -> Result<Vec<Span>, Error> {
    let rows: Vec<(i64, i64)> = bookings::table
        .inner_join(members::table.on(members::id.eq(bookings::member_id)))
        .filter(members::role.eq(Role::Newcomer.word()))
        .filter(bookings::from_s.ge(within.from.0))
        .filter(bookings::from_s.lt(within.to.0))
        .filter(bookings::state.eq("booked"))
        .filter(bookings::id.ne(but.unwrap_or(0)))
        .select((bookings::from_s, bookings::to_s))
        .load(conn)?;
    Ok(rows.into_iter().map(span).collect())
}

use diesel::prelude::*;

use super::{Kept, WhoseBookings};
use crate::bookings::LONGEST_S;
use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::db::schema::{bookings, members, sinks};
use crate::error::Error;

#[derive(Queryable)]
struct Row {
    id: i64,
    member_id: i64,
    member_name: String,
    sink: String,
    from_s: i64,
    to_s: i64,
    state: String,
    note: String,
    created_s: i64,
    changed_s: i64,
    version: i64,
}

impl From<Row> for Kept {
    fn from(r: Row) -> Kept {
        Kept {
            id: r.id,
            member_id: r.member_id,
            member_name: r.member_name,
            sink: r.sink,
            span: Span { from: Moment(r.from_s), to: Moment(r.to_s) },
            stands: r.state == "booked",
            note: r.note,
            created: Moment(r.created_s),
            changed: Moment(r.changed_s),
            version: r.version,
        }
    }
}

#[diesel::dsl::auto_type(no_type_alias)]
fn rows() -> _ {
    bookings::table
        .inner_join(members::table.on(members::id.eq(bookings::member_id)))
        .inner_join(sinks::table.on(sinks::id.eq(bookings::sink_id)))
        .select((
            bookings::id,
            bookings::member_id,
            members::name,
            sinks::name,
            bookings::from_s,
            bookings::to_s,
            bookings::state,
            bookings::note,
            bookings::created_s,
            bookings::changed_s,
            bookings::version,
        ))
}

pub(super) fn history(
    conn: &mut Conn,
    whose: WhoseBookings,
    since: Moment,
    most: i64,
) -> Result<Vec<Kept>, Error> {
    let late = rows()
        .filter(bookings::from_s.gt(since.0.saturating_sub(LONGEST_S)))
        .filter(bookings::to_s.gt(since.0))
        .order((bookings::from_s, bookings::id))
        .limit(most);
    let found: Vec<Row> = match whose {
        WhoseBookings::Of(member) => late.filter(bookings::member_id.eq(member)).load(conn)?,
        WhoseBookings::All => late.load(conn)?,
    };
    Ok(found.into_iter().map(Kept::from).collect())
}

pub(super) fn beginning(conn: &mut Conn, span: Span) -> Result<Vec<Kept>, Error> {
    let found: Vec<Row> = rows()
        .filter(bookings::state.eq("booked"))
        .filter(bookings::from_s.ge(span.from.0))
        .filter(bookings::from_s.lt(span.to.0))
        .order((bookings::from_s, bookings::id))
        .load(conn)?;
    Ok(found.into_iter().map(Kept::from).collect())
}

pub(super) fn kept(conn: &mut Conn, id: i64) -> Result<Kept, Error> {
    let row: Row = rows().filter(bookings::id.eq(id)).get_result(conn)?;
    Ok(row.into())
}

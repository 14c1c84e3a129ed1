//! The trail: one line a change, written with it. Only [`super::Db::write_now`] writes here.

use diesel::prelude::*;

use super::acting::{self, Acting, Notes};
use super::schema::{bookings, rolls, trail, visits, wishes};
use super::{Conn, Tx, Work};
use crate::clock::Moment;
use crate::error::Error;

impl Tx<'_> {
    /// Says who acts, where the door did not know: somebody who just proved themselves.
    pub fn acts(&mut self, member: i64) {
        acting::note(|n| n.actor = Some(member));
    }

    /// Says whose thing this change is about, where the door does not tell.
    pub fn concerns(&mut self, member: i64) {
        acting::note(|n| n.owner = Some(member));
    }

    /// Says that nothing is changed yet: a try is counted before it is made.
    pub fn only_tries(&mut self) {
        acting::note(|n| n.only_tried = true);
    }

    /// Says that nothing is done that is worth a line: a count taken back, a call repeated.
    pub fn leaves_no_line(&mut self) {
        acting::note(|n| n.has_no_line = true);
    }
}

/// Runs a change and writes its line, if somebody acts: what the house does by itself has none.
pub(super) fn with_line(conn: &mut Conn, change: Work<'_>) -> Result<(), Error> {
    let Some(acting) = acting::present() else { return change(conn) };
    acting::afresh();
    // Asked before the change, which may take the thing away.
    let owner = owner_of(conn, &acting)?;
    change(conn)?;
    let notes = acting::notes();
    if notes.has_no_line { Ok(()) } else { insert(conn, &acting, &notes, owner) }
}

/// Whose thing a door is about, as far as its address tells.
fn owner_of(conn: &mut Conn, acting: &Acting) -> Result<Option<i64>, Error> {
    let path = acting.door.split_once(' ').map_or("", |(_, path)| path);
    let path = path.strip_prefix("/api/v1").unwrap_or(path);
    let first = acting.thing.split('/').next().unwrap_or_default();
    let id: i64 = first.parse().unwrap_or(-1);
    let room = path.split('/').nth(1).unwrap_or_default();
    let found = match room {
        "me" | "own-runs" => return Ok(acting.actor),
        "bookings" | "presence" if path.contains("{id}") || path.contains("{booking}") => {
            bookings::table.find(id).select(bookings::member_id).get_result(conn)
        }
        "presence" if path.contains("{visit}") => {
            visits::table.find(id).select(visits::member_id).get_result(conn)
        }
        "waiting" if path.starts_with("/waiting/{id}") => {
            wishes::table.find(id).select(wishes::member_id).get_result(conn)
        }
        "rolls" if path.contains("{ticket}") => {
            rolls::table.filter(rolls::ticket.eq(first)).select(rolls::member_id).get_result(conn)
        }
        "members" | "letters" | "safety" if path.contains("{id}") || path.contains("{member}") => {
            let is_member = room == "members" || path.contains("{member}");
            return Ok((is_member && id > 0).then_some(id));
        }
        _ => return Ok(None),
    };
    Ok(found.optional()?)
}

fn insert(
    conn: &mut Conn,
    acting: &Acting,
    notes: &Notes,
    owner: Option<i64>,
) -> Result<(), Error> {
    diesel::insert_into(trail::table)
        .values((
            trail::at_s.eq(acting.at.0),
            trail::actor_id.eq(acting.actor.or(notes.actor)),
            trail::via.eq(acting.by.word()),
            trail::door.eq(&acting.door),
            trail::thing.eq(&acting.thing),
            trail::owner_id.eq(notes.owner.or(owner)),
            trail::only_tried.eq(notes.only_tried),
        ))
        .execute(conn)?;
    Ok(())
}

/// Deletes at most so many lines that are more than so many seconds older than now and than the
/// newest line: the database refuses any other.
///
/// # Errors
/// As the database's.
pub fn prune(tx: &mut Tx<'_>, now: Moment, kept_s: i64, most: i64) -> Result<usize, Error> {
    let newest: Option<i64> =
        trail::table.order(trail::at_s.desc()).select(trail::at_s).first(tx.conn()).optional()?;
    let before = newest.unwrap_or(now.0).min(now.0).saturating_sub(kept_s);
    let old: Vec<i64> = trail::table
        .filter(trail::at_s.lt(before))
        .order(trail::at_s)
        .limit(most)
        .select(trail::id)
        .load(tx.conn())?;
    Ok(diesel::delete(trail::table.filter(trail::id.eq_any(old))).execute(tx.conn())?)
}

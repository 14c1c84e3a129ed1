use diesel::prelude::*;

use super::Letter;
use crate::clock::Moment;
use crate::db::schema::{outbox, unwanted_letters};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets;

/// A letter in the outbox.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = outbox)]
pub struct LetterRow {
    /// Its id.
    pub id: i64,
    /// What it is about.
    pub kind: String,
    /// The member it goes to, where it is one.
    pub member_id: Option<i64>,
    /// Their name.
    pub to_name: String,
    /// Their address.
    pub to_address: String,
    /// Its subject.
    pub subject: String,
    /// Its text without the secret address.
    pub body: String,
    /// Whether its reader may do without it.
    pub optional: bool,
    /// The link it carries.
    pub link_id: Option<i64>,
    /// The left part of its Message-ID.
    pub message_id: String,
    /// When it was written, UTC seconds.
    pub created_s: i64,
    /// How often it was tried.
    pub attempts: i64,
    /// What the last try said.
    pub last_error: Option<String>,
    /// When it left.
    pub sent_s: Option<i64>,
    /// Since when it is parked.
    pub parked_s: Option<i64>,
}

/// How full the outbox is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Depth {
    /// Letters still to leave.
    pub waiting: i64,
    /// Letters that will not leave by themselves.
    pub parked: i64,
    /// Age of the oldest one waiting, in seconds.
    pub oldest_s: i64,
}

pub(super) fn is_known(conn: &mut Conn, dedupe_key: &str) -> Result<bool, Error> {
    let known = outbox::table.filter(outbox::dedupe_key.eq(dedupe_key));
    Ok(diesel::select(diesel::dsl::exists(known)).get_result(conn)?)
}

pub(super) fn is_unwanted(conn: &mut Conn, member: i64, kind: &str) -> Result<bool, Error> {
    Ok(diesel::select(diesel::dsl::exists(unwanted_letters::table.find((member, kind))))
        .get_result(conn)?)
}

pub(super) fn insert(tx: &mut Tx<'_>, now: Moment, letter: &Letter) -> Result<(), Error> {
    // The same cause gives the same Message-ID, whoever sends it and however often.
    let print: String =
        secrets::hash(&letter.dedupe_key).iter().take(16).map(|b| format!("{b:02x}")).collect();
    diesel::insert_into(outbox::table)
        .values((
            outbox::kind.eq(letter.kind),
            outbox::member_id.eq(letter.to.member_id),
            outbox::to_name.eq(&letter.to.name),
            outbox::to_address.eq(&letter.to.address),
            outbox::subject.eq(&letter.subject),
            outbox::body.eq(&letter.body),
            outbox::optional.eq(letter.optional),
            outbox::link_id.eq(letter.link),
            outbox::dedupe_key.eq(&letter.dedupe_key),
            outbox::message_id.eq(print),
            outbox::created_s.eq(now.0),
            outbox::send_after_s.eq(letter.send_after.0),
            outbox::attempts.eq(0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn claim(
    tx: &mut Tx<'_>,
    now: Moment,
    worker: &str,
    (most, lease_s): (i64, i64),
) -> Result<Vec<LetterRow>, Error> {
    let due: Vec<LetterRow> = outbox::table
        .filter(outbox::sent_s.is_null())
        .filter(outbox::parked_s.is_null())
        .filter(outbox::send_after_s.le(now.0))
        .filter(outbox::claimed_until_s.is_null().or(outbox::claimed_until_s.le(now.0)))
        .order((outbox::send_after_s, outbox::id))
        .limit(most)
        .select(LetterRow::as_select())
        .load(tx.conn())?;
    let ids: Vec<i64> = due.iter().map(|l| l.id).collect();
    diesel::update(outbox::table.filter(outbox::id.eq_any(ids)))
        .set((outbox::claimed_by.eq(worker), outbox::claimed_until_s.eq(now.plus(lease_s).0)))
        .execute(tx.conn())?;
    Ok(due)
}

/// What came of a claimed letter.
#[derive(Clone, Debug)]
pub(super) enum Outcome {
    Sent,
    Later { at: Moment, said: String },
    Parked { said: String },
}

/// Marks a letter, unless its claim has passed to another worker.
pub(super) fn mark(
    tx: &mut Tx<'_>,
    now: Moment,
    worker: &str,
    id: i64,
    outcome: &Outcome,
) -> Result<(), Error> {
    let mine = outbox::table.filter(outbox::id.eq(id)).filter(outbox::claimed_by.eq(worker));
    let none = (outbox::claimed_by.eq(None::<String>), outbox::claimed_until_s.eq(None::<i64>));
    let tried = outbox::attempts.eq(outbox::attempts + 1);
    match outcome {
        Outcome::Sent => diesel::update(mine)
            .set((none, tried, outbox::sent_s.eq(now.0), outbox::last_error.eq(None::<String>)))
            .execute(tx.conn())?,
        Outcome::Later { at, said } => diesel::update(mine)
            .set((none, tried, outbox::send_after_s.eq(at.0), outbox::last_error.eq(said)))
            .execute(tx.conn())?,
        Outcome::Parked { said } => diesel::update(mine)
            .set((none, tried, outbox::parked_s.eq(now.0), outbox::last_error.eq(said)))
            .execute(tx.conn())?,
    };
    Ok(())
}

pub(super) fn release(tx: &mut Tx<'_>, worker: &str) -> Result<(), Error> {
    diesel::update(outbox::table.filter(outbox::claimed_by.eq(worker)))
        .set((outbox::claimed_by.eq(None::<String>), outbox::claimed_until_s.eq(None::<i64>)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn depth(conn: &mut Conn, now: Moment) -> Result<Depth, Error> {
    let waiting =
        || outbox::table.filter(outbox::sent_s.is_null()).filter(outbox::parked_s.is_null());
    let parked = outbox::table.filter(outbox::parked_s.is_not_null()).count().get_result(conn)?;
    let oldest: Option<i64> =
        waiting().select(diesel::dsl::min(outbox::created_s)).get_result(conn)?;
    Ok(Depth {
        waiting: waiting().count().get_result(conn)?,
        parked,
        oldest_s: oldest.map_or(0, |s| now.0 - s),
    })
}

pub(super) fn parked(conn: &mut Conn) -> Result<Vec<LetterRow>, Error> {
    Ok(outbox::table
        .filter(outbox::parked_s.is_not_null())
        .order(outbox::parked_s.desc())
        .limit(200)
        .select(LetterRow::as_select())
        .load(conn)?)
}

pub(super) fn waiting(conn: &mut Conn) -> Result<Vec<LetterRow>, Error> {
    Ok(outbox::table
        .filter(outbox::sent_s.is_null())
        .filter(outbox::parked_s.is_null())
        .order(outbox::created_s.asc())
        .limit(100)
        .select(LetterRow::as_select())
        .load(conn)?)
}

pub(super) fn latest(conn: &mut Conn, most: i64) -> Result<Vec<LetterRow>, Error> {
    Ok(outbox::table
        .order(outbox::id.desc())
        .limit(most)
        .select(LetterRow::as_select())
        .load(conn)?)
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<LetterRow, Error> {
    Ok(outbox::table.find(id).select(LetterRow::as_select()).get_result(conn)?)
}

pub(super) fn unpark(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<(), Error> {
    let parked = outbox::table.filter(outbox::id.eq(id)).filter(outbox::parked_s.is_not_null());
    let rows = diesel::update(parked)
        .set((
            outbox::parked_s.eq(None::<i64>),
            outbox::attempts.eq(0),
            outbox::send_after_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    if rows == 0 { Err(Error::NotFound) } else { Ok(()) }
}

pub(super) fn want(tx: &mut Tx<'_>, member: i64, kind: &str, wanted: bool) -> Result<(), Error> {
    if wanted {
        diesel::delete(unwanted_letters::table.find((member, kind))).execute(tx.conn())?;
    } else if !is_unwanted(tx, member, kind)? {
        diesel::insert_into(unwanted_letters::table)
            .values((unwanted_letters::member_id.eq(member), unwanted_letters::kind.eq(kind)))
            .execute(tx.conn())?;
    }
    Ok(())
}

pub(super) fn unwanted(conn: &mut Conn, member: i64) -> Result<Vec<String>, Error> {
    Ok(unwanted_letters::table
        .filter(unwanted_letters::member_id.eq(member))
        .order(unwanted_letters::kind)
        .select(unwanted_letters::kind)
        .load(conn)?)
}

pub(super) fn forget_member(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    let theirs = || outbox::table.filter(outbox::member_id.eq(member));
    diesel::delete(theirs().filter(outbox::sent_s.is_null())).execute(tx.conn())?;
    diesel::update(theirs())
        .set((outbox::to_name.eq(""), outbox::to_address.eq(""), outbox::body.eq("")))
        .execute(tx.conn())?;
    diesel::delete(unwanted_letters::table.filter(unwanted_letters::member_id.eq(member)))
        .execute(tx.conn())?;
    Ok(())
}

/// Takes name, address, subject and text out of at most so many letters that left before this.
pub(super) fn forget_texts(tx: &mut Tx<'_>, before: Moment, most: i64) -> Result<usize, Error> {
    let old: Vec<i64> = outbox::table
        .filter(outbox::sent_s.lt(before.0))
        .filter(outbox::body.ne(""))
        .order(outbox::sent_s)
        .limit(most)
        .select(outbox::id)
        .load(tx.conn())?;
    let nothing = (
        outbox::to_name.eq(""),
        outbox::to_address.eq(""),
        outbox::subject.eq(""),
        outbox::body.eq(""),
    );
    Ok(diesel::update(outbox::table.filter(outbox::id.eq_any(old)))
        .set(nothing)
        .execute(tx.conn())?)
}

pub(super) fn due(conn: &mut Conn, now: Moment) -> Result<i64, Error> {
    Ok(outbox::table
        .filter(outbox::sent_s.is_null())
        .filter(outbox::parked_s.is_null())
        .filter(outbox::send_after_s.le(now.0))
        .filter(outbox::claimed_until_s.is_null().or(outbox::claimed_until_s.le(now.0)))
        .count()
        .get_result(conn)?)
}

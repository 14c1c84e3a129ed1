use diesel::prelude::*;

use super::{Link, Purpose};
use crate::clock::Moment;
use crate::db::schema::secret_links;
use crate::db::{Conn, Tx};
use crate::error::Error;

type Row = (i64, String, Option<i64>, Option<String>, i64, Option<i64>);

pub(super) fn insert(
    tx: &mut Tx<'_>,
    (now, expires): (Moment, Moment),
    purpose: Purpose,
    member_id: Option<i64>,
    payload: Option<&str>,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(secret_links::table)
        .values((
            secret_links::purpose.eq(purpose.word()),
            secret_links::member_id.eq(member_id),
            secret_links::payload.eq(payload),
            secret_links::created_s.eq(now.0),
            secret_links::expires_s.eq(expires.0),
        ))
        .returning(secret_links::id)
        .get_result(tx.conn())?)
}

pub(super) fn by_id(conn: &mut Conn, id: i64) -> Result<Link, Error> {
    let row: Row = secret_links::table
        .find(id)
        .select((
            secret_links::id,
            secret_links::purpose,
            secret_links::member_id,
            secret_links::payload,
            secret_links::expires_s,
            secret_links::used_s,
        ))
        .get_result(conn)?;
    let (id, purpose, member_id, payload, expires, used) = row;
    let purpose = Purpose::from_word(&purpose).ok_or(Error::NotFound)?;
    Ok(Link { id, purpose, member_id, payload, expires: Moment(expires), used: used.map(Moment) })
}

pub(super) fn mark_used(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<bool, Error> {
    let unused =
        secret_links::table.filter(secret_links::id.eq(id)).filter(secret_links::used_s.is_null());
    Ok(diesel::update(unused).set(secret_links::used_s.eq(now.0)).execute(tx.conn())? == 1)
}

pub(super) fn cancel(
    tx: &mut Tx<'_>,
    now: Moment,
    member_id: i64,
    purposes: &[Purpose],
) -> Result<(), Error> {
    let words: Vec<&str> = purposes.iter().map(|p| p.word()).collect();
    let theirs = secret_links::table
        .filter(secret_links::member_id.eq(member_id))
        .filter(secret_links::purpose.eq_any(words))
        .filter(secret_links::used_s.is_null());
    diesel::update(theirs).set(secret_links::used_s.eq(now.0)).execute(tx.conn())?;
    Ok(())
}

pub(super) fn empty(tx: &mut Tx<'_>, member_id: i64) -> Result<(), Error> {
    diesel::update(secret_links::table.filter(secret_links::member_id.eq(member_id)))
        .set(secret_links::payload.eq(None::<String>))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn empty_ended(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    let ended = secret_links::expires_s.le(now.0).or(secret_links::used_s.is_not_null());
    diesel::update(secret_links::table.filter(secret_links::payload.is_not_null()).filter(ended))
        .set(secret_links::payload.eq(None::<String>))
        .execute(tx.conn())?;
    Ok(())
}

use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::schema::{recovery_codes, second_factors};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A member's second factor as it is kept.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = second_factors)]
pub(super) struct Factor {
    pub(super) drawn: Vec<u8>,
    pub(super) confirmed_s: Option<i64>,
    pub(super) last_step: i64,
}

pub(super) fn of(conn: &mut Conn, member: i64) -> Result<Option<Factor>, Error> {
    Ok(second_factors::table
        .filter(second_factors::member_id.eq(member))
        .select(Factor::as_select())
        .first(conn)
        .optional()?)
}

/// Puts a beginning in the place of an earlier one.
pub(super) fn begin(tx: &mut Tx<'_>, now: Moment, member: i64, drawn: &[u8]) -> Result<(), Error> {
    forget(tx, member)?;
    diesel::insert_into(second_factors::table)
        .values((
            second_factors::member_id.eq(member),
            second_factors::drawn.eq(drawn),
            second_factors::begun_s.eq(now.0),
            second_factors::last_step.eq(0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn confirm(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    diesel::update(second_factors::table.filter(second_factors::member_id.eq(member)))
        .set(second_factors::confirmed_s.eq(now.0))
        .execute(tx.conn())?;
    Ok(())
}

/// Uses a half minute up; says whether it was later than every one used before.
pub(super) fn use_step(tx: &mut Tx<'_>, member: i64, step: i64) -> Result<bool, Error> {
    let earlier = second_factors::table
        .filter(second_factors::member_id.eq(member))
        .filter(second_factors::last_step.lt(step));
    let rows =
        diesel::update(earlier).set(second_factors::last_step.eq(step)).execute(tx.conn())?;
    Ok(rows == 1)
}

pub(super) fn put_codes(tx: &mut Tx<'_>, member: i64, hashes: &[Vec<u8>]) -> Result<(), Error> {
    diesel::delete(recovery_codes::table.filter(recovery_codes::member_id.eq(member)))
        .execute(tx.conn())?;
    for hash in hashes {
        diesel::insert_into(recovery_codes::table)
            .values((
                recovery_codes::member_id.eq(member),
                recovery_codes::code_hash.eq(hash.as_slice()),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

/// Uses a recovery code up; says whether there was such a one unused.
pub(super) fn use_code(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    hash: &[u8],
) -> Result<bool, Error> {
    let unused = recovery_codes::table
        .filter(recovery_codes::member_id.eq(member))
        .filter(recovery_codes::code_hash.eq(hash))
        .filter(recovery_codes::used_s.is_null());
    let rows = diesel::update(unused).set(recovery_codes::used_s.eq(now.0)).execute(tx.conn())?;
    Ok(rows == 1)
}

pub(super) fn codes_left(conn: &mut Conn, member: i64) -> Result<i64, Error> {
    Ok(recovery_codes::table
        .filter(recovery_codes::member_id.eq(member))
        .filter(recovery_codes::used_s.is_null())
        .count()
        .get_result(conn)?)
}

pub(super) fn forget(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    diesel::delete(recovery_codes::table.filter(recovery_codes::member_id.eq(member)))
        .execute(tx.conn())?;
    diesel::delete(second_factors::table.filter(second_factors::member_id.eq(member)))
        .execute(tx.conn())?;
    Ok(())
}

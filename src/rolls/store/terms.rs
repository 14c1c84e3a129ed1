//! The studio's drop-off terms and who accepted which version of them.

use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::schema::{accepted_terms, drop_off_terms};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// One version of the drop-off terms.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = drop_off_terms)]
pub struct Terms {
    /// Its id.
    pub id: i64,
    /// Its number, from 1 on.
    pub number: i64,
    /// What it says.
    pub body: String,
    published_s: i64,
}

impl Terms {
    /// When it was published.
    #[must_use]
    pub fn published(&self) -> Moment {
        Moment(self.published_s)
    }
}

/// Every version, the latest first.
pub(crate) fn terms(conn: &mut Conn) -> Result<Vec<Terms>, Error> {
    let sorted = drop_off_terms::table.order(drop_off_terms::number.desc());
    Ok(sorted.select(Terms::as_select()).limit(100).load(conn)?)
}

pub(crate) fn current_terms(conn: &mut Conn) -> Result<Option<Terms>, Error> {
    let sorted = drop_off_terms::table.order(drop_off_terms::number.desc());
    Ok(sorted.select(Terms::as_select()).first(conn).optional()?)
}

pub(crate) fn insert_terms(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    body: &str,
) -> Result<i64, Error> {
    let last = current_terms(tx)?.map_or(0, |t| t.number);
    Ok(diesel::insert_into(drop_off_terms::table)
        .values((
            drop_off_terms::number.eq(last + 1),
            drop_off_terms::body.eq(body),
            drop_off_terms::published_s.eq(now.0),
            drop_off_terms::published_by.eq(by),
        ))
        .returning(drop_off_terms::number)
        .get_result(tx.conn())?)
}

pub(crate) fn has_accepted(conn: &mut Conn, terms: i64, member: i64) -> Result<bool, Error> {
    let accepted = accepted_terms::table
        .filter(accepted_terms::terms_id.eq(terms).and(accepted_terms::member_id.eq(member)));
    Ok(diesel::select(diesel::dsl::exists(accepted)).get_result(conn)?)
}

pub(crate) fn accept(tx: &mut Tx<'_>, now: Moment, terms: i64, member: i64) -> Result<(), Error> {
    if has_accepted(tx, terms, member)? {
        return Ok(());
    }
    diesel::insert_into(accepted_terms::table)
        .values((
            accepted_terms::terms_id.eq(terms),
            accepted_terms::member_id.eq(member),
            accepted_terms::at_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

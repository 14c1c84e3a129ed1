mod held;
mod hours;
mod outages;
mod stations;
mod things;

use std::ops::RangeInclusive;

use diesel::prelude::*;
use diesel::result::{DatabaseErrorKind as Fault, Error as Diesel};

use super::Kind;
use crate::clock::Moment;
use crate::db::schema::{holds, units};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) use held::*;
pub(super) use hours::*;
pub(super) use outages::*;
pub(super) use stations::*;
pub(super) use things::*;

/// What a name that is taken already means to the form.
fn named(field: &'static str) -> impl Fn(Diesel) -> Error {
    move |e| match e {
        Diesel::DatabaseError(Fault::UniqueViolation, _) => {
            Error::field(field, "There is one of that name already; choose another.")
        }
        other => other.into(),
    }
}

pub(super) fn add_units(
    tx: &mut Tx<'_>,
    kind: Kind,
    of_id: i64,
    seats: RangeInclusive<i64>,
) -> Result<(), Error> {
    for seat in seats {
        diesel::insert_into(units::table)
            .values((units::kind.eq(kind.word()), units::of_id.eq(of_id), units::seat.eq(seat)))
            .execute(tx.conn())?;
    }
    Ok(())
}

/// Whether any seat after `keep` is promised from now on.
pub(super) fn is_promised(
    conn: &mut Conn,
    now: Moment,
    (kind, of_id, keep): (Kind, i64, i64),
) -> Result<bool, Error> {
    let seats = seats_after(conn, kind, of_id, keep)?;
    let coming = holds::table.filter(holds::unit_id.eq_any(&seats)).filter(holds::to_s.gt(now.0));
    let count: i64 = coming.filter(holds::outage_id.is_null()).count().get_result(conn)?;
    Ok(count > 0)
}

fn seats_after(conn: &mut Conn, kind: Kind, of_id: i64, keep: i64) -> Result<Vec<i64>, Error> {
    Ok(units::table
        .filter(units::kind.eq(kind.word()))
        .filter(units::of_id.eq(of_id))
        .filter(units::seat.gt(keep))
        .select(units::id)
        .load(conn)?)
}

/// Takes away the seats after `keep`, with all that was ever held of them.
pub(super) fn drop_units(tx: &mut Tx<'_>, kind: Kind, of_id: i64, keep: i64) -> Result<(), Error> {
    let gone = seats_after(tx, kind, of_id, keep)?;
    diesel::delete(holds::table.filter(holds::unit_id.eq_any(&gone))).execute(tx.conn())?;
    diesel::delete(units::table.filter(units::id.eq_any(&gone))).execute(tx.conn())?;
    Ok(())
}

//! How long film waits, one row.

use diesel::prelude::*;

use crate::db::schema::roll_customs;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::rolls::customs::Customs;

pub(crate) fn customs(conn: &mut Conn) -> Result<Customs, Error> {
    let (wait_days, kept_days, join_min, version) = roll_customs::table
        .find(1)
        .select((
            roll_customs::wait_days,
            roll_customs::kept_days,
            roll_customs::join_min,
            roll_customs::version,
        ))
        .get_result(conn)?;
    Ok(Customs { wait_days, kept_days, join_min, version })
}

/// Says whether they were still of that version.
pub(crate) fn update_customs(tx: &mut Tx<'_>, to: &Customs) -> Result<bool, Error> {
    let same = roll_customs::table
        .filter(roll_customs::id.eq(1))
        .filter(roll_customs::version.eq(to.version));
    let rows = diesel::update(same)
        .set((
            roll_customs::wait_days.eq(to.wait_days),
            roll_customs::kept_days.eq(to.kept_days),
            roll_customs::join_min.eq(to.join_min),
            roll_customs::version.eq(roll_customs::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

use diesel::prelude::*;

use super::Customs;
use crate::db::schema::customs;
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) fn load(conn: &mut Conn) -> Result<Customs, Error> {
    let (remind_min, offer_min, no_show_min, left_open_min, version) = customs::table
        .find(1)
        .select((
            customs::remind_min,
            customs::offer_min,
            customs::no_show_min,
            customs::left_open_min,
            customs::version,
        ))
        .get_result(conn)?;
    Ok(Customs { remind_min, offer_min, no_show_min, left_open_min, version })
}

pub(super) fn update(tx: &mut Tx<'_>, to: &Customs) -> Result<bool, Error> {
    let same = customs::table.filter(customs::id.eq(1)).filter(customs::version.eq(to.version));
    let rows = diesel::update(same)
        .set((
            customs::remind_min.eq(to.remind_min),
            customs::offer_min.eq(to.offer_min),
            customs::no_show_min.eq(to.no_show_min),
            customs::left_open_min.eq(to.left_open_min),
            customs::version.eq(customs::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

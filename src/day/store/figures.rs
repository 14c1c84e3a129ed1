use std::collections::BTreeMap;

use diesel::prelude::*;

use crate::db::schema::day_figures;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// The figures the studio has set itself.
pub(in crate::day) fn figures(conn: &mut Conn) -> Result<BTreeMap<String, i64>, Error> {
    let rows: Vec<(String, i64)> =
        day_figures::table.select((day_figures::name, day_figures::value)).load(conn)?;
    Ok(rows.into_iter().collect())
}

/// Sets a figure, or gives it back to its default.
pub(in crate::day) fn set_figure(
    tx: &mut Tx<'_>,
    name: &str,
    value: Option<i64>,
) -> Result<(), Error> {
    diesel::delete(day_figures::table.filter(day_figures::name.eq(name))).execute(tx.conn())?;
    if let Some(value) = value {
        diesel::insert_into(day_figures::table)
            .values((day_figures::name.eq(name), day_figures::value.eq(value)))
            .execute(tx.conn())?;
    }
    Ok(())
}

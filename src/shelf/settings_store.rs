use diesel::prelude::*;

use super::Settings;
use crate::db::schema::bath_settings;
use crate::db::{Conn, Tx};
use crate::error::Error;

#[derive(Queryable, Selectable)]
#[diesel(table_name = bath_settings)]
struct Row {
    margin_percent: i64,
    tabular_percent: i64,
    carry_over_ul: i64,
    second_bath_percent: i64,
    most_promotions: i64,
    opened_long_days: i64,
    currency: String,
    version: i64,
}

pub(super) fn load(conn: &mut Conn) -> Result<Settings, Error> {
    let row: Row = bath_settings::table.find(1).select(Row::as_select()).get_result(conn)?;
    Ok(Settings {
        margin_percent: row.margin_percent,
        tabular_percent: row.tabular_percent,
        carry_over_ul: row.carry_over_ul,
        second_bath_percent: row.second_bath_percent,
        most_promotions: row.most_promotions,
        opened_long_days: row.opened_long_days,
        currency: row.currency,
        version: row.version,
    })
}

/// Whether the row was still of the version the change was made from.
pub(super) fn update(tx: &mut Tx<'_>, to: &Settings) -> Result<bool, Error> {
    let same = bath_settings::table.filter(bath_settings::version.eq(to.version));
    let rows = diesel::update(same)
        .set((
            bath_settings::margin_percent.eq(to.margin_percent),
            bath_settings::tabular_percent.eq(to.tabular_percent),
            bath_settings::carry_over_ul.eq(to.carry_over_ul),
            bath_settings::second_bath_percent.eq(to.second_bath_percent),
            bath_settings::most_promotions.eq(to.most_promotions),
            bath_settings::opened_long_days.eq(to.opened_long_days),
            bath_settings::currency.eq(&to.currency),
            bath_settings::version.eq(bath_settings::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

//! Sheets of labels of the studio's own measures.

use std::borrow::Cow;

use diesel::prelude::*;

use crate::db::schema::label_sheets;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::rolls::labels::Sheet;

#[derive(Queryable, Selectable)]
#[diesel(table_name = label_sheets)]
struct Row {
    id: i64,
    name: String,
    page_width: i64,
    page_height: i64,
    across: i64,
    down: i64,
    label_width: i64,
    label_height: i64,
    left_margin: i64,
    top_margin: i64,
    gap_across: i64,
    gap_down: i64,
}

/// All of them by name, each with its id.
pub(crate) fn sheets(conn: &mut Conn) -> Result<Vec<(i64, Sheet)>, Error> {
    let sorted = label_sheets::table.order(label_sheets::name);
    let rows: Vec<Row> = sorted.select(Row::as_select()).limit(100).load(conn)?;
    let noun = |r: Row| {
        let sheet = Sheet {
            word: Cow::Owned(format!("own-{}", r.id)),
            name: r.name,
            paper: "own",
            page: (r.page_width, r.page_height),
            grid: (r.across, r.down),
            label: (r.label_width, r.label_height),
            gap: (r.gap_across, r.gap_down),
            margin: (r.left_margin, r.top_margin),
        };
        (r.id, sheet)
    };
    Ok(rows.into_iter().map(noun).collect())
}

pub(crate) fn sheet_named(conn: &mut Conn, name: &str) -> Result<Option<i64>, Error> {
    let named = label_sheets::table.filter(label_sheets::name.eq(name));
    Ok(named.select(label_sheets::id).first(conn).optional()?)
}

pub(crate) fn insert_sheet(tx: &mut Tx<'_>, sheet: &Sheet) -> Result<i64, Error> {
    Ok(diesel::insert_into(label_sheets::table)
        .values((
            label_sheets::name.eq(&sheet.name),
            label_sheets::page_width.eq(sheet.page.0),
            label_sheets::page_height.eq(sheet.page.1),
            label_sheets::across.eq(sheet.grid.0),
            label_sheets::down.eq(sheet.grid.1),
            label_sheets::label_width.eq(sheet.label.0),
            label_sheets::label_height.eq(sheet.label.1),
            label_sheets::left_margin.eq(sheet.margin.0),
            label_sheets::top_margin.eq(sheet.margin.1),
            label_sheets::gap_across.eq(sheet.gap.0),
            label_sheets::gap_down.eq(sheet.gap.1),
        ))
        .returning(label_sheets::id)
        .get_result(tx.conn())?)
}

pub(crate) fn delete_sheet(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    diesel::delete(label_sheets::table.find(id)).execute(tx.conn())?;
    Ok(())
}

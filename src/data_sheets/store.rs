//! What data sheets say of the products, row by row.

use std::collections::BTreeMap;

use diesel::prelude::*;

use crate::db::schema::{developers, product_hazards, products};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::hazards::{Lines, Sheet, Strength, written};

/// Stands where one of several parts has no lines.
const UNTOLD: &str =
    "For one of its parts no lines were typed in: read the maker's safety data sheet first.";

type Row = (i64, String, String, String, String);

fn put(into: &mut Sheet, (_, strength, signal, codes, words): &Row) -> Result<(), Error> {
    let broken = |e: String| Error::broken("reading a product's hazard lines", e);
    let at = Strength::from_word(strength).ok_or_else(|| broken(strength.clone()))?;
    *into.at_mut(at) = Lines::read(signal, codes, words).map_err(broken)?;
    Ok(())
}

/// The sheets of all products that have one.
///
/// # Errors
/// As the database's.
pub fn all(conn: &mut Conn) -> Result<BTreeMap<i64, Sheet>, Error> {
    let rows: Vec<Row> = product_hazards::table
        .order((product_hazards::product_id, product_hazards::strength))
        .select(product_hazards::all_columns)
        .load(conn)?;
    let mut sheets: BTreeMap<i64, Sheet> = BTreeMap::new();
    for row in &rows {
        put(sheets.entry(row.0).or_default(), row)?;
    }
    Ok(sheets)
}

/// What the data sheet of a product says; an empty one where nothing was typed in.
///
/// # Errors
/// As the database's.
pub fn of_product(conn: &mut Conn, product: i64) -> Result<Sheet, Error> {
    let rows: Vec<Row> = product_hazards::table
        .filter(product_hazards::product_id.eq(product))
        .select(product_hazards::all_columns)
        .load(conn)?;
    let mut sheet = Sheet::default();
    for row in &rows {
        put(&mut sheet, row)?;
    }
    Ok(sheet)
}

/// What the data sheet says of the product that is poured for a developer of the time chart: its
/// own, or that of another dilution from the same bottle. Where it is mixed from several parts, the
/// sheets of all of them together.
/// Nothing where none is on the shelf's list or no line was typed in.
///
/// # Errors
/// As the database's.
pub fn of_developer(conn: &mut Conn, developer: i64) -> Result<Option<Sheet>, Error> {
    Ok(of_developers(conn)?.remove(&developer))
}

/// The same for all developers of the chart that have one.
///
/// # Errors
/// As the database's.
pub fn of_developers(conn: &mut Conn) -> Result<BTreeMap<i64, Sheet>, Error> {
    let sheets = all(conn)?;
    let chart: Vec<(i64, String, String)> = developers::table
        .select((developers::id, developers::product, developers::parts))
        .load(conn)?;
    let poured: Vec<(i64, Option<i64>, i64)> = products::table
        .filter(products::developer_id.is_not_null())
        .order(products::id)
        .select((products::id, products::developer_id, products::developer_part))
        .load(conn)?;
    let bottle = |id: i64| chart.iter().find(|(d, ..)| *d == id).map_or("", |(_, b, _)| b.as_str());
    let of = |id: i64, parts: &str| {
        let same = |d: i64| d == id || (!bottle(id).is_empty() && bottle(d) == bottle(id));
        let mut by_part: BTreeMap<i64, &Sheet> = BTreeMap::new();
        for (product, _, part) in poured.iter().filter(|(_, d, _)| d.is_some_and(same)) {
            if let Some(sheet) = sheets.get(product).filter(|s| !s.is_empty()) {
                by_part.entry(*part).or_insert(sheet);
            }
        }
        let silent = parts.split('+').count() > by_part.len();
        let mut sheet = by_part.into_values().cloned().reduce(|all, one| all.and(&one))?;
        if silent {
            let words = &mut sheet.concentrate.words;
            *words = format!("{words} {UNTOLD}").trim().to_owned();
        }
        Some(sheet)
    };
    Ok(chart.iter().filter_map(|(id, _, parts)| Some((*id, of(*id, parts)?))).collect())
}

/// Writes a product's sheet in place of the one before.
///
/// # Errors
/// As the database's.
pub fn keep(tx: &mut Tx<'_>, product: i64, sheet: &Sheet) -> Result<(), Error> {
    diesel::delete(product_hazards::table.filter(product_hazards::product_id.eq(product)))
        .execute(tx.conn())?;
    for strength in Strength::ALL {
        let lines = sheet.at(strength);
        diesel::insert_into(product_hazards::table)
            .values((
                product_hazards::product_id.eq(product),
                product_hazards::strength.eq(strength.word()),
                product_hazards::signal.eq(lines.signal.map_or("", |s| s.word())),
                product_hazards::codes.eq(written(&lines.codes)),
                product_hazards::words.eq(&lines.words),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

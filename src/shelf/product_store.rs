use diesel::prelude::*;
use diesel::result::{DatabaseErrorKind as Fault, Error as Diesel};

use super::rules::{Form, Purpose};
use super::{NewProduct, Product};
use crate::data_sheets;
use crate::db::schema::products;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::hazards::Sheet;

#[derive(Queryable, Selectable)]
#[diesel(table_name = products)]
struct ProductRow {
    id: i64,
    name: String,
    kind: String,
    form: String,
    developer_id: Option<i64>,
    water_parts: Option<i64>,
    mg_per_litre: Option<i64>,
    rolls_per_litre_milli: Option<i64>,
    working_keeps_days: Option<i64>,
    opened_keeps_days: Option<i64>,
    size: i64,
    reorder_at: i64,
    price: i64,
    note: String,
    version: i64,
    developer_part: i64,
}

fn product(row: ProductRow, sheet: Sheet) -> Result<Product, Error> {
    let broken = || Error::broken("reading a product", "its kind or form");
    Ok(Product {
        id: row.id,
        version: row.version,
        of: NewProduct {
            name: row.name,
            purpose: Purpose::from_word(&row.kind).ok_or_else(broken)?,
            form: Form::from_word(&row.form).ok_or_else(broken)?,
            developer_id: row.developer_id,
            developer_part: row.developer_part,
            water_parts: row.water_parts,
            mg_per_litre: row.mg_per_litre,
            rolls_per_litre_milli: row.rolls_per_litre_milli,
            working_keeps_days: row.working_keeps_days,
            opened_keeps_days: row.opened_keeps_days,
            size: row.size,
            reorder_at: row.reorder_at,
            price: row.price,
            sheet,
            note: row.note,
        },
    })
}

fn named(e: Diesel) -> Error {
    match e {
        Diesel::DatabaseError(Fault::UniqueViolation, _) => {
            Error::field("name", "There is a product of that name already; choose another.")
        }
        other => other.into(),
    }
}

macro_rules! columns {
    ($p:expr) => {
        (
            products::name.eq(&$p.name),
            products::kind.eq($p.purpose.word()),
            products::form.eq($p.form.word()),
            products::developer_id.eq($p.developer_id),
            products::developer_part.eq($p.developer_part),
            products::water_parts.eq($p.water_parts),
            products::mg_per_litre.eq($p.mg_per_litre),
            products::rolls_per_litre_milli.eq($p.rolls_per_litre_milli),
            products::working_keeps_days.eq($p.working_keeps_days),
            products::opened_keeps_days.eq($p.opened_keeps_days),
            products::size.eq($p.size),
            products::reorder_at.eq($p.reorder_at),
            products::price.eq($p.price),
            products::note.eq(&$p.note),
        )
    };
}

pub(super) fn insert_product(tx: &mut Tx<'_>, p: &NewProduct) -> Result<i64, Error> {
    let id = diesel::insert_into(products::table)
        .values((columns!(p), products::version.eq(1)))
        .returning(products::id)
        .get_result(tx.conn())
        .map_err(named)?;
    data_sheets::keep(tx, id, &p.sheet)?;
    Ok(id)
}

/// Whether the row was still of the version the change was made from.
pub(super) fn update_product(tx: &mut Tx<'_>, p: &Product) -> Result<bool, Error> {
    let same =
        products::table.filter(products::id.eq(p.id)).filter(products::version.eq(p.version));
    let rows = diesel::update(same)
        .set((columns!(p.of), products::version.eq(products::version + 1)))
        .execute(tx.conn())
        .map_err(named)?;
    if rows == 1 {
        data_sheets::keep(tx, p.id, &p.of.sheet)?;
    }
    Ok(rows == 1)
}

pub(super) fn products(conn: &mut Conn) -> Result<Vec<Product>, Error> {
    let rows: Vec<ProductRow> = products::table
        .order((products::kind, products::name))
        .select(ProductRow::as_select())
        .load(conn)?;
    let mut sheets = data_sheets::all(conn)?;
    rows.into_iter()
        .map(|row| {
            let sheet = sheets.remove(&row.id).unwrap_or_default();
            product(row, sheet)
        })
        .collect()
}

pub(super) fn one_product(conn: &mut Conn, id: i64) -> Result<Product, Error> {
    let row = products::table.find(id).select(ProductRow::as_select()).get_result(conn)?;
    product(row, data_sheets::of_product(conn, id)?)
}

//! Lots whose films came out badly, read across from the results noted on rolls.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;

use crate::db::Conn;
use crate::db::schema::{bath_entries, bottles, draws, lots, products, result_notes, run_rolls};
use crate::error::Error;
use crate::rolls::Look;

/// A lot that several films which came out badly have in common.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LotInDoubt {
    /// Its id.
    pub lot: i64,
    /// The maker's number.
    pub number: String,
    /// The product.
    pub product: String,
    /// Its product's id.
    pub product_id: i64,
    /// How many films came out thin, stained or milky.
    pub films: usize,
}

/// The looks of film that chemistry gone bad leaves.
const BAD: [Look; 3] = [Look::Thin, Look::Stained, Look::Milky];

/// The lots that at least so many badly developed or fixed films have in common.
pub(super) fn lots_in_doubt(conn: &mut Conn, least: usize) -> Result<Vec<LotInDoubt>, Error> {
    let bad: Vec<(i64, i64)> = result_notes::table
        .inner_join(run_rolls::table.on(run_rolls::roll_id.eq(result_notes::roll_id)))
        .filter(result_notes::look.eq_any(BAD.map(Look::word)))
        .select((run_rolls::run_id, run_rolls::roll_id))
        .distinct()
        .load(conn)?;
    let runs: Vec<i64> = bad.iter().map(|b| b.0).collect();
    let mut by_bottle: BTreeMap<i64, BTreeSet<i64>> = BTreeMap::new();
    let mut note = |bottle: i64, run: i64| {
        let films = bad.iter().filter(|b| b.0 == run).map(|b| b.1);
        by_bottle.entry(bottle).or_default().extend(films);
    };
    let direct: Vec<(i64, Option<i64>)> = draws::table
        .filter(draws::run_id.eq_any(&runs))
        .select((draws::bottle_id, draws::run_id))
        .load(conn)?;
    for (bottle, run) in direct {
        run.into_iter().for_each(|run| note(bottle, run));
    }
    let by_bath: Vec<(i64, Option<i64>)> = bath_entries::table
        .inner_join(draws::table.on(draws::bath_id.eq(bath_entries::bath_id.nullable())))
        .filter(bath_entries::run_id.eq_any(&runs))
        .select((draws::bottle_id, bath_entries::run_id))
        .distinct()
        .load(conn)?;
    for (bottle, run) in by_bath {
        run.into_iter().for_each(|run| note(bottle, run));
    }
    by_lot(conn, &by_bottle, least)
}

fn by_lot(
    conn: &mut Conn,
    by_bottle: &BTreeMap<i64, BTreeSet<i64>>,
    least: usize,
) -> Result<Vec<LotInDoubt>, Error> {
    let ids: Vec<i64> = by_bottle.keys().copied().collect();
    let rows: Vec<(i64, i64, String, i64, String)> = bottles::table
        .inner_join(lots::table.on(lots::id.eq(bottles::lot_id)))
        .inner_join(products::table.on(products::id.eq(lots::product_id)))
        .filter(bottles::id.eq_any(ids))
        .select((bottles::id, lots::id, lots::number, products::id, products::name))
        .load(conn)?;
    let mut all: BTreeMap<i64, (LotInDoubt, BTreeSet<i64>)> = BTreeMap::new();
    for (bottle, lot, number, product_id, product) in rows {
        let of = LotInDoubt { lot, number, product, product_id, films: 0 };
        let films = &mut all.entry(lot).or_insert_with(|| (of, BTreeSet::new())).1;
        films.extend(by_bottle.get(&bottle).into_iter().flatten());
    }
    Ok(all
        .into_values()
        .map(|(lot, films)| LotInDoubt { films: films.len(), ..lot })
        .filter(|lot| lot.films >= least)
        .collect())
}

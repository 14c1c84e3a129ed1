use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;

use super::{Bottle, DrawKind, Drawn, WentTo};
use crate::clock::{Moment, Span};
use crate::db::like::{lower, pattern};
use crate::db::schema::{bottles, day_plans, developers, draws, lots, members, run_parts, runs};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// The lot of that number, made if it is new; the date on it is the lot's.
pub(super) fn lot(
    tx: &mut Tx<'_>,
    now: Moment,
    product: i64,
    (number, expires): (&str, Option<NaiveDate>),
) -> Result<(i64, Option<NaiveDate>), Error> {
    let known: Option<(i64, Option<NaiveDate>)> = lots::table
        .filter(lots::product_id.eq(product))
        .filter(lots::number.eq(number))
        .select((lots::id, lots::expires))
        .first(tx.conn())
        .optional()?;
    if let Some(known) = known {
        return Ok(known);
    }
    let id = diesel::insert_into(lots::table)
        .values((
            lots::product_id.eq(product),
            lots::number.eq(number),
            lots::expires.eq(expires),
            lots::received_s.eq(now.0),
        ))
        .returning(lots::id)
        .get_result(tx.conn())?;
    Ok((id, expires))
}

pub(super) fn insert_bottle(
    tx: &mut Tx<'_>,
    lot: i64,
    (size, price): (i64, i64),
) -> Result<i64, Error> {
    Ok(diesel::insert_into(bottles::table)
        .values((
            bottles::lot_id.eq(lot),
            bottles::size.eq(size),
            bottles::held.eq(size),
            bottles::price.eq(price),
            bottles::set_aside_why.eq(""),
            bottles::version.eq(1),
        ))
        .returning(bottles::id)
        .get_result(tx.conn())?)
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = bottles)]
struct BottleRow {
    id: i64,
    lot_id: i64,
    size: i64,
    held: i64,
    price: i64,
    opened_s: Option<i64>,
    tested_s: Option<i64>,
    emptied_s: Option<i64>,
    set_aside_s: Option<i64>,
    set_aside_why: String,
    version: i64,
}

type BottleOf = (BottleRow, (i64, String, Option<NaiveDate>, i64));

fn bottle((row, (product_id, lot, expires, received)): BottleOf) -> Bottle {
    Bottle {
        id: row.id,
        lot_id: row.lot_id,
        lot,
        product_id,
        expires,
        received: Moment(received),
        size: row.size,
        held: row.held,
        price: row.price,
        opened: row.opened_s.map(Moment),
        tested: row.tested_s.map(Moment),
        emptied: row.emptied_s.map(Moment),
        set_aside: row.set_aside_s.map(Moment),
        set_aside_why: row.set_aside_why,
        version: row.version,
    }
}

macro_rules! full {
    () => {
        bottles::table.inner_join(lots::table.on(lots::id.eq(bottles::lot_id))).select((
            BottleRow::as_select(),
            (lots::product_id, lots::number, lots::expires, lots::received_s),
        ))
    };
}

/// The bottles of a product, or of all; empty ones only where they are wanted.
pub(super) fn bottles(
    conn: &mut Conn,
    product: Option<i64>,
    also_empty: bool,
) -> Result<Vec<Bottle>, Error> {
    let mut query = full!().order(bottles::id).into_boxed();
    if let Some(product) = product {
        query = query.filter(lots::product_id.eq(product));
    }
    if !also_empty {
        query = query.filter(bottles::held.gt(0));
    }
    let rows: Vec<BottleOf> = query.load(conn)?;
    Ok(rows.into_iter().map(bottle).collect())
}

/// Bottles of lots with all these words in their number, the latest first.
pub(super) fn of_lots(conn: &mut Conn, words: &[String], most: i64) -> Result<Vec<Bottle>, Error> {
    let mut query = full!().order(bottles::id.desc()).into_boxed();
    for word in words {
        query = query.filter(lower(lots::number).like(pattern(word)).escape('\\'));
    }
    let rows: Vec<BottleOf> = query.limit(most).load(conn)?;
    Ok(rows.into_iter().map(bottle).collect())
}

pub(super) fn one_bottle(conn: &mut Conn, id: i64) -> Result<Bottle, Error> {
    Ok(bottle(full!().filter(bottles::id.eq(id)).get_result(conn)?))
}

/// What a bottle becomes.
pub(super) struct Becomes {
    pub(super) held: i64,
    pub(super) opened: Option<Moment>,
    pub(super) tested: Option<Moment>,
    pub(super) emptied: Option<Moment>,
    pub(super) set_aside: Option<(Moment, String)>,
}

impl Becomes {
    pub(super) fn of(b: &Bottle) -> Becomes {
        Becomes {
            held: b.held,
            opened: b.opened,
            tested: b.tested,
            emptied: b.emptied,
            set_aside: b.set_aside.map(|at| (at, b.set_aside_why.clone())),
        }
    }
}

pub(super) fn update_bottle(tx: &mut Tx<'_>, id: i64, to: &Becomes) -> Result<(), Error> {
    let (aside, why) = match &to.set_aside {
        Some((at, why)) => (Some(at.0), why.as_str()),
        None => (None, ""),
    };
    diesel::update(bottles::table.find(id))
        .set((
            bottles::held.eq(to.held),
            bottles::opened_s.eq(to.opened.map(|m| m.0)),
            bottles::tested_s.eq(to.tested.map(|m| m.0)),
            bottles::emptied_s.eq(to.emptied.map(|m| m.0)),
            bottles::set_aside_s.eq(aside),
            bottles::set_aside_why.eq(why),
            bottles::version.eq(bottles::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// One line of a bottle's history about to be written.
pub(super) struct NewDraw<'a> {
    pub(super) bottle: i64,
    pub(super) kind: DrawKind,
    pub(super) amount: i64,
    pub(super) cost: i64,
    pub(super) bath: Option<i64>,
    pub(super) run: Option<i64>,
    pub(super) why: &'a str,
}

pub(super) fn add_draw(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    d: &NewDraw<'_>,
) -> Result<(), Error> {
    diesel::insert_into(draws::table)
        .values((
            draws::bottle_id.eq(d.bottle),
            draws::at_s.eq(now.0),
            draws::by_id.eq(by),
            draws::kind.eq(d.kind.word()),
            draws::amount.eq(d.amount),
            draws::cost.eq(d.cost),
            draws::bath_id.eq(d.bath),
            draws::run_id.eq(d.run),
            draws::why.eq(d.why),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The latest draws of a product's bottles, or of one bottle.
pub(super) fn draws(
    conn: &mut Conn,
    product: i64,
    bottle: Option<i64>,
) -> Result<Vec<Drawn>, Error> {
    type Row = (i64, i64, Option<String>, String, i64, Option<i64>, Option<i64>, String);
    let mut query = draws::table
        .inner_join(bottles::table.on(bottles::id.eq(draws::bottle_id)))
        .inner_join(lots::table.on(lots::id.eq(bottles::lot_id)))
        .left_join(members::table.on(members::id.nullable().eq(draws::by_id)))
        .filter(lots::product_id.eq(product))
        .order((draws::at_s.desc(), draws::id.desc()))
        .select((
            draws::bottle_id,
            draws::at_s,
            members::name.nullable(),
            draws::kind,
            draws::amount,
            draws::bath_id,
            draws::run_id,
            draws::why,
        ))
        .into_boxed();
    if let Some(bottle) = bottle {
        query = query.filter(draws::bottle_id.eq(bottle));
    }
    let rows: Vec<Row> = query.limit(60).load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(bottle, at, by, kind, amount, bath, run, why)| Drawn {
            bottle,
            at: Moment(at),
            by,
            kind: DrawKind::from_word(&kind),
            amount,
            bath,
            run,
            why,
        })
        .collect())
}

/// What was drawn in a stretch of time: of which product, whether for a run, how much.
pub(super) fn drawn_within(conn: &mut Conn, span: Span) -> Result<Vec<(i64, bool, i64)>, Error> {
    let rows: Vec<(i64, Option<i64>, i64)> = draws::table
        .inner_join(bottles::table.on(bottles::id.eq(draws::bottle_id)))
        .inner_join(lots::table.on(lots::id.eq(bottles::lot_id)))
        .filter(draws::at_s.ge(span.from.0))
        .filter(draws::at_s.lt(span.to.0))
        .filter(draws::kind.eq(DrawKind::Draw.word()))
        .select((lots::product_id, draws::run_id, draws::amount))
        .load(conn)?;
    Ok(rows.into_iter().map(|(product, run, amount)| (product, run.is_some(), amount)).collect())
}

/// What published runs not yet ended will draw, in microlitres by developer and by which of its
/// parts, from 1. Runs that were over a day ago are no longer waited for.
pub(super) fn planned(conn: &mut Conn, now: Moment) -> Result<BTreeMap<(i64, i64), i64>, Error> {
    type Row = (i64, i64, Option<i64>, Option<i64>);
    let rows: Vec<Row> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .left_join(run_parts::table.on(run_parts::run_id.eq(runs::id)))
        .filter(day_plans::state.eq("published"))
        .filter(runs::ended_s.is_null())
        .filter(runs::withdrawn_s.is_null())
        .filter(runs::to_s.gt(now.0 - 86_400))
        // What a member brings, or a shared bath holds, is not drawn.
        .filter(runs::shelf_ul.gt(0))
        .select((
            runs::developer_id,
            runs::shelf_ul,
            run_parts::place.nullable(),
            run_parts::ul.nullable(),
        ))
        .load(conn)?;
    let mut sums = BTreeMap::new();
    for (developer, all_ul, place, part_ul) in rows {
        *sums.entry((developer, place.unwrap_or(1))).or_default() += part_ul.unwrap_or(all_ul);
    }
    Ok(sums)
}

/// The dilutions on the time chart with the bottle each is poured from.
pub(super) fn bottles_of_chart(conn: &mut Conn) -> Result<BTreeMap<i64, String>, Error> {
    let rows: Vec<(i64, String)> =
        developers::table.select((developers::id, developers::product)).load(conn)?;
    Ok(rows.into_iter().collect())
}

/// The baths and runs that took from a bottle.
pub(super) fn went_to(conn: &mut Conn, bottle: i64) -> Result<Vec<WentTo>, Error> {
    let rows: Vec<(Option<i64>, Option<i64>)> = draws::table
        .filter(draws::bottle_id.eq(bottle))
        .filter(draws::kind.eq(DrawKind::Draw.word()))
        .order(draws::id)
        .select((draws::bath_id, draws::run_id))
        .load(conn)?;
    Ok(rows.into_iter().map(|(bath, run)| WentTo { bath, run }).collect())
}

/// The bottles a bath was mixed from, with their lots.
pub(super) fn came_from(conn: &mut Conn, bath: i64) -> Result<Vec<(i64, String, i64, i64)>, Error> {
    Ok(draws::table
        .inner_join(bottles::table.on(bottles::id.eq(draws::bottle_id)))
        .inner_join(lots::table.on(lots::id.eq(bottles::lot_id)))
        .filter(draws::bath_id.eq(bath))
        .order(draws::id)
        .select((draws::bottle_id, lots::number, draws::amount, draws::cost))
        .load(conn)?)
}

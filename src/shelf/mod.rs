//! The shelf: products, the lots they came in, every bottle and packet with what is left in it, and
//! what must be bought. Amounts are microlitres of a liquid or milligrams of a powder.

mod bottle;
mod chart;
mod found;
mod nouns;
mod pages;
mod product_store;
mod rules;
mod settings_store;
mod store;
mod used;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::clock::{Moment, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::hazards::Strength;
use crate::incidents;
use crate::studio;
use crate::web::Routes;

pub use bottle::{asks_scrap_test, count, open_bottle, scrap_test, set_aside, write_down};
pub use chart::tell_chart;
pub use found::{Found, found};
pub use nouns::{Bottle, DrawKind, Drawn, NewProduct, Product, Stock, WentTo};
pub use rules::{Facts, Form, Purpose, Standing, figure, money};
use store::{Becomes, NewDraw};
pub use used::{UsedUp, used_up};

/// The figures every bath is counted with; a lead can change each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Share of a bath's capacity that the studio uses, in percent, 10 to 100.
    pub margin_percent: i64,
    /// Load of tabular-grain film, in percent of ordinary film, 100 to 300.
    pub tabular_percent: i64,
    /// Liquid that a roll's worth carries out, in microlitres.
    pub carry_over_ul: i64,
    /// Share of the load that reaches the second of two baths, in percent.
    pub second_bath_percent: i64,
    /// Most promotions of a second bath before both are mixed fresh.
    pub most_promotions: i64,
    /// A developer open for longer than this many days is tried with a scrap of leader.
    pub opened_long_days: i64,
    /// What is written after a price.
    pub currency: String,
    /// The version an edit form is made from.
    pub version: i64,
}

/// The figures as they stand.
///
/// # Errors
/// As the database's.
pub fn settings(conn: &mut Conn) -> Result<Settings, Error> {
    settings_store::load(conn)
}

/// Changes the figures.
///
/// # Errors
/// A refusal when they changed meanwhile.
pub fn change_settings(tx: &mut Tx<'_>, to: &Settings) -> Result<(), Error> {
    if settings_store::update(tx, to)? {
        Ok(())
    } else {
        Err(studio::changed_meanwhile("These figures"))
    }
}

/// Puts a product on the list.
///
/// # Errors
/// A sentence when there is one of that name, or a figure it needs is missing.
pub fn add_product(tx: &mut Tx<'_>, new: &NewProduct) -> Result<i64, Error> {
    check(new)?;
    refuse_barred(tx, new)?;
    product_store::insert_product(tx, new)
}

/// Changes a product.
///
/// # Errors
/// A refusal when it changed meanwhile; otherwise as [`add_product`].
pub fn change_product(tx: &mut Tx<'_>, product: &Product) -> Result<(), Error> {
    check(&product.of)?;
    refuse_barred(tx, &product.of)?;
    let before = product_store::one_product(tx, product.id)?;
    let powder = |form| form == Form::Powder;
    if powder(before.of.form) != powder(product.of.form)
        && !store::bottles(tx, Some(product.id), true)?.is_empty()
    {
        return Err(Error::field(
            "form",
            "It has bottles on the shelf that are counted in the other unit. Enter a new product \
             instead.",
        ));
    }
    if product_store::update_product(tx, product)? {
        Ok(())
    } else {
        Err(studio::changed_meanwhile("This product"))
    }
}

/// What this studio does without unless a lead has taken it on by name.
fn refuse_barred(tx: &mut Tx<'_>, new: &NewProduct) -> Result<(), Error> {
    incidents::refuse_barred(tx, "name", &format!("{} {}", new.name, new.note))
}

fn check(new: &NewProduct) -> Result<(), Error> {
    for strength in Strength::ALL {
        if let Some(sentence) = new.sheet.at(strength).fault() {
            return Err(Error::field(&format!("{}_codes", strength.word()), sentence));
        }
    }
    if new.developer_id.is_some() && new.purpose != Purpose::Developer {
        return Err(Error::field(
            "developer",
            "Only a developer stands on the time chart; leave this empty.",
        ));
    }
    Ok(())
}

/// What came in one delivery.
#[derive(Clone, Debug)]
pub struct Delivery {
    /// The product.
    pub product: i64,
    /// The maker's number of the lot.
    pub lot: String,
    /// The date on it.
    pub expires: Option<NaiveDate>,
    /// How many bottles or packets.
    pub count: i64,
    /// What each holds.
    pub size: i64,
    /// What each cost, in the smallest coin.
    pub price: i64,
}

/// Puts a delivery on the shelf; returns the new bottles.
///
/// # Errors
/// A sentence when the lot is known with another date.
pub fn take_in(tx: &mut Tx<'_>, now: Moment, new: &Delivery) -> Result<Vec<i64>, Error> {
    product_store::one_product(tx, new.product)?;
    let (lot, dated) = store::lot(tx, now, new.product, (&new.lot, new.expires))?;
    if dated != new.expires {
        let known = dated.map_or_else(|| "no date".to_owned(), |d| d.to_string());
        return Err(Error::field(
            "expires",
            format!("Lot {} is on the shelf with {known}. A lot has one date.", new.lot),
        ));
    }
    (0..new.count).map(|_| store::insert_bottle(tx, lot, (new.size, new.price))).collect()
}

/// What is to be drawn and for what.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// How much: microlitres of a liquid, milligrams of a powder.
    pub amount: i64,
    /// The bath it goes into.
    pub bath: Option<i64>,
    /// The run it goes into.
    pub run: Option<i64>,
    /// What to write beside it.
    pub why: String,
}

/// Draws from a product's bottles, first to expire first, all of it or nothing.
///
/// # Errors
/// A sentence beside `amount` when the shelf does not hold that much.
pub fn draw(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    product: i64,
    wanted: &Wanted,
) -> Result<(), Error> {
    let product = product_store::one_product(tx, product)?;
    let missing = take(tx, (now, by), &product, wanted, false)?;
    if missing == 0 {
        return Ok(());
    }
    let form = product.of.form;
    Err(Error::field(
        "amount",
        format!(
            "It takes {} of {}; the shelf holds {} that may be used. Take in a delivery, make \
             less, or correct the stock if there is more.",
            form.amount(wanted.amount),
            product.of.name,
            form.amount(wanted.amount - missing)
        ),
    ))
}

/// Draws for something that has happened: as much as the book still holds, past its date if need
/// be. Returns what the book lacked.
///
/// # Errors
/// As the database's.
pub fn draw_what_there_is(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    product: i64,
    wanted: &Wanted,
) -> Result<i64, Error> {
    let product = product_store::one_product(tx, product)?;
    take(tx, (now, by), &product, wanted, true)
}

/// Takes what there is; returns what is missing. The caller's transaction decides whether it stays.
fn take(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    product: &Product,
    wanted: &Wanted,
    also_expired: bool,
) -> Result<i64, Error> {
    let zone = studio::load(tx)?.zone;
    let bottles = store::bottles(tx, Some(product.id), false)?;
    let facts: Vec<rules::Facts> =
        bottles.iter().map(|b| b.facts(zone, product.of.opened_keeps_days)).collect();
    let order = rules::in_order(&facts, zone.date(now), also_expired);
    let (parts, missing) = rules::apportion(&order, wanted.amount);
    for (id, amount) in parts {
        let Some(bottle) = bottles.iter().find(|b| b.id == id) else { continue };
        let held = bottle.held - amount;
        let mut to = Becomes::of(bottle);
        to.held = held;
        to.opened = to.opened.or(Some(now));
        to.emptied = (held == 0).then_some(now);
        store::update_bottle(tx, id, &to)?;
        let line = NewDraw {
            bottle: id,
            kind: DrawKind::Draw,
            amount,
            cost: rules::cost(bottle.price, amount, bottle.size),
            bath: wanted.bath,
            run: wanted.run,
            why: &wanted.why,
        };
        store::add_draw(tx, now, by, &line)?;
    }
    Ok(missing)
}

/// Everything on the shelf, product by product.
///
/// # Errors
/// As the database's.
pub fn stock(conn: &mut Conn, now: Moment) -> Result<Vec<Stock>, Error> {
    let zone = studio::load(conn)?.zone;
    let today = zone.date(now);
    let asked = asked(conn, now)?;
    let mut by_product: BTreeMap<i64, Vec<Bottle>> = BTreeMap::new();
    for bottle in store::bottles(conn, None, false)? {
        by_product.entry(bottle.product_id).or_default().push(bottle);
    }
    let products = product_store::products(conn)?;
    Ok(products
        .into_iter()
        .map(|p| {
            let own = by_product.remove(&p.id).unwrap_or_default();
            let planned = asked.of(&p);
            stock_of(p, own, planned, (zone, today))
        })
        .collect())
}

/// What published runs ask for, by the parts of the time chart's developers and the bottles these come from.
struct Asked {
    by_part: BTreeMap<(i64, i64), i64>,
    bottles: BTreeMap<i64, String>,
}

fn asked(conn: &mut Conn, now: Moment) -> Result<Asked, Error> {
    Ok(Asked { by_part: store::planned(conn, now)?, bottles: store::bottles_of_chart(conn)? })
}

impl Asked {
    /// What is asked of a product: of every dilution poured from its bottle. A powder is asked for
    /// nothing by itself, since its stock is mixed ahead.
    fn of(&self, product: &Product) -> i64 {
        let Some(own) = product.of.developer_id.filter(|_| product.of.form != Form::Powder) else {
            return 0;
        };
        let bottle = self.bottles.get(&own).filter(|b| !b.is_empty());
        let same = |id: i64| id == own || (bottle.is_some() && self.bottles.get(&id) == bottle);
        let part = product.of.developer_part;
        let asked = self.by_part.iter().filter(|((id, of), _)| same(*id) && *of == part);
        asked.map(|(_, ul)| ul).sum()
    }
}

fn stock_of(
    product: Product,
    own: Vec<Bottle>,
    planned: i64,
    (zone, today): (Zone, NaiveDate),
) -> Stock {
    let keeps = product.of.opened_keeps_days;
    let facts: Vec<rules::Facts> = own.iter().map(|b| b.facts(zone, keeps)).collect();
    let order = rules::in_order(&facts, today, false);
    let usable = order.iter().map(|f| f.held).sum();
    let place = |id: i64| order.iter().position(|f| f.id == id).unwrap_or(usize::MAX);
    let mut bottles: Vec<(Bottle, Standing, Option<NaiveDate>)> =
        own.into_iter().zip(facts).map(|(b, f)| (b, f.standing(today), f.good_until())).collect();
    bottles.sort_by_key(|(b, ..)| place(b.id));
    let to_buy = rules::to_buy(usable, planned, product.of.reorder_at, product.of.size);
    Stock { product, bottles, usable, planned, to_buy }
}

/// What may be used of a product now.
///
/// # Errors
/// [`Error::NotFound`] where there is no such product.
pub fn stock_of_product(conn: &mut Conn, now: Moment, product: i64) -> Result<Stock, Error> {
    let zone = studio::load(conn)?.zone;
    let product = product_store::one_product(conn, product)?;
    let own = store::bottles(conn, Some(product.id), false)?;
    let planned = asked(conn, now)?.of(&product);
    Ok(stock_of(product, own, planned, (zone, zone.date(now))))
}

/// The latest of what happened to a product's bottles, or to one of them.
///
/// # Errors
/// As the database's.
pub fn history(conn: &mut Conn, product: i64, bottle: Option<i64>) -> Result<Vec<Drawn>, Error> {
    store::draws(conn, product, bottle)
}

/// One product.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn product(conn: &mut Conn, id: i64) -> Result<Product, Error> {
    product_store::one_product(conn, id)
}

/// All products by purpose and name.
///
/// # Errors
/// As the database's.
pub fn products(conn: &mut Conn) -> Result<Vec<Product>, Error> {
    product_store::products(conn)
}

/// What published runs not yet ended will draw, in microlitres of concentrate or stock by the time
/// chart's developer and by which of its parts, from 1.
///
/// # Errors
/// As the database's.
pub fn planned(conn: &mut Conn, now: Moment) -> Result<BTreeMap<(i64, i64), i64>, Error> {
    store::planned(conn, now)
}

/// One bottle with its product.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn bottle(conn: &mut Conn, id: i64) -> Result<(Bottle, Product), Error> {
    let bottle = store::one_bottle(conn, id)?;
    let product = product_store::one_product(conn, bottle.product_id)?;
    Ok((bottle, product))
}

/// The baths and runs a bottle went into.
///
/// # Errors
/// As the database's.
pub fn went_to(conn: &mut Conn, bottle: i64) -> Result<Vec<WentTo>, Error> {
    store::went_to(conn, bottle)
}

/// What a bath was mixed from: bottle, lot, amount, cost in the smallest coin.
///
/// # Errors
/// As the database's.
pub fn came_from(conn: &mut Conn, bath: i64) -> Result<Vec<(i64, String, i64, i64)>, Error> {
    store::came_from(conn, bath)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

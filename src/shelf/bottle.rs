//! What is done to one bottle: counted, opened, tried, set aside.

use super::store::{self, Becomes, NewDraw};
use super::{Bottle, DrawKind, Product, Purpose, product_store, rules};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;

/// Corrects what a bottle holds after it was looked at.
///
/// # Errors
/// A sentence when it cannot hold that much.
pub fn count(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bottle: i64,
    actual: i64,
    why: &str,
) -> Result<(), Error> {
    let bottle = store::one_bottle(tx, bottle)?;
    let product = product_store::one_product(tx, bottle.product_id)?;
    if !(0..=bottle.size).contains(&actual) {
        return Err(Error::field(
            "actual",
            format!(
                "It holds {} when full; it cannot hold {} now.",
                product.of.form.amount(bottle.size),
                product.of.form.amount(actual)
            ),
        ));
    }
    let mut to = Becomes::of(&bottle);
    to.held = actual;
    to.opened = to.opened.or((actual < bottle.size).then_some(now));
    to.emptied = (actual == 0).then_some(now);
    store::update_bottle(tx, bottle.id, &to)?;
    let amount = bottle.held - actual;
    let cost = rules::cost(bottle.price, amount, bottle.size);
    note(tx, (now, by), &bottle, (DrawKind::Count, amount, cost), why)
}

fn note(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bottle: &Bottle,
    (kind, amount, cost): (DrawKind, i64, i64),
    why: &str,
) -> Result<(), Error> {
    let line = NewDraw { bottle: bottle.id, kind, amount, cost, bath: None, run: None, why };
    store::add_draw(tx, now, Some(by), &line)
}

/// Says that a sealed bottle is open now.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bottle.
pub fn open_bottle(tx: &mut Tx<'_>, now: Moment, bottle: i64) -> Result<(), Error> {
    let bottle = store::one_bottle(tx, bottle)?;
    let mut to = Becomes::of(&bottle);
    to.opened = to.opened.or(Some(now));
    store::update_bottle(tx, bottle.id, &to)
}

/// Takes a bottle out of use, saying why; what it went into can then be called back.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bottle.
pub fn set_aside(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bottle: i64,
    why: &str,
) -> Result<(), Error> {
    let bottle = store::one_bottle(tx, bottle)?;
    let mut to = Becomes::of(&bottle);
    to.set_aside = Some((now, why.to_owned()));
    store::update_bottle(tx, bottle.id, &to)?;
    note(tx, (now, by), &bottle, (DrawKind::SetAside, 0, 0), why)
}

/// Records a scrap of leader tried in an opened developer; one that does not blacken sets it aside.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bottle.
pub fn scrap_test(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bottle: i64,
    blackened: bool,
) -> Result<(), Error> {
    let bottle = store::one_bottle(tx, bottle)?;
    if !blackened {
        return set_aside(tx, (now, by), bottle.id, "A scrap of leader did not blacken in it.");
    }
    let mut to = Becomes::of(&bottle);
    to.tested = Some(now);
    store::update_bottle(tx, bottle.id, &to)?;
    note(tx, (now, by), &bottle, (DrawKind::Test, 0, 0), "The scrap blackened.")
}

/// For so long a scrap test holds (common practice, no source).
const TEST_HOLDS_S: i64 = 14 * 86_400;

/// Whether a developer open for longer than so many days wants a scrap of leader blackened in it
/// before the next run.
#[must_use]
pub fn asks_scrap_test(
    product: &Product,
    bottle: &Bottle,
    (now, long_days): (Moment, i64),
) -> bool {
    product.of.purpose == Purpose::Developer
        && bottle.set_aside.is_none()
        && bottle.held > 0
        && bottle.opened.is_some_and(|at| now.since(at) > long_days.saturating_mul(86_400))
        && bottle.tested.is_none_or(|at| now.since(at) > TEST_HOLDS_S)
}

/// Writes something down in a bottle's history.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bottle.
pub fn write_down(
    tx: &mut Tx<'_>,
    at: (Moment, i64),
    bottle: i64,
    what: &str,
) -> Result<(), Error> {
    let bottle = store::one_bottle(tx, bottle)?;
    note(tx, at, &bottle, (DrawKind::SetAside, 0, 0), what)
}

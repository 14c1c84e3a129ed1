//! What the shelf tells the time chart: which developers there is enough left of.

use std::collections::{BTreeMap, BTreeSet};

use super::{Form, Stock, stock};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes::{self, Developer};

/// Says on the time chart which developers stand on the shelf: those whose bottles still hold
/// enough for one roll's worth that may be used, and those that stand `mixed` in a bath fit for
/// use, by product. A developer of no product on the list stays as a lead says.
///
/// # Errors
/// As the database's.
pub fn tell_chart(tx: &mut Tx<'_>, now: Moment, mixed: &BTreeSet<i64>) -> Result<(), Error> {
    let developers = recipes::developers(tx)?;
    let mut bottles: BTreeMap<&str, BTreeMap<i64, bool>> = BTreeMap::new();
    for stock in stock(tx, now)? {
        let own = stock.product.of.developer_id;
        let Some(known) = developers.iter().find(|d| Some(d.id) == own) else { continue };
        let parts = bottles.entry(known.product.as_str()).or_default();
        *parts.entry(stock.product.of.developer_part).or_default() |=
            mixed.contains(&stock.product.id) || is_enough(&stock, known);
    }
    // One that is mixed from several is there when each of its parts on the list is.
    for (product, parts) in bottles {
        let there = parts.values().all(|there| *there);
        if developers.iter().any(|d| d.product == product && d.on_hand != there) {
            recipes::set_on_hand(tx, product, there)?;
        }
    }
    Ok(())
}

/// Whether what may be used does for one roll's worth; of a powder a rest is all that is known.
fn is_enough(stock: &Stock, developer: &Developer) -> bool {
    let place = usize::try_from(stock.product.of.developer_part - 1).unwrap_or(0);
    let to_one = developer.parts().get(place).map_or(1000, |part| part.milli);
    let least = match stock.product.of.form {
        Form::Powder => 1,
        Form::Concentrate | Form::Ready => (developer.least_ul_per_roll * to_one / 1000).max(1),
    };
    stock.usable >= least
}

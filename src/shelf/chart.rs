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
    let mut bottles: BTreeMap<&str, bool> = BTreeMap::new();
    for stock in stock(tx, now)? {
        let own = stock.product.of.developer_id;
        let Some(known) = developers.iter().find(|d| Some(d.id) == own) else { continue };
        *bottles.entry(known.product.as_str()).or_default() |=
            mixed.contains(&stock.product.id) || is_enough(&stock, known);
    }
    for (product, there) in bottles {
        if developers.iter().any(|d| d.product == product && d.on_hand != there) {
            recipes::set_on_hand(tx, product, there)?;
        }
    }
    Ok(())
}

/// Whether what may be used does for one roll's worth; of a powder a rest is all that is known.
fn is_enough(stock: &Stock, developer: &Developer) -> bool {
    let least = match stock.product.of.form {
        Form::Powder => 1,
        Form::Concentrate | Form::Ready => developer.least_ul_per_roll.max(1),
    };
    stock.usable >= least
}

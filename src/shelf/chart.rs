//! What the shelf tells the time chart: which developers there is something left of.

use std::collections::BTreeMap;

use super::stock;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes;

/// Says on the time chart which developers stand on the shelf: those whose bottles still hold
/// something that may be used. A developer of no product on the list stays as a lead says.
///
/// # Errors
/// As the database's.
pub fn tell_chart(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    let developers = recipes::developers(tx)?;
    let mut bottles: BTreeMap<&str, bool> = BTreeMap::new();
    for stock in stock(tx, now)? {
        let own = stock.product.of.developer_id;
        let Some(known) = developers.iter().find(|d| Some(d.id) == own) else { continue };
        *bottles.entry(known.product.as_str()).or_default() |= stock.usable > 0;
    }
    for (product, there) in bottles {
        if developers.iter().any(|d| d.product == product && d.on_hand != there) {
            recipes::set_on_hand(tx, product, there)?;
        }
    }
    Ok(())
}

use super::{Bottle, Product, product_store, store};
use crate::db::Conn;
use crate::db::like::holds;
use crate::error::Error;

/// What somebody looked for on the shelf.
pub struct Found {
    /// Products with the words in their name, their purpose or their note.
    pub products: Vec<Product>,
    /// Products with the words in what their data sheet says, with all that it says.
    pub sheets: Vec<(Product, String)>,
    /// Bottles of a lot with the words in its number, the latest first, each with its product's name.
    pub bottles: Vec<(Bottle, String)>,
}

/// What stands on the shelf and fits all the words; at most so many bottles.
///
/// # Errors
/// As the database's.
pub fn found(conn: &mut Conn, words: &[String], most: i64) -> Result<Found, Error> {
    let all = product_store::products(conn)?;
    let name = |id: i64| all.iter().find(|p| p.id == id).map(|p| p.of.name.clone());
    let bottles = store::of_lots(conn, words, most)?;
    let bottles = bottles.into_iter().map(|b| (name(b.product_id).unwrap_or_default(), b));
    let bottles = bottles.map(|(name, bottle)| (bottle, name)).collect();
    let says = |p: &Product| p.of.sheet.told_both();
    let fits = |p: &&Product| holds(&[&p.of.name, p.of.purpose.name(), &p.of.note], words);
    let sheets = all.iter().map(|p| (says(p), p)).filter(|(told, _)| holds(&[told], words));
    Ok(Found {
        products: all.iter().filter(fits).cloned().collect(),
        sheets: sheets.map(|(told, p)| (p.clone(), told)).collect(),
        bottles,
    })
}

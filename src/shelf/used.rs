use std::collections::BTreeMap;

use super::store;
use super::{Form, Purpose, product_store};
use crate::clock::Span;
use crate::db::Conn;
use crate::error::Error;

/// What was used of a product: microlitres of a liquid, milligrams of a powder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UsedUp {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub purpose: Purpose,
    /// How it comes.
    pub form: Form,
    /// What runs drew.
    pub for_runs: i64,
    /// What was mixed into baths, and whatever else was drawn.
    pub into_baths: i64,
}

/// What was used of each product in a stretch of time, by purpose and name. What stock-taking found
/// missing, and what was set aside, was not used.
///
/// # Errors
/// As the database's.
pub fn used_up(conn: &mut Conn, span: Span) -> Result<Vec<UsedUp>, Error> {
    let mut sums: BTreeMap<i64, (i64, i64)> = BTreeMap::new();
    for (product, is_run, amount) in store::drawn_within(conn, span)? {
        let sum = sums.entry(product).or_default();
        let part = if is_run { &mut sum.0 } else { &mut sum.1 };
        *part = part.saturating_add(amount);
    }
    let products = product_store::products(conn)?.into_iter();
    let used = products.filter_map(|p| sums.remove(&p.id).map(|sum| (p.of, sum)));
    let used = used.filter(|(_, sum)| *sum != (0, 0));
    Ok(used
        .map(|(of, (for_runs, into_baths))| UsedUp {
            name: of.name,
            purpose: of.purpose,
            form: of.form,
            for_runs,
            into_baths,
        })
        .collect())
}

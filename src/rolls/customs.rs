//! How long film waits in this studio, before it is developed and after.

use super::store;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::studio;

/// How long film waits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Customs {
    /// For how many days a roll waits for company at the most, 1 to 365; then it goes before all
    /// others.
    pub wait_days: i64,
    /// After how many days on the pick-up shelf its owner is asked, and asked again after as many
    /// more, 1 to 365.
    pub kept_days: i64,
    /// Until how many minutes before its loading a member may add a roll to a published run, 0 to
    /// 10080.
    pub join_min: i64,
    /// The version an edit form is made from.
    pub version: i64,
}

/// The customs as they stand.
///
/// # Errors
/// As the database's.
pub fn customs(conn: &mut Conn) -> Result<Customs, Error> {
    store::customs(conn)
}

/// Changes the customs, if they are still those the form was made from.
///
/// # Errors
/// A refusal when somebody else changed them meanwhile.
pub fn change_customs(tx: &mut Tx<'_>, to: &Customs) -> Result<(), Error> {
    if store::update_customs(tx, to)? {
        return Ok(());
    }
    Err(studio::changed_meanwhile("These customs"))
}

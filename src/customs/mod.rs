//! The studio's customs: how far ahead it reminds, how long an offer is held, when a slot nobody
//! came for is given back, when an evening counts as left open.

mod pages;
mod store;

use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::studio;
use crate::web::Routes;

/// How long things wait, in minutes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Customs {
    /// How long before a booking its owner is reminded, 0 to 10080; 0 for never.
    pub remind_min: i64,
    /// How long a freed slot is held for the one it is offered to, 10 to 2880.
    pub offer_min: i64,
    /// How long after its beginning a booking nobody came for is given back, 0 to 240; 0 for
    /// never.
    pub no_show_min: i64,
    /// How long after closing time the leads hear that somebody is still checked in, 0 to 720.
    pub left_open_min: i64,
    /// The version an edit form is made from.
    pub version: i64,
}

/// The customs as they stand.
///
/// # Errors
/// As the database's.
pub fn load(conn: &mut Conn) -> Result<Customs, Error> {
    store::load(conn)
}

/// Changes the customs, if they are still those the form was made from.
///
/// # Errors
/// A refusal when somebody else changed them meanwhile.
pub fn change(tx: &mut Tx<'_>, to: &Customs) -> Result<(), Error> {
    if store::update(tx, to)? { Ok(()) } else { Err(studio::changed_meanwhile("These customs")) }
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

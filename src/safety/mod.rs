//! Safety and disposal notes: posted pages that anyone may read, in numbered versions.

mod markdown;
mod pages;
mod starting;
mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use store::Note;

/// Posts the starting set where nothing is posted yet; a lead changes it later.
///
/// # Errors
/// As the database's.
pub fn post_starting_set(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    if !store::current(tx)?.is_empty() {
        return Ok(());
    }
    for (note, place) in starting::NOTES.iter().zip(1..) {
        store::insert(tx, now, note, place)?;
    }
    Ok(())
}

/// The notes in their current versions, in their posted order.
///
/// # Errors
/// As the database's.
pub fn current(conn: &mut Conn) -> Result<Vec<Note>, Error> {
    store::current(conn)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

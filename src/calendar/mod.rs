//! Calendar feeds: a secret address for each member's own bookings, and one for the studio's.
//!
//! The secret is made from the key file over the feed's row, and is nowhere in the database. A
//! renewal raises the number in the row, which ends the old address.

pub mod ics;
mod pages;
mod store;

use crate::bookings::{self, Kept, WhoseBookings};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets::Key;
use crate::web::Routes;

/// So far back a feed reaches, in seconds.
const BACK_S: i64 = 60 * 86_400;
/// The most entries of a feed.
const MOST: i64 = 3000;

/// A feed's row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Feed {
    /// Its id.
    pub id: i64,
    /// WhoseBookings it is; the studio's when nobody's.
    pub member_id: Option<i64>,
    /// Raised by every renewal.
    pub number: i64,
    /// When its present address was made.
    pub made: Moment,
}

impl Feed {
    fn sealed_text(&self) -> String {
        format!("calendar feed {} {}", self.id, self.number)
    }

    /// The secret part of its address.
    #[must_use]
    pub fn secret(&self, key: &Key) -> String {
        format!("{}-{}", self.id, key.seal(&self.sealed_text()))
    }

    /// Its whole address.
    #[must_use]
    pub fn url(&self, key: &Key, base_url: &str) -> String {
        format!("{}/calendar/{}.ics", base_url.trim_end_matches('/'), self.secret(key))
    }
}

/// The feed of a member, or of the studio, if it was made.
///
/// # Errors
/// As the database's.
pub fn feed_of(conn: &mut Conn, member: Option<i64>) -> Result<Option<Feed>, Error> {
    store::of(conn, member)
}

/// Makes a feed, or gives the one there is a new address and ends its old one.
///
/// # Errors
/// As the database's.
pub fn renew(tx: &mut Tx<'_>, now: Moment, member: Option<i64>) -> Result<(), Error> {
    match store::of(tx, member)? {
        Some(feed) => store::set_number(tx, now, feed.id, feed.number + 1),
        None => store::insert(tx, now, member),
    }
}

/// Ends a leaver's feed.
///
/// # Errors
/// As the database's.
pub fn forget_member(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    store::delete_of(tx, member)
}

/// The feed that this secret opens, with its bookings.
///
/// # Errors
/// [`Error::NotFound`] for a forged, an ended and an unknown one alike.
pub fn open(
    conn: &mut Conn,
    key: &Key,
    now: Moment,
    secret: &str,
) -> Result<(Feed, Vec<Kept>), Error> {
    let (id, seal) = secret.split_once('-').ok_or(Error::NotFound)?;
    let id: i64 = id.parse().map_err(|_e| Error::NotFound)?;
    let feed = store::by_id(conn, id)?;
    if !key.is_seal(&feed.sealed_text(), seal) {
        return Err(Error::NotFound);
    }
    let whose = feed.member_id.map_or(WhoseBookings::All, WhoseBookings::Of);
    let kept = bookings::history(conn, whose, now.plus(-BACK_S), MOST)?;
    Ok((feed, kept))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

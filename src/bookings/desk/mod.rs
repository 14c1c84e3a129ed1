//! Bookings as the rest of the house asks for them: by their beginning, by member, with their
//! history; and the giving back of what nobody came for.

mod remind;
mod store;

use super::{Place, store as own, waitlist};
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks;

pub use remind::remind;

/// A booking with its history, standing or cancelled.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Its number.
    pub id: i64,
    /// Whose it is.
    pub member_id: i64,
    /// Their name.
    pub member_name: String,
    /// The sink's name.
    pub sink: String,
    /// When.
    pub span: Span,
    /// Whether it stands.
    pub stands: bool,
    /// What for.
    pub note: String,
    /// When it was made.
    pub created: Moment,
    /// When it last changed.
    pub changed: Moment,
    /// How often it was made or changed: 1 when new.
    pub version: i64,
}

/// Whose bookings are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhoseBookings {
    /// One member's.
    Of(i64),
    /// Everybody's.
    All,
}

/// Bookings that end after this, cancelled ones included, by time; at most `most` of them.
///
/// # Errors
/// As the database's.
pub fn history(
    conn: &mut Conn,
    whose: WhoseBookings,
    since: Moment,
    most: i64,
) -> Result<Vec<Kept>, Error> {
    store::history(conn, whose, since, most)
}

/// The bookings that stand and begin within a stretch, by time.
///
/// # Errors
/// As the database's.
pub fn beginning(conn: &mut Conn, span: Span) -> Result<Vec<Kept>, Error> {
    store::beginning(conn, span)
}

/// One booking with its history.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn kept(conn: &mut Conn, id: i64) -> Result<Kept, Error> {
    store::kept(conn, id)
}

/// Gives a booking back that nobody came for. The second time it does nothing; says whether it
/// stood.
///
/// # Errors
/// As the database's.
pub fn give_up(tx: &mut Tx<'_>, place: &Place, id: i64) -> Result<bool, Error> {
    let booking = store::kept(tx, id)?;
    if !booking.stands || booking.span.to <= place.now {
        return Ok(false);
    }
    own::mark_cancelled(tx, place.now, id)?;
    sinks::release_booking(tx, id)?;
    waitlist::offer_freed(tx, place, place.zone.date(booking.span.from))?;
    Ok(true)
}

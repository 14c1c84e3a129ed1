//! The pulse: a count that every change of the board raises, and the streams that carry it to
//! open pages. The database's own triggers raise it, so that no change can forget to.

mod pages;
mod store;
mod watch;

use crate::clock::Span;
use crate::db::Conn;
use crate::error::Error;
use crate::web::Routes;

pub use pages::stream;
pub use watch::Watch;

/// The count at which the board of this stretch last changed; 0 if it never did. Fit for an ETag:
/// two different boards of one stretch never have the same. One question, fit for a glance.
///
/// # Errors
/// As the database's.
pub fn revision(conn: &mut Conn, span: Span) -> Result<i64, Error> {
    store::revision(conn, days(span))
}

/// The UTC days a stretch touches, first and last.
fn days(span: Span) -> (i64, i64) {
    (span.from.0.div_euclid(86_400), span.to.0.saturating_sub(1).div_euclid(86_400))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

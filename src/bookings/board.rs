//! One day of all sinks: what is open, what is held, by whom.

use chrono::NaiveDate;

use super::store;
use crate::clock::{Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::sinks::{self, Held, Kind, Sink, Why};

/// One held stretch at a sink.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The booking, where it is one.
    pub booking: Option<i64>,
    /// Whose booking.
    pub member: Option<i64>,
    /// The sink.
    pub sink_id: i64,
    /// Which place of it.
    pub seat: i64,
    /// When.
    pub span: Span,
    /// What to call it.
    pub label: String,
}

/// A day of the room.
#[derive(Clone, Debug)]
pub struct Board {
    /// When the room is open.
    pub open: Vec<Span>,
    /// The sinks, in order.
    pub sinks: Vec<Sink>,
    /// What is held, by time.
    pub entries: Vec<Entry>,
}

/// The board of a local date.
///
/// # Errors
/// As the database's.
pub fn board(conn: &mut Conn, zone: Zone, date: NaiveDate) -> Result<Board, Error> {
    let booked = store::on(conn, date)?;
    let entry = |h: Held| {
        let booking = match h.why {
            Why::Booking(id) => booked.iter().find(|b| b.id == id),
            Why::Run(_) | Why::Other => None,
        };
        let label = match (h.why, booking) {
            (_, Some(b)) => b.member_name.clone(),
            (Why::Run(_), _) => "A run of the studio".to_owned(),
            (Why::Booking(_), None) => "Booked".to_owned(),
            (Why::Other, _) => "Not to be had".to_owned(),
        };
        Entry {
            booking: booking.map(|b| b.id),
            member: booking.map(|b| b.member_id),
            sink_id: h.of_id,
            seat: h.seat,
            span: h.span,
            label,
        }
    };
    let held = sinks::held(conn, Kind::SinkPlace, zone.day(date))?;
    Ok(Board {
        open: sinks::opening(conn, zone, date)?,
        sinks: sinks::sinks(conn)?,
        entries: held.into_iter().map(entry).collect(),
    })
}

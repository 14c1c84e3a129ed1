//! A day of all sinks: what is open, what is held, by whom.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};

use super::{Booking, store};
use crate::clock::{Moment, Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::sinks::{self, Held, Kind, Sink, Why};
use crate::web::spoken;

/// For what a place is taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// Somebody's booking.
    Booking(Booking),
    /// A run of a published day plan.
    Run {
        /// Its number on that day.
        number: i64,
        /// The tickets it carries.
        tickets: Vec<String>,
    },
    /// Out of service, and why.
    Outage(String),
    /// Held for somebody on the waiting list.
    Offer,
    /// Held for some other reason.
    Other,
}

/// One held stretch at a sink.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The sink.
    pub sink_id: i64,
    /// Which place of it, from 1.
    pub seat: i64,
    /// When, cleaning up included.
    pub span: Span,
    /// When cleaning up begins; the end, where there is none.
    pub cleaning: Moment,
    /// For what.
    pub what: What,
}

impl Entry {
    /// The booking, where it is one.
    #[must_use]
    pub fn booking(&self) -> Option<&Booking> {
        match &self.what {
            What::Booking(b) => Some(b),
            _ => None,
        }
    }

    /// Whether it is this member's own booking.
    #[must_use]
    pub fn is_of(&self, member: i64) -> bool {
        self.booking().is_some_and(|b| b.member_id == member)
    }

    /// What to call it.
    #[must_use]
    pub fn label(&self) -> String {
        match &self.what {
            What::Booking(b) => b.member_name.clone(),
            What::Run { number, tickets } if tickets.is_empty() => format!("Run {number}"),
            What::Run { number, tickets } => {
                let tickets: Vec<String> = tickets.iter().map(|t| spoken(t)).collect();
                format!("Run {number}: {}", tickets.join(", "))
            }
            What::Outage(reason) if reason.is_empty() => "Out of service".to_owned(),
            What::Outage(reason) => format!("Out of service: {reason}"),
            What::Offer => "Held for the waiting list".to_owned(),
            What::Other => "Not to be had".to_owned(),
        }
    }
}

/// A day of the room.
#[derive(Clone, Debug)]
pub struct Board {
    /// The local date.
    pub date: NaiveDate,
    /// When the room is open.
    pub open: Vec<Span>,
    /// Why the day is not like its weekday, where it is not.
    pub special: Option<String>,
    /// Bookings begin and end on this grid of minutes.
    pub grid_min: i64,
    /// What can be booked, in order.
    pub sinks: Vec<Sink>,
    /// What is held, by time.
    pub entries: Vec<Entry>,
}

/// The board of a local date.
///
/// # Errors
/// As the database's.
pub fn board(conn: &mut Conn, zone: Zone, date: NaiveDate) -> Result<Board, Error> {
    let mut days = boards(conn, zone, (date, 1))?;
    days.pop().ok_or(Error::NotFound)
}

/// The boards of so many dates from one on.
///
/// # Errors
/// As the database's.
pub(super) fn boards(
    conn: &mut Conn,
    zone: Zone,
    (first, count): (NaiveDate, u64),
) -> Result<Vec<Board>, Error> {
    let last = first.checked_add_days(Days::new(count.saturating_sub(1))).unwrap_or(first);
    let whole = Span { from: zone.day(first).from, to: zone.day(last).to };
    let held = sinks::held(conn, Kind::SinkPlace, whole)?;
    let what = whats(conn, whole, &held)?;
    let mut sinks = sinks::all_sinks(conn)?;
    sinks.retain(|s| !s.retired);
    let grid_min = store::grid_min(conn)?;
    let special = sinks::special_days(conn, (first, last))?;
    let open = sinks::openings(conn, zone, (first, last))?;
    let board = |(date, open): (NaiveDate, Vec<Span>)| {
        let day = zone.day(date);
        let here = held.iter().filter(|h| h.span.meets(&day));
        Board {
            open,
            special: special
                .iter()
                .find(|s| s.from <= date && date <= s.to)
                .map(|s| s.reason.clone()),
            grid_min,
            sinks: sinks.clone(),
            entries: here.map(|h| entry(h, what.get(&h.why))).collect(),
            date,
        }
    };
    Ok(open.into_iter().map(board).collect())
}

fn entry(held: &Held, what: Option<&What>) -> Entry {
    let what = match held.why {
        Why::Offer(_) => What::Offer,
        _ => what.cloned().unwrap_or(What::Other),
    };
    let cleaning = match &what {
        What::Booking(b) => b.span.to,
        _ => held.span.to,
    };
    Entry { sink_id: held.of_id, seat: held.seat, span: held.span, cleaning, what }
}

/// For what each of these is held.
fn whats(conn: &mut Conn, whole: Span, held: &[Held]) -> Result<BTreeMap<Why, What>, Error> {
    let mut is_booked = false;
    let mut runs = Vec::new();
    let mut outages = Vec::new();
    for h in held {
        match h.why {
            Why::Booking(_) => is_booked = true,
            Why::Run(id) => runs.push(id),
            Why::Outage(id) => outages.push(id),
            Why::Offer(_) | Why::Other => {}
        }
    }
    let mut whats = BTreeMap::new();
    if is_booked {
        for b in store::holding(conn, whole)? {
            whats.insert(Why::Booking(b.id), What::Booking(b));
        }
    }
    for (run, number, tickets) in store::runs(conn, &runs)? {
        whats.insert(Why::Run(run), What::Run { number, tickets });
    }
    for (outage, reason) in sinks::outage_reasons(conn, &outages)? {
        whats.insert(Why::Outage(outage), What::Outage(reason));
    }
    Ok(whats)
}

//! The duty rota: which lead is in the room for others, from when to when.

mod pages;
mod rules;
mod store;

use chrono::{Days, NaiveDate, NaiveTime};

use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use rules::fewest;

/// One stretch of duty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duty {
    /// Its number.
    pub id: i64,
    /// The lead.
    pub member_id: i64,
    /// Their name.
    pub name: String,
    /// When.
    pub span: Span,
    /// What to know about it.
    pub note: String,
}

/// A stretch of duty that is to be put on the rota, once or for so many weeks.
#[derive(Clone, Debug)]
pub struct NewDuty {
    /// The lead.
    pub member_id: i64,
    /// The first local date.
    pub date: NaiveDate,
    /// From this wall-clock time.
    pub from: NaiveTime,
    /// Until this one; midnight is the end of the day.
    pub to: NaiveTime,
    /// On how many weeks in a row, 1 to 52.
    pub weeks: i64,
    /// What to know about it.
    pub note: String,
}

/// The duties that touch a stretch, by time.
///
/// # Errors
/// As the database's.
pub fn during(conn: &mut Conn, span: Span) -> Result<Vec<Duty>, Error> {
    store::during(conn, span)
}

/// Puts coming duties to where the clock of this zone puts their local times. One whose hour the
/// clocks skip stays where it was.
///
/// # Errors
/// As the database's.
pub fn follow_clock(tx: &mut Tx<'_>, (now, zone): (Moment, Zone)) -> Result<(), Error> {
    for (id, date, (from, to), was) in store::walls(tx, now)? {
        if let Ok(span) = rules::span(zone, date, from, to)
            && span != was
        {
            store::set_span(tx, id, span)?;
        }
    }
    Ok(())
}

/// The fewest leads who are on duty at any moment of a stretch: the number newcomers can count
/// on. 0 where it is uncovered even for a minute.
///
/// # Errors
/// As the database's.
pub fn leads_throughout(conn: &mut Conn, span: Span) -> Result<usize, Error> {
    let duties: Vec<(i64, Span)> =
        store::during(conn, span)?.into_iter().map(|d| (d.member_id, d.span)).collect();
    Ok(rules::fewest(span, &duties))
}

/// Puts a lead on the rota; returns how many stretches were added.
///
/// # Errors
/// A sentence beside the field; a refusal when the lead is on duty then already.
pub fn add(tx: &mut Tx<'_>, now: Moment, zone: Zone, new: &NewDuty) -> Result<i64, Error> {
    if !store::is_lead(tx, new.member_id)? {
        return Err(Error::field("lead", "Only a lead can be on duty. Choose one of the list."));
    }
    for week in 0..new.weeks {
        let ahead = u64::try_from(week * 7).unwrap_or(0);
        let date = new.date.checked_add_days(Days::new(ahead)).unwrap_or(new.date);
        let span = rules::span(zone, date, new.from, new.to)?;
        if span.to <= now {
            return Err(Error::field("date", "That time is over. Choose one that lies ahead."));
        }
        let others = store::during(tx, span)?;
        if others.iter().any(|d| d.member_id == new.member_id) {
            return Err(Error::field(
                "date",
                format!("This lead is on duty at that time on {date} already."),
            ));
        }
        store::insert(tx, now, new, date, span)?;
    }
    Ok(new.weeks)
}

/// Takes a stretch off the rota.
///
/// # Errors
/// [`Error::NotFound`] where there is none such.
pub fn remove(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    store::delete(tx, id)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

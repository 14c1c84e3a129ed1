//! What the rules must know, asked of the database.

use chrono::{Days, NaiveDate};

use super::rules::{Duty, Facts, Owner, week_of};
use super::{Limits, store};
use crate::clock::{Moment, Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::sessions::Role;
use crate::sinks;

/// Whose booking it is to be, and which booking of theirs is being changed, if one is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Whose {
    pub(super) member: i64,
    pub(super) owner: Owner,
    pub(super) changing: Option<i64>,
}

/// Everything the rules ask about bookings within these dates.
pub(super) fn facts(
    conn: &mut Conn,
    (now, zone): (Moment, Zone),
    whose: Whose,
    (first, last): (NaiveDate, NaiveDate),
) -> Result<Facts, Error> {
    let limits = store::limits(conn)?;
    let span = Span {
        from: week_of(zone, zone.day_start(first)).from,
        to: week_of(zone, zone.day_start(last)).to,
    };
    let open = sinks::openings(conn, zone, (first, last))?.into_values().flatten().collect();
    let newcomer = whose.owner.role == Role::Newcomer;
    Ok(Facts {
        now,
        zone,
        owner: whose.owner,
        open,
        peak: peak(zone, &limits, (zone.date(span.from), last)),
        own: store::spans_of(conn, (whose.member, whose.changing), span)?,
        duty: if newcomer { duty(conn, span)? } else { Vec::new() },
        newcomers: if newcomer {
            store::newcomers(conn, whose.changing, span)?
        } else {
            Vec::new()
        },
        limits,
    })
}

/// The peak hours of these dates and the rest of the last one's week.
fn peak(zone: Zone, limits: &Limits, (first, last): (NaiveDate, NaiveDate)) -> Vec<Span> {
    if limits.peak_minutes_per_week.is_none() {
        return Vec::new();
    }
    let end = last.checked_add_days(Days::new(7)).unwrap_or(last);
    let dates = first.iter_days().take_while(|d| *d < end).take(400);
    dates.flat_map(|d| sinks::weekly(zone, d, &limits.peak)).collect()
}

/// When leads are on duty.
fn duty(conn: &mut Conn, span: Span) -> Result<Vec<Duty>, Error> {
    let duties = crate::duty::during(conn, span)?;
    Ok(duties.into_iter().map(|d| Duty { lead: d.member_id, span: d.span }).collect())
}

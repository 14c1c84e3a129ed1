//! When who may book: pure, with the time, the opening hours and the limits handed in.

use std::fmt;

use chrono::{Datelike, Days, NaiveDate, NaiveTime, Timelike};

use super::Limits;
use crate::clock::{Moment, Span, WallFault, Zone};
use crate::error::Error;
use crate::sessions::Role;

/// Why a booking is refused, whatever else is free.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Its owner is on a break.
    Paused,
    /// It begins in the past.
    Begun,
    /// It begins or ends beside the grid of so many minutes.
    OffGrid(i64),
    /// It is shorter than the grid or longer than so many minutes.
    Length {
        /// The shortest.
        least_min: i64,
        /// The longest.
        most_min: i64,
    },
    /// It begins more than so many days ahead.
    TooFarAhead(i64),
    /// The studio is not open all the time.
    Closed,
    /// A newcomer while no lead is on duty.
    NoLead,
    /// As many newcomers as the leads on duty can look after.
    NewcomersFull(i64),
    /// So many bookings in that week already.
    PerWeek(i64),
    /// More minutes in that week than so many.
    MinutesPerWeek {
        /// The limit.
        most_min: i64,
        /// What there is already.
        have_min: i64,
    },
    /// More minutes of peak hours in that week than so many.
    Peak {
        /// The limit.
        most_min: i64,
        /// From how long before it no longer holds.
        opens_min: i64,
    },
    /// It begins too soon to be given back or moved away.
    Notice(i64),
    /// It is over.
    Over,
    /// It has begun, and its beginning would change.
    HasBegun,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::Paused => {
                f.write_str("You are on a break, so you cannot book. Ask a lead to end the break.")
            }
            Refusal::Begun => {
                f.write_str("That time has begun already. Choose one that lies ahead.")
            }
            Refusal::OffGrid(15) => {
                f.write_str("Bookings begin and end on a full quarter of an hour, such as 18:15.")
            }
            Refusal::OffGrid(60) => {
                f.write_str("Bookings begin and end on a full hour, such as 18:00.")
            }
            Refusal::OffGrid(m) => {
                write!(f, "Bookings begin and end every {m} minutes from the full hour on.")
            }
            Refusal::Length { least_min, most_min } => write!(
                f,
                "A booking lasts from {} to {}. Choose another end.",
                lasting(*least_min),
                lasting(*most_min)
            ),
            Refusal::TooFarAhead(days) => {
                write!(f, "Bookings open {days} days ahead. Choose an earlier day.")
            }
            Refusal::Closed => f.write_str(
                "The studio is not open for the whole of that time. The board shows when it is.",
            ),
            Refusal::NoLead
            | Refusal::NewcomersFull(_)
            | Refusal::PerWeek(_)
            | Refusal::MinutesPerWeek { .. }
            | Refusal::Peak { .. } => f.write_str(&self.too_much()),
            Refusal::Notice(min) => write!(
                f,
                "A booking can be given back or moved until {} before it begins. Please ask a \
                 lead.",
                lasting(*min)
            ),
            Refusal::Over => f.write_str("That booking is over; it stays in the records."),
            Refusal::HasBegun => f.write_str(
                "That booking has begun: its end can change, its beginning and sink cannot.",
            ),
        }
    }
}

impl Refusal {
    /// The sentences about quotas.
    fn too_much(&self) -> String {
        match self {
            Refusal::NoLead => String::from(
                "A newcomer works only while a lead is on duty, and then none is. Choose a time \
                 when one is, or ask a lead to book with you.",
            ),
            Refusal::NewcomersFull(per_lead) => format!(
                "A lead on duty looks after {per_lead} newcomers at once, and that many have \
                 booked. Choose another time."
            ),
            Refusal::PerWeek(most) => format!(
                "A member has at most {most} bookings in a week from Monday. Give one back first, \
                 or choose another week."
            ),
            Refusal::MinutesPerWeek { most_min, have_min } => format!(
                "A member has at most {} in a week from Monday, and you have {} already. Book a \
                 shorter time or another week.",
                lasting(*most_min),
                lasting(*have_min)
            ),
            Refusal::Peak { most_min, opens_min } => format!(
                "Of the busiest hours a member has at most {} in a week. What is still free {} \
                 before it begins is open to all.",
                lasting(*most_min),
                lasting(*opens_min)
            ),
            _ => String::new(),
        }
    }
}

impl From<Refusal> for Error {
    fn from(refusal: Refusal) -> Error {
        Error::refused("rule", refusal.to_string())
    }
}

/// `1 hour 30 minutes`, `2 days`.
#[must_use]
pub fn lasting(minutes: i64) -> String {
    let many = |n: i64, one: &str| {
        if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
    };
    let (days, hours, min) = (minutes / 1440, minutes % 1440 / 60, minutes % 60);
    let parts: Vec<String> = [(days, "day"), (hours, "hour"), (min, "minute")]
        .into_iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, one)| many(n, one))
        .collect();
    if parts.is_empty() { "0 minutes".to_owned() } else { parts.join(" ") }
}

/// A stretch in which a lead is on duty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Duty {
    /// The lead.
    pub lead: i64,
    /// When.
    pub span: Span,
}

/// For whom a booking is, as far as the rules ask.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Owner {
    /// What they may do.
    pub role: Role,
    /// Whether they are on a break.
    pub paused: bool,
    /// Whether a lead books: limits and quotas then do not hold, hours and grid do.
    pub by_lead: bool,
}

/// What the rules must know of the time around a wish.
#[derive(Clone, Debug)]
pub struct Facts {
    /// The time now.
    pub now: Moment,
    /// The studio's time zone.
    pub zone: Zone,
    /// The studio's limits.
    pub limits: Limits,
    /// For whom.
    pub owner: Owner,
    /// When the studio is open, by time.
    pub open: Vec<Span>,
    /// Peak hours.
    pub peak: Vec<Span>,
    /// What the owner has booked already, in whole weeks.
    pub own: Vec<Span>,
    /// When leads are on duty.
    pub duty: Vec<Duty>,
    /// When newcomers have booked.
    pub newcomers: Vec<Span>,
}

/// Whether somebody may book at all.
///
/// # Errors
/// The rule that refuses.
pub fn may_book(owner: Owner) -> Result<(), Refusal> {
    if owner.paused && !owner.by_lead { Err(Refusal::Paused) } else { Ok(()) }
}

/// The stretch of time that these wall-clock times name; midnight as the end is the end of day.
/// Of a time that happens twice, `second` says for each end whether the later one is meant.
///
/// # Errors
/// The field whose time does not exist, happens twice or is out of order.
pub fn span(
    zone: Zone,
    date: NaiveDate,
    (from, to): (NaiveTime, NaiveTime),
    second: (Option<bool>, Option<bool>),
) -> Result<Span, Error> {
    let start = instant(zone, date, from, ("from", second.0))?;
    let next = date.checked_add_days(Days::new(1)).unwrap_or(date);
    let day = if to == NaiveTime::MIN { next } else { date };
    let end = instant(zone, day, to, ("to", second.1))?;
    Span::new(start, end)
        .ok_or_else(|| Error::field("to", "The end must come after the beginning, the same day."))
}

fn instant(
    zone: Zone,
    date: NaiveDate,
    time: NaiveTime,
    (field, second): (&str, Option<bool>),
) -> Result<Moment, Error> {
    let shown = time.format("%H:%M");
    zone.instant(date.and_time(time)).or_else(|fault| match (fault, second) {
        (WallFault::Twice(first, _), Some(false)) => Ok(first),
        (WallFault::Twice(_, second), Some(true)) => Ok(second),
        (WallFault::Missing, _) => Err(Error::field(
            field,
            format!("The clocks go forward that day and skip {shown}. Choose another time."),
        )),
        (WallFault::Twice(..), None) => Err(Error::field(
            field,
            format!(
                "The clocks go back that day, so {shown} happens twice. Say below which of the \
                 two you mean, or choose another time."
            ),
        )),
    })
}

/// Whether the wall clock shows a time on the grid.
#[must_use]
pub fn is_on_grid(zone: Zone, grid_min: i64, at: Moment) -> bool {
    let wall = zone.wall(at);
    let minutes = i64::from(wall.num_seconds_from_midnight()) / 60;
    wall.second() == 0 && minutes % grid_min.max(1) == 0
}

/// Monday 0:00 to Monday 0:00 around an instant, on the studio's wall clock.
#[must_use]
pub fn week_of(zone: Zone, at: Moment) -> Span {
    let date = zone.date(at);
    let back = u64::from(date.weekday().num_days_from_monday());
    let monday = date.checked_sub_days(Days::new(back)).unwrap_or(date);
    let next = monday.checked_add_days(Days::new(7)).unwrap_or(monday);
    Span { from: zone.day_start(monday), to: zone.day_start(next) }
}

/// Whether the studio's rules let this time be booked.
///
/// # Errors
/// The first rule that refuses.
pub fn check(facts: &Facts, span: Span) -> Result<(), Refusal> {
    may_book(facts.owner)?;
    if span.from < facts.now {
        return Err(Refusal::Begun);
    }
    check_shape(facts, span)?;
    let limits = &facts.limits;
    if !facts.owner.by_lead {
        if span.from.since(facts.now) > limits.ahead_days * 86_400 {
            return Err(Refusal::TooFarAhead(limits.ahead_days));
        }
        check_newcomer(facts, span)?;
        check_quotas(facts, span)?;
    }
    Ok(())
}

/// Grid, length and opening hours: what also a booking that has begun must keep to.
///
/// # Errors
/// The first rule that refuses.
pub fn check_shape(facts: &Facts, span: Span) -> Result<(), Refusal> {
    let limits = &facts.limits;
    if ![span.from, span.to].iter().all(|m| is_on_grid(facts.zone, limits.grid_min, *m)) {
        return Err(Refusal::OffGrid(limits.grid_min));
    }
    let longest = if facts.owner.by_lead { 1440 } else { limits.longest_min };
    if !(limits.grid_min * 60..=longest * 60).contains(&span.seconds()) {
        return Err(Refusal::Length { least_min: limits.grid_min, most_min: longest });
    }
    if !facts.open.iter().any(|o| o.from <= span.from && span.to <= o.to) {
        return Err(Refusal::Closed);
    }
    Ok(())
}

/// Newcomers work while a lead is on duty, and so many for each lead, at every moment.
fn check_newcomer(facts: &Facts, span: Span) -> Result<(), Refusal> {
    if facts.owner.role != Role::Newcomer {
        return Ok(());
    }
    let inside = |m: &Moment| span.from <= *m && *m < span.to;
    let ends = facts.duty.iter().flat_map(|d| [d.span.from, d.span.to]);
    let starts = facts.newcomers.iter().map(|s| s.from);
    let covers = |s: &Span, m: Moment| s.from <= m && m < s.to;
    for at in ends.chain(starts).chain([span.from]).filter(inside) {
        let leads = facts.duty.iter().filter(|d| covers(&d.span, at)).count();
        if leads == 0 {
            return Err(Refusal::NoLead);
        }
        let newcomers = facts.newcomers.iter().filter(|s| covers(s, at)).count() + 1;
        let most = i64::try_from(leads).unwrap_or(0) * facts.limits.newcomers_per_lead;
        if i64::try_from(newcomers).unwrap_or(i64::MAX) > most {
            return Err(Refusal::NewcomersFull(facts.limits.newcomers_per_lead));
        }
    }
    Ok(())
}

fn check_quotas(facts: &Facts, span: Span) -> Result<(), Refusal> {
    let limits = &facts.limits;
    let week = week_of(facts.zone, span.from);
    let own = facts.own.iter().filter(|s| week.from <= s.from && s.from < week.to);
    if let Some(most) = limits.per_week
        && i64::try_from(own.clone().count()).unwrap_or(i64::MAX) >= most
    {
        return Err(Refusal::PerWeek(most));
    }
    let have_min = own.clone().map(Span::seconds).sum::<i64>() / 60;
    if let Some(most_min) = limits.minutes_per_week
        && have_min * 60 + span.seconds() > most_min * 60
    {
        return Err(Refusal::MinutesPerWeek { most_min, have_min });
    }
    let Some(most_min) = limits.peak_minutes_per_week else { return Ok(()) };
    let opens_min = limits.peak_opens_min;
    let binds = span.from.since(facts.now) > opens_min * 60;
    let wished = in_peak(facts, span);
    let have: i64 = own.map(|s| in_peak(facts, *s)).sum();
    if binds && wished > 0 && have + wished > most_min * 60 {
        return Err(Refusal::Peak { most_min, opens_min });
    }
    Ok(())
}

/// How many seconds of a span lie in peak hours.
fn in_peak(facts: &Facts, span: Span) -> i64 {
    let both = |p: &Span| p.to.min(span.to).since(p.from.max(span.from)).max(0);
    facts.peak.iter().map(both).sum()
}

/// Whether a booking may still be given back or moved away by its owner.
///
/// # Errors
/// The rule that refuses.
pub fn may_give_back(
    now: Moment,
    span: Span,
    limits: &Limits,
    is_lead: bool,
) -> Result<(), Refusal> {
    if span.to <= now {
        return Err(Refusal::Over);
    }
    if !is_lead && limits.notice_min > 0 && span.from.since(now) < limits.notice_min * 60 {
        return Err(Refusal::Notice(limits.notice_min));
    }
    Ok(())
}

#[cfg(test)]
#[path = "rules_tests.rs"]
mod tests;

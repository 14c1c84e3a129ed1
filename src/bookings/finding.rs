//! Times that would do: the nearest to one that does not, and the first of a week. Pure.

use chrono::Timelike;

use super::asking::{Ask, is_free};
use super::rules::{self, Facts};
use crate::clock::{Moment, Span};
use crate::sinks::Supply;

/// Starts at which a booking of this length would do, by time: within the opening hours, on the
/// grid, allowed by every rule, and with everything free.
fn starts<'a>(
    facts: &'a Facts,
    supply: &'a Supply,
    ask: &'a Ask,
    seconds: i64,
) -> impl Iterator<Item = Span> + 'a {
    // Every grid is on the five minutes of the wall clock, whenever the studio opens.
    const STEP_S: i64 = 300;
    facts
        .open
        .iter()
        .flat_map(move |open| {
            let minute = facts.zone.wall(open.from).num_seconds_from_midnight();
            let first = open.from.plus((-i64::from(minute)).rem_euclid(STEP_S));
            let steps = open.seconds() / STEP_S + 1;
            (0..steps).map(move |n| first.plus(n * STEP_S))
        })
        .filter(move |from| rules::is_on_grid(facts.zone, facts.limits.grid_min, *from))
        .map(move |from| Span { from, to: from.plus(seconds) })
        .filter(move |span| {
            rules::check(facts, *span).is_ok() && is_free(supply, ask, *span).is_ok()
        })
}

/// Another condition a time must meet.
pub type Fits<'a> = &'a dyn Fn(Span) -> bool;

/// The first so many times of so many seconds that would do, each beginning no earlier than the
/// one before ends.
#[must_use]
pub fn first(
    facts: &Facts,
    supply: &Supply,
    ask: &Ask,
    (seconds, most, fits): (i64, usize, Fits<'_>),
) -> Vec<Span> {
    let mut found: Vec<Span> = Vec::new();
    for span in starts(facts, supply, ask, seconds) {
        if found.len() == most {
            break;
        }
        if found.last().is_none_or(|last| last.to <= span.from) && fits(span) {
            found.push(span);
        }
    }
    found
}

/// The time of the same length whose beginning is nearest to that of one that will not do.
#[must_use]
pub fn nearest(facts: &Facts, supply: &Supply, ask: &Ask, to: Span) -> Option<Span> {
    let far = |at: Moment| at.since(to.from).abs();
    starts(facts, supply, ask, to.seconds()).min_by_key(|s| (far(s.from), s.from))
}

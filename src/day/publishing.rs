//! Publishing a draft: sinks, tanks and reels are booked, rolls move on, people are told; all of
//! it, or nothing.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::facts::reel_for;
use super::figures::Figures;
use super::store::{self, Plan, Run};
use super::{drafting, mail};
use crate::baths;
use crate::bookings::Place;
use crate::clock::{Moment, Span};
use crate::db::Tx;
use crate::error::Error;
use crate::rolls::{self, Format, State};
use crate::sinks::{self, ForRun, ReelKind};
use crate::web::counted;

/// Publishes the draft of a date, if it is still the one with this number.
///
/// # Errors
/// A refusal that says what changed since the draft was made.
pub fn publish(
    tx: &mut Tx<'_>,
    place: &Place,
    by: i64,
    (date, number): (NaiveDate, Option<i64>),
) -> Result<Plan, Error> {
    let now = place.now;
    let plan = drafting::still(tx, date, number)?;
    let runs = store::runs(tx, plan.id)?;
    if runs.is_empty() {
        return Err(Error::refused(
            "no-runs",
            "This draft has no run, so there is nothing to publish. Its left-over rolls say why.",
        ));
    }
    let gaps = super::facts::figures(tx)?;
    for run in &runs {
        // Five minutes of grace: reading a plan takes its time.
        if run.load.from.plus(300) < now {
            return Err(changed(&format!("Run {} should have been loading by now", run.number)));
        }
        for roll in &run.rolls {
            let present = rolls::one(tx, roll.roll_id)?;
            if present.state != State::HandedIn {
                return Err(changed(&format!(
                    "Ticket {} is now “{}”",
                    present.ticket,
                    present.state.name()
                )));
            }
            rolls::set_state(tx, now, (roll.roll_id, Some(by)), State::Planned, "")?;
        }
        hold(tx, now, run, &gaps)?;
    }
    let first = store::changes(tx, date)?.is_empty();
    store::mark_published(tx, now, plan.id)?;
    let runs_said = counted(runs.len(), "run", "runs");
    let rolls_said = counted(runs.iter().map(|r| r.rolls.len()).sum::<usize>(), "roll", "rolls");
    let sentence = if first {
        format!("Published with {runs_said} and {rolls_said}.")
    } else {
        format!("{runs_said} with {rolls_said} added.")
    };
    store::add_change(tx, (now, by), date, &sentence)?;
    let ready_after_s = gaps.drying_s + gaps.sleeving_s;
    mail::published(tx, place, (date, plan.id, ready_after_s), &runs)?;
    for left in &plan.left_over {
        rolls::tell_waiting(tx, (now, place.zone), &left.ticket, &left.reason, None)?;
    }
    baths::watch(tx, now)?;
    Ok(plan)
}

/// Holds what a run needs of the room: a place and room for its tank at its sink, the tank, its
/// reels until they are dry again, places to load and to hang, and the light of its rooms.
pub(super) fn hold(
    tx: &mut Tx<'_>,
    now: Moment,
    run: &Run,
    figures: &Figures,
) -> Result<(), Error> {
    let pools = sinks::reel_kinds(tx)?;
    let wet = |drying_s: i64| Span { from: run.load.from, to: run.to.plus(drying_s) };
    let reels = reels_of(run, &pools).into_iter();
    let films = i64::try_from(run.rolls.len()).unwrap_or(i64::MAX);
    let needs = ForRun {
        id: run.id,
        sink_id: run.sink_id,
        tank_id: run.tank_id,
        load: Span::new(run.load.from, run.load.to),
        wet: Span { from: run.from, to: run.to },
        at_sink: Span { from: run.from, to: run.to.plus(figures.sink_gap_s) },
        in_tank: Span { from: run.load.from, to: run.to.plus(figures.tank_gap_s) },
        reels: reels.map(|(pool, count)| (pool.id, count, wet(pool.drying_s))).collect(),
        hung: (films, Span { from: run.to, to: run.to.plus(figures.drying_s) }),
    };
    sinks::promise_run(tx, now, &needs).map_err(|e| match e {
        Error::Refused { sentence, .. } => changed(&format!("Run {}: {sentence}", run.number)),
        other => other,
    })
}

/// How many reels of which pool a run's rolls are on.
pub(super) fn reels_of<'a>(run: &Run, pools: &'a [ReelKind]) -> Vec<(&'a ReelKind, usize)> {
    let mut by_pool: BTreeMap<i64, (&ReelKind, usize)> = BTreeMap::new();
    for format in run.rolls.iter().filter_map(|r| Format::named(&r.format)) {
        if let Some((pool, _, _)) = reel_for(pools, format.reel) {
            by_pool.entry(pool.id).or_insert((pool, 0)).1 += 1;
        }
    }
    by_pool.into_values().collect()
}

pub(super) fn changed(what: &str) -> Error {
    Error::refused(
        "room-changed",
        format!("{what}. Nothing was published; plan the day again and look at it once more."),
    )
}

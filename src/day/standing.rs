//! Runs that stand already, and times of day as the planner reads them.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::rules::{Planned, Steps};
use crate::clock::{Moment, Span, Zone};

/// A run that stands already and what it takes of the room.
#[derive(Clone, Debug)]
pub(super) struct Standing {
    pub(super) sink_id: i64,
    pub(super) tank_id: i64,
    pub(super) load: Span,
    pub(super) from: Moment,
    pub(super) to: Moment,
    pub(super) pre_soak_s: i64,
    pub(super) time_s: i64,
    pub(super) fix_s: i64,
    pub(super) steps: Steps,
    /// Reels by kind.
    pub(super) reels: BTreeMap<String, i64>,
    pub(super) rolls: i64,
    pub(super) fixer_milli: i64,
    /// The shared developer it is in, and what of its capacity it takes, in thousandths.
    pub(super) developer: Option<(i64, i64)>,
    /// Whether the room's holds know it already.
    pub(super) is_held: bool,
}

impl Standing {
    pub(super) fn of(run: &Planned, fix_s: i64) -> Standing {
        let mut reels = BTreeMap::new();
        for job in &run.jobs {
            *reels.entry(job.format.reel.to_owned()).or_insert(0) += 1;
        }
        Standing {
            sink_id: run.sink_id,
            tank_id: run.tank_id,
            load: Span { from: run.load_from, to: run.load_to },
            from: run.from,
            to: run.to,
            pre_soak_s: run.jobs.first().map_or(0, |j| j.recipe.pre_soak_s),
            time_s: run.time_s,
            fix_s,
            steps: run.steps.clone(),
            reels,
            rolls: i64::try_from(run.jobs.len()).unwrap_or(0),
            fixer_milli: run.fixer_milli,
            developer: run
                .developer_bath
                .map(|bath| (bath, run.jobs.iter().map(super::rules::Job::film_milli).sum())),
            is_held: false,
        }
    }

    /// From pouring its developer in until it is back in its bottle.
    pub(super) fn in_developer(&self) -> Span {
        let poured = self.from.plus(self.pre_soak_s);
        Span { from: poured, to: poured.plus(self.time_s) }
    }
}

/// A time of day as the planner reads it; times of other days are the day's own ends, and times
/// that the clocks skip or repeat move outward to the next one that is plain.
pub(super) fn wall(zone: Zone, date: NaiveDate, at: Moment, is_end: bool) -> String {
    let day = zone.day(date);
    if at >= day.to {
        return "24:00".to_owned();
    }
    let step = if is_end { 60 } else { -60 };
    let mut at = at.max(day.from);
    for _ in 0..300 {
        if at >= day.to {
            return "24:00".to_owned();
        }
        if at <= day.from && !is_end {
            at = day.from;
        }
        let wall = zone.wall(at);
        if zone.instant(wall).is_ok() || at == day.from {
            return wall.format("%H:%M:%S").to_string();
        }
        at = at.plus(step);
    }
    "24:00".to_owned()
}

/// What is left of a span outside busy ones.
pub(super) fn without(span: Span, busy: &[Span]) -> Vec<Span> {
    let mut busy: Vec<Span> = busy.iter().filter(|b| b.meets(&span)).copied().collect();
    busy.sort_by_key(|b| b.from);
    let mut free = Vec::new();
    let mut from = span.from;
    for taken in busy {
        free.extend(Span::new(from, taken.from));
        from = from.max(taken.to);
    }
    free.extend(Span::new(from, span.to));
    free
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_on_the_night_of_the_clocks_move_outward() {
        // EU summer time 2027 ends on 31 October: 01:00 to 02:00 happens twice in Dublin
        // (Directive 2000/84/EC).
        let zone = Zone::named("Europe/Dublin").unwrap();
        let date: NaiveDate = "2027-10-31".parse().unwrap();
        let day = zone.day(date);
        assert_eq!(wall(zone, date, day.from.plus(5400), false), "00:59:00");
        assert_eq!(wall(zone, date, day.from.plus(5400), true), "02:00:00");
        assert_eq!(wall(zone, date, day.from.plus(-60), false), "00:00:00");
        assert_eq!(wall(zone, date, day.to.plus(60), true), "24:00");
    }

    #[test]
    fn free_time_is_what_busy_time_leaves() {
        let s = |a, b| Span { from: Moment(a), to: Moment(b) };
        let free = without(s(0, 100), &[s(40, 60), s(-5, 10), s(50, 70), s(100, 120)]);
        assert_eq!(free, [s(10, 40), s(70, 100)]);
    }
}

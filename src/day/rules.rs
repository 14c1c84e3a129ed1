//! The nouns of a day: what a lead wishes, what is planned, and how long each step lasts.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::clock::{Moment, Span};
use crate::recipes::Recipe;
use crate::rolls::{Format, Roll};

/// A waiting roll with its recipe at the temperature of the day.
#[derive(Clone, Debug)]
pub struct Job {
    /// The roll.
    pub roll: Roll,
    /// The recipe it will be developed by.
    pub recipe: Recipe,
    /// Its format.
    pub format: Format,
    /// The day's temperature of its developer, in thousandths of a degree C.
    pub temperature_mc: i64,
    /// The developing time at that temperature, in seconds.
    pub time_s: i64,
    /// How that time was found, a line each; empty at the recipe's own temperature.
    pub working: Vec<String>,
}

impl Job {
    /// The film itself, in thousandths of a roll's worth.
    pub(super) fn film_milli(&self) -> i64 {
        self.format.milli
    }

    /// How much of a fixer's capacity it takes, in thousandths of a roll's worth.
    pub(super) fn fixer_milli(&self, tabular_percent: i64) -> i64 {
        let percent = if self.roll.tabular { tabular_percent } else { 100 };
        self.format.milli * percent / 100
    }
}

/// What a lead asks of a day beyond the room itself.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Wish {
    /// Temperature by developer, in thousandths of a degree C; the recipe's own where none.
    pub temperatures: BTreeMap<i64, i64>,
    /// Percent that a time may be shorter, if not the studio's.
    pub under: Option<i64>,
    /// Percent that a time may be longer, if not the studio's.
    pub over: Option<i64>,
    /// Rolls that are not to be planned.
    pub held_back: BTreeSet<i64>,
    /// Rolls that share no run.
    pub alone: BTreeSet<i64>,
    /// Another recipe for a roll.
    pub recipes: BTreeMap<i64, i64>,
    /// Who pours that day, by member.
    pub people: Vec<i64>,
    /// Runs that stand as they are.
    pub fixed: Vec<Fixed>,
    /// Open so many seconds longer (asked only beside a plan).
    pub longer_s: i64,
    /// One more tank like this one (asked only beside a plan).
    pub twin_tank: Option<i64>,
}

/// A run a lead has put in its place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fixed {
    /// Its rolls.
    pub rolls: Vec<i64>,
    /// Its tank.
    pub tank_id: i64,
    /// Its sink.
    pub sink_id: i64,
    /// When its loading begins, at the earliest.
    pub load_from: Moment,
    /// When it starts; a run that is not pinned may also start later.
    pub from: Moment,
    /// Whether it stays when the day is planned again.
    pub pinned: bool,
}

/// How long the steps of one run last and who does them, as they were planned.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Steps {
    /// Stop bath, in seconds.
    pub stop_s: i64,
    /// Rinse, in seconds.
    pub rinse_s: i64,
    /// Wash aid, in seconds.
    pub wash_aid_s: i64,
    /// Wash, in seconds.
    pub wash_s: i64,
    /// Wetting agent, in seconds.
    pub wetting_s: i64,
    /// Hanging all rolls, in seconds.
    pub hang_s: i64,
    /// Who pours.
    pub person: String,
    /// Who loads.
    pub loader: String,
    /// Parts of water to one of concentrate.
    pub water_parts: i64,
    /// How each time was found, a line each.
    pub working: Vec<String>,
    /// The recipes of its rolls, by the number of their version, each once.
    pub recipes: Vec<i64>,
    /// What its time would be at 20 °C, in seconds, where the day has another temperature.
    pub at_twenty_s: Option<i64>,
    /// The second of two fixing baths.
    pub second_fixer: Option<i64>,
    /// How much of the fixing time is spent in it, in seconds.
    pub second_fix_s: i64,
    /// Replenisher for the shared developer after this run, in microlitres.
    pub replenish_ul: i64,
    /// The tank is the member's own; the studio's one it is like stands in the run.
    pub own_tank: bool,
    /// Developer is the member's own: nothing is drawn from the shelf.
    pub own_developer: bool,
}

impl Default for Steps {
    /// As runs were planned before these were kept with them.
    fn default() -> Steps {
        Steps {
            stop_s: 60,
            rinse_s: 30,
            wash_aid_s: 120,
            wash_s: 300,
            wetting_s: 60,
            hang_s: 90,
            person: String::new(),
            loader: String::new(),
            water_parts: 0,
            working: Vec::new(),
            recipes: Vec::new(),
            at_twenty_s: None,
            second_fixer: None,
            second_fix_s: 0,
            replenish_ul: 0,
            own_tank: false,
            own_developer: false,
        }
    }
}

/// A part of a developer, as it is measured for a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartPoured {
    /// Its name.
    pub name: String,
    /// How much of it, in microlitres.
    pub ul: i64,
}

/// One planned run.
#[derive(Clone, Debug)]
pub struct Planned {
    /// Its rolls, from the bottom reel up.
    pub jobs: Vec<Job>,
    /// The sink.
    pub sink_id: i64,
    /// The tank.
    pub tank_id: i64,
    /// When loading begins.
    pub load_from: Moment,
    /// When loading ends.
    pub load_to: Moment,
    /// When the run starts.
    pub from: Moment,
    /// When the last roll hangs.
    pub to: Moment,
    /// Developing time in seconds.
    pub time_s: i64,
    /// Concentrate in microlitres.
    pub concentrate_ul: i64,
    /// Water in microlitres.
    pub water_ul: i64,
    /// What is poured of each part, where the developer is mixed from several; together they are
    /// its concentrate.
    pub parts: Vec<PartPoured>,
    /// With what the concentrate is measured.
    pub measure: String,
    /// What it takes of the fixer, in thousandths of a roll's worth.
    pub fixer_milli: i64,
    /// The shared bath its developer comes from and goes back to.
    pub developer_bath: Option<i64>,
    /// What it draws from the shelf, in microlitres of concentrate or stock.
    pub shelf_ul: i64,
    /// The other steps.
    pub steps: Steps,
    /// Whether a lead put it in its place.
    pub pinned: bool,
    /// Why it is what it is, a sentence each.
    pub why: Vec<String>,
}

/// A roll that got no run, and why.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, Eq)]
pub struct LeftOver {
    /// Its ticket.
    pub ticket: String,
    /// The reason, with the remedy.
    pub reason: String,
}

/// A planned day.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// Its runs by their start.
    pub runs: Vec<Planned>,
    /// The rolls that got none.
    pub left_over: Vec<LeftOver>,
    /// What it comes to.
    pub sums: Sums,
}

/// What a day comes to, for comparing one with another.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Sums {
    /// Runs.
    pub runs: i64,
    /// Rolls left over.
    pub left: i64,
    /// Tickets that will be ready after their due time.
    pub late: Vec<String>,
    /// Concentrate of all developers together, in microlitres.
    pub concentrate_ul: i64,
    /// When the last run ends, UTC seconds.
    pub ends_s: i64,
    /// The planner's own totals, bounds and proof, as it hands them out.
    pub planner: serde_json::Value,
}

/// How one day differs from another, in words: what a change costs.
#[must_use]
pub(super) fn cost(before: &Sums, after: &Sums) -> String {
    let mut parts = Vec::new();
    let mut differ = |was: i64, is: i64, one: &str, many: &str| {
        let by = is - was;
        if by != 0 {
            let name = if by.abs() == 1 { one } else { many };
            parts.push(format!("{} {} {name}", by.abs(), if by > 0 { "more" } else { "fewer" }));
        }
    };
    differ(before.runs, after.runs, "run", "runs");
    differ(before.left, after.left, "roll left over", "rolls left over");
    let (was, is) = (before.late.len(), after.late.len());
    let late = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    differ(late(was), late(is), "late roll", "late rolls");
    let ul = after.concentrate_ul - before.concentrate_ul;
    if ul != 0 {
        let word = if ul > 0 { "more" } else { "less" };
        parts.push(format!("{} ml {word} concentrate", tenths(ul.abs())));
    }
    let ends = (after.ends_s - before.ends_s) / 60;
    if ends != 0 {
        let word = if ends > 0 { "later" } else { "earlier" };
        parts.push(format!("the last run ends {} min {word}", ends.abs()));
    }
    if parts.is_empty() { "it costs nothing".to_owned() } else { parts.join(", ") }
}

fn tenths(ul: i64) -> String {
    let tenths = (ul + 50) / 100;
    format!("{}.{}", tenths / 10, tenths % 10)
}

/// The last instant of these spans' times, in UTC seconds.
#[must_use]
pub(super) fn last_end(runs: &[Planned]) -> i64 {
    runs.iter().map(|r| r.to.0).max().unwrap_or(0)
}

/// When the hands of a run's person are needed, in order and merged.
#[must_use]
pub(super) fn hands(
    (from, pre_soak_s, time_s, fix_s): (Moment, i64, i64, i64),
    (steps, to): (&Steps, Moment),
    figures: &super::figures::Figures,
) -> Vec<Span> {
    let poured = from.plus(pre_soak_s);
    let out = poured.plus(time_s);
    let fixed = out.plus(steps.stop_s + fix_s);
    let spans = [
        (poured.plus(-figures.before_pour_s), poured.plus(figures.after_pour_s)),
        (out.plus(-figures.before_end_s), out.plus(steps.stop_s + figures.after_fix_s)),
        (fixed.plus(-figures.before_end_s), fixed.plus(figures.after_fix_s)),
        (to.plus(-steps.hang_s), to),
    ];
    spans.into_iter().filter_map(|(a, b)| Span::new(a, b)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_says_what_it_costs() {
        let before = Sums { runs: 3, concentrate_ul: 30_000, ends_s: 3600, ..Sums::default() };
        assert_eq!(cost(&before, &before), "it costs nothing");
        let after = Sums {
            runs: 4,
            left: 0,
            late: vec!["A".to_owned()],
            concentrate_ul: 39_500,
            ends_s: 5400,
            ..Sums::default()
        };
        assert_eq!(
            cost(&before, &after),
            "1 more run, 1 more late roll, 9.5 ml more concentrate, the last run ends 30 min later"
        );
        assert_eq!(
            cost(&after, &before),
            "1 fewer run, 1 fewer late roll, 9.5 ml less concentrate, the last run ends 30 min earlier"
        );
    }
}

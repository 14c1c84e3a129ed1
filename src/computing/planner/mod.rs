//! Which rolls share a tank, and when each run happens: pure computation.
//!
//! [`Day`] is the checked file of a day, [`plan`] decides, [`Plan`] is what it hands out.
//! No clock, no database, no network: the same day and budget give the same bytes.

mod bounds;
mod clock;
mod complete;
mod day;
mod decimal;
mod developer_price;
mod developer_volume;
mod developing_time;
pub mod engine;
mod fault;
mod form;
mod fullness;
mod grouping;
mod groups;
mod placing;
mod plan;
mod problem;
mod proving;
mod read_day;
mod read_rolls;
mod read_room;
mod reading;
mod reasons;
mod room;
mod schedule;
mod search;
mod watching;
mod write_plan;

pub use day::Day;
pub use decimal::Decimal;
pub use fault::Fault;
pub use form::*;
pub use groups::{Groups, groups};
pub use plan::{Amount, Amounts, Bound, LeftOver, Plan, Run, Totals};
pub use search::Budget;
pub use watching::{Part, Progress};

/// Plans a day: every rule kept, objectives as small as the budget allows to find.
///
/// This is the one front door, for a session of six rolls and for a backlog of hundreds. `watch`
/// is told what the search does many times a second, in every part of it: show `done` of `of`
/// and the figures of the best day so far, ask [`Progress::best`] for that day itself, set
/// `stop` to end with it. Without a stop the plan depends on nothing but day and budget.
/// For a day of hundreds of rolls run it on a thread of its own: it never waits for anything.
pub fn plan(day: &Day, budget: &Budget, watch: &mut dyn FnMut(Progress<'_>)) -> Plan {
    let problem = problem::Problem::new(day);
    let mut watch = watching::Watch::new(&problem, watch);
    let found = search::search(&problem, *budget, &mut watch);
    write_plan::write(&problem, &found)
}

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
mod grouping;
mod placing;
mod plan;
mod problem;
mod read_day;
mod read_rolls;
mod read_room;
mod reading;
mod reasons;
mod room;
mod schedule;
mod search;
mod write_plan;

pub use day::Day;
pub use decimal::Decimal;
pub use fault::Fault;
pub use form::*;
pub use plan::{Amount, Amounts, Bound, LeftOver, Plan, Run, Totals};
pub use search::{Budget, Progress};

/// Plans a day: every rule kept, objectives as small as the budget allows to find.
///
/// `watch` sees the search from time to time and may end it early.
pub fn plan(day: &Day, budget: &Budget, watch: &mut dyn FnMut(Progress<'_>)) -> Plan {
    let problem = problem::Problem::new(day);
    let found = search::search(&problem, *budget, watch);
    write_plan::write(&problem, &found)
}

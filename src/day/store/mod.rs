//! The day's tables: plans and their versions, runs, the studio's figures.

#[expect(dead_code, reason = "the pages at the sink come next")]
mod events;
mod figures;
#[expect(dead_code, reason = "a member's own session comes next")]
mod own;
mod plans;
mod runs;

pub(super) use figures::{figures, set_figure};
pub(super) use plans::{
    NewPlan, add_change, changes, draft, insert_plan, mark_published, published_dates, step_back,
};
pub(super) use runs::{insert_run, mark_ended, promised, published_runs, run, runs};

pub use plans::Plan;
pub use runs::{Run, RunRoll};

//! The day's tables: plans and their versions, runs, the studio's figures, what happens at the sink.

mod changing;
mod events;
mod figures;
mod jobs;
mod joining;
mod own;
mod plans;
mod promised;
mod runs;
mod wet;

pub(super) use changing::{
    ToFix, mark_ended, mark_withdrawn, set_fixer, to_be_fixed, update_times,
};
pub(super) use events::{Event, EventKind, add_event, events, events_of};
pub(super) use figures::{figures, set_figure};
pub(super) use jobs::{PlanningJob, begin_job, end_job, job, jobs_at_work, seen_job, want_of_job};
pub(super) use joining::{coming_runs, recipe_in, rewrite_run, wish_of};
pub(super) use own::{Own, own, own_of, put_own};
pub(super) use plans::{
    NewPlan, add_change, changes, draft, draft_dates, insert_plan, mark_published, published_dates,
    step_back,
};
pub(super) use promised::{promised, promised_developer};
pub(super) use runs::{insert_run, published_runs, run, runs};
pub(super) use wet::wet;

pub use plans::Plan;
pub use runs::{Run, RunRoll};

//! The day's tables: plans and their versions, runs, the studio's figures.

mod events;
mod figures;
mod own;
mod plans;
mod runs;

pub(super) use events::{add_event, events, events_of};
pub(super) use figures::{figures, set_figure};
pub(super) use own::{own, own_of, put_own};
pub(super) use plans::{
    NewPlan, add_change, changes, draft, insert_plan, mark_published, number_before,
    published_dates, step_back,
};
pub(super) use runs::{
    insert_run, mark_ended, mark_withdrawn, promised, published_runs, run, runs, update_times,
};

pub use events::{Event, EventKind};
pub use own::Own;
pub use plans::{Change, Plan};
pub use runs::{Run, RunRoll};

//! A day with many rolls is planned in the background: any server shows how far it is, and a lead
//! takes the best so far or drops it.

use std::time::{Duration, Instant};

use chrono::NaiveDate;
use parking_lot::MutexGuard;

use super::drafting::{self, Basis};
use super::progress::{Phase, Reached, Wanted};
use super::rules::Outcome;
use super::store::{self, Plan};
use crate::app::App;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;

/// More rolls than this are planned in the background; up to there a page is quicker than that.
const MANY: usize = 120;
/// A job that was not heard of for so long is lost with the server that worked on it, in seconds.
pub(super) const LOST_S: i64 = 900;
/// How often a job says how far it is.
const TELLS_EVERY: Duration = Duration::from_secs(1);

/// The draft that a change was made to, and what was changed.
#[derive(Clone, Debug)]
pub(super) struct Change {
    pub(super) of: Plan,
    pub(super) said: String,
}

impl Change {
    /// What was changed and what it costs.
    pub(super) fn told(&self, outcome: &Outcome) -> String {
        drafting::told(&self.said, &self.of, outcome)
    }
}

/// Whether a day is large enough to be planned in the background.
pub(super) fn is_large(basis: &Basis) -> bool {
    basis.jobs.len() > MANY
}

/// Keeps an outcome as the next draft.
pub(super) fn keep(
    tx: &mut Tx<'_>,
    by: i64,
    (basis, outcome): (&Basis, &Outcome),
    change: Option<&Change>,
) -> Result<i64, Error> {
    let told = change.map(|c| c.told(outcome)).unwrap_or_default();
    let made_from = change.map(|c| c.of.number);
    drafting::keep(tx, (basis.facts.now, by), (basis, outcome), (made_from, &told))
}

/// Writes down that a day is planned in the background; returns the number of the job, and whether
/// it is new: a day that is being planned already is not planned twice.
///
/// # Errors
/// As the database's.
pub(super) fn begin(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    (date, rolls): (NaiveDate, i64),
) -> Result<(i64, bool), Error> {
    let present = store::jobs_at_work(tx, now.plus(-LOST_S))?;
    match present.into_iter().find(|j| j.date == date) {
        Some(job) => {
            tx.leaves_no_line();
            Ok((job.id, false))
        }
        None => Ok((store::begin_job(tx, (now, by), (date, rolls))?, true)),
    }
}

/// Does the work of a job on this thread and keeps what comes of it.
pub(super) fn work(app: &App, (id, by): (i64, i64), basis: &Basis, change: Option<&Change>) {
    let (turn, mut wanted) = turn(app, id);
    let mut told: Option<(Instant, Phase)> = None;
    let mut last = Reached::default();
    let outcome = drafting::work_out(basis, &mut |reached: &Reached| {
        last = *reached;
        let known =
            told.is_some_and(|(at, phase)| phase == reached.phase && at.elapsed() < TELLS_EVERY);
        if wanted == Wanted::More && !known {
            told = Some((Instant::now(), reached.phase));
            wanted = tell(app, id, reached);
        }
        wanted
    });
    let _kept_anyway = tell(app, id, &last.step(Phase::Keeping, 0, 0));
    drop(turn);
    if let Err(fault) = app.db.write_now(|tx| finish(tx, app, (id, by), (basis, &outcome), change))
    {
        tracing::warn!(%fault, "a plan could not be kept");
        let now = app.clock.now();
        let lost = app.db.write_now(|tx| {
            store::end_job(tx, now, (id, "refused", "It could not be kept. Plan the day again."))
        });
        if let Err(fault) = lost {
            tracing::warn!(%fault, "a plan's end could not be written down");
        }
    }
}

/// Waits until no other large day is planned here, or until somebody wants no more of this one;
/// says what is wanted of it.
fn turn(app: &App, id: i64) -> (Option<MutexGuard<'_, ()>>, Wanted) {
    loop {
        let turn = app.planning.try_lock_for(TELLS_EVERY);
        let wanted = tell(app, id, &Reached::default());
        if turn.is_some() || wanted != Wanted::More {
            return (turn, wanted);
        }
    }
}

/// Tells how far a job is; says what is wanted of it.
fn tell(app: &App, id: i64, reached: &Reached) -> Wanted {
    let now = app.clock.now();
    let seen = app.db.write_now(|tx| {
        tx.leaves_no_line();
        store::seen_job(tx, now, (id, reached))
    });
    match seen.as_deref() {
        Ok("enough") => Wanted::Enough,
        Ok("drop") => Wanted::Nothing,
        Ok(_) => Wanted::More,
        Err(fault) => {
            // The plan is worth more than the news of it.
            tracing::warn!(%fault, "how far a plan is could not be written down");
            Wanted::More
        }
    }
}

fn finish(
    tx: &mut Tx<'_>,
    app: &App,
    (id, by): (i64, i64),
    (basis, outcome): (&Basis, &Result<Outcome, Error>),
    change: Option<&Change>,
) -> Result<(), Error> {
    let now = app.clock.now();
    if store::job(tx, id)?.wanted == "drop" {
        return store::end_job(tx, now, (id, "dropped", "It was dropped; nothing was kept."));
    }
    let refused = |e: &Error| match e {
        Error::Refused { sentence, .. } => sentence.clone(),
        other => other.to_string(),
    };
    match outcome {
        Err(e) => store::end_job(tx, now, (id, "refused", &refused(e))),
        Ok(outcome) => match tx.attempt(|tx| keep(tx, by, (basis, outcome), change)) {
            Ok(number) => {
                let sentence =
                    format!("Draft {number} is ready. Look it through, then publish it.");
                store::end_job(tx, now, (id, "done", &sentence))
            }
            Err(e @ (Error::Refused { .. } | Error::Invalid(_))) => {
                store::end_job(tx, now, (id, "refused", &refused(&e)))
            }
            Err(e) => Err(e),
        },
    }
}

use chrono::NaiveDate;
use diesel::prelude::*;

use crate::clock::Moment;
use crate::day::progress::Reached;
use crate::db::schema::planning_jobs;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A large day that is being planned, or was.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = planning_jobs)]
pub(in crate::day) struct PlanningJob {
    /// Its id.
    pub(in crate::day) id: i64,
    /// The day.
    pub(in crate::day) date: NaiveDate,
    /// How many rolls it groups.
    pub(in crate::day) rolls: i64,
    /// When it began, UTC seconds.
    pub(in crate::day) begun_s: i64,
    /// `working`, `done`, `refused` or `dropped`.
    pub(in crate::day) state: String,
    /// `go_on`, `enough` or `drop`.
    pub(in crate::day) wanted: String,
    /// When it was last heard of, UTC seconds.
    pub(in crate::day) seen_s: i64,
    /// Days tried so far.
    pub(in crate::day) tries: i64,
    /// Runs of the best day so far.
    pub(in crate::day) runs: i64,
    /// What came of it.
    pub(in crate::day) sentence: String,
    /// The word of the phase it is in.
    pub(in crate::day) phase: String,
    /// Steps of that phase so far, ...
    pub(in crate::day) steps_done: i64,
    /// ... and at most; 0 where nobody can say.
    pub(in crate::day) steps_all: i64,
}

/// Writes down that a day is being planned; returns the number of the job.
pub(in crate::day) fn begin_job(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    (date, rolls): (NaiveDate, i64),
) -> Result<i64, Error> {
    Ok(diesel::insert_into(planning_jobs::table)
        .values((
            planning_jobs::date.eq(date),
            planning_jobs::rolls.eq(rolls),
            planning_jobs::begun_s.eq(now.0),
            planning_jobs::begun_by.eq(by),
            planning_jobs::state.eq("working"),
            planning_jobs::wanted.eq("go_on"),
            planning_jobs::seen_s.eq(now.0),
            planning_jobs::tries.eq(0),
            planning_jobs::runs.eq(0),
            planning_jobs::sentence.eq(""),
        ))
        .returning(planning_jobs::id)
        .get_result(tx.conn())?)
}

/// One job.
pub(in crate::day) fn job(conn: &mut Conn, id: i64) -> Result<PlanningJob, Error> {
    Ok(planning_jobs::table.find(id).select(PlanningJob::as_select()).get_result(conn)?)
}

/// The jobs that work and were heard of since then.
pub(in crate::day) fn jobs_at_work(
    conn: &mut Conn,
    since: Moment,
) -> Result<Vec<PlanningJob>, Error> {
    Ok(planning_jobs::table
        .filter(planning_jobs::state.eq("working"))
        .filter(planning_jobs::seen_s.ge(since.0))
        .order(planning_jobs::id)
        .select(PlanningJob::as_select())
        .load(conn)?)
}

/// Writes down how far a job is, and answers what is wanted of it.
pub(in crate::day) fn seen_job(
    tx: &mut Tx<'_>,
    now: Moment,
    (id, reached): (i64, &Reached),
) -> Result<String, Error> {
    Ok(diesel::update(planning_jobs::table.find(id))
        .set((
            planning_jobs::seen_s.eq(now.0),
            planning_jobs::tries.eq(reached.tries),
            planning_jobs::runs.eq(reached.runs),
            planning_jobs::phase.eq(reached.phase.word()),
            planning_jobs::steps_done.eq(reached.done),
            planning_jobs::steps_all.eq(reached.of),
        ))
        .returning(planning_jobs::wanted)
        .get_result(tx.conn())?)
}

/// Says what is wanted of a job that works; says whether it still did.
pub(in crate::day) fn want_of_job(tx: &mut Tx<'_>, id: i64, wanted: &str) -> Result<bool, Error> {
    let working = planning_jobs::table
        .filter(planning_jobs::id.eq(id))
        .filter(planning_jobs::state.eq("working"));
    let rows = diesel::update(working).set(planning_jobs::wanted.eq(wanted)).execute(tx.conn())?;
    Ok(rows == 1)
}

/// Ends a job with what came of it.
pub(in crate::day) fn end_job(
    tx: &mut Tx<'_>,
    now: Moment,
    (id, state, sentence): (i64, &str, &str),
) -> Result<(), Error> {
    diesel::update(planning_jobs::table.find(id))
        .set((
            planning_jobs::state.eq(state),
            planning_jobs::seen_s.eq(now.0),
            planning_jobs::sentence.eq(sentence),
        ))
        .execute(tx.conn())?;
    Ok(())
}

//! A search for good batch schedules of any kind: jobs that share a machine in batches.
//!
//! Jobs of one kind may share a batch while their time windows meet, the machine holds them and
//! all of them may go there; batches follow each other on a machine within its open intervals,
//! with a set-up between kinds. What is made small is a weighted sum of machine time, batches,
//! set-ups, and jobs that end after their due time; jobs left out weigh more than all of these.
//!
//! Rolls are jobs and tanks are machines; [`Task`] is the question, [`search`] looks for an
//! answer for as long as its [`Budget`] lasts, [`Schedule`] is the best it found. There is no
//! clock in here: who wants to stop by time says how much of it has gone ([`Budget::Share`]).
//! For a budget of work the same task and seed give the same schedule, whatever the threads do.

mod anneal;
mod batch;
mod board;
mod budget;
pub(super) mod dice;
mod draft;
mod greedy;
mod moves;
mod problem;
mod row;
mod shifts;
mod task;
mod team;
#[cfg(test)]
mod tests;
mod windows;

pub use budget::Budget;
pub use task::{Costs, Job, Machine, Placed, Schedule, Setup, Task, Unfit};
pub use team::search;

//! How far the planning of a day is, and whether it is to go on.

use crate::planner::{self, Progress};

/// What it is busy with; phases follow one another in this order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Phase {
    /// Another large day is planned on this server.
    #[default]
    Waiting,
    /// What a lead has put in its place is put there.
    Placing,
    /// Which rolls share a run.
    Grouping,
    /// Day after day is tried; the best so far only gets better.
    Trying,
    /// Every day that might be better still is looked at or ruled out.
    Proving,
    /// Runs that share a developer get their times, one after another.
    InTurn,
    /// The draft is written down.
    Keeping,
}

impl Phase {
    /// All of them in order, each with its word in the database and what is said of it.
    pub(super) const ALL: [(Phase, &'static str, &'static str); 7] = [
        (Phase::Waiting, "waiting", "waiting: this server plans another large day first"),
        (Phase::Placing, "placing", "putting pinned runs in their places"),
        (Phase::Grouping, "grouping", "grouping the rolls"),
        (Phase::Trying, "trying", "trying days; the best is kept"),
        (Phase::Proving, "proving", "looking for a better day than the best"),
        (Phase::InTurn, "in_turn", "timing the runs that share a developer"),
        (Phase::Keeping, "keeping", "writing the draft down"),
    ];

    /// Its word in the database.
    pub(super) fn word(self) -> &'static str {
        Phase::ALL.iter().find(|p| p.0 == self).map_or("waiting", |p| p.1)
    }

    /// What is said of the phase of that word.
    pub(super) fn said(word: &str) -> &'static str {
        Phase::ALL.iter().find(|p| p.1 == word).map_or("", |p| p.2)
    }
}

/// How far it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Reached {
    pub(super) phase: Phase,
    /// Steps of this phase so far, ...
    pub(super) done: i64,
    /// ... and at most; 0 where nobody can say. Most phases end before.
    pub(super) of: i64,
    /// Days tried so far.
    pub(super) tries: i64,
    /// Runs of the best day so far.
    pub(super) runs: i64,
}

/// What is wanted of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    /// It is to go on.
    More,
    /// The best so far will do.
    Enough,
    /// Nothing of it is to be kept.
    Nothing,
}

/// Somebody who is told how far it is, many times a second, and answers what is wanted.
pub(super) type Watcher<'w> = &'w mut dyn FnMut(&Reached) -> Wanted;

/// Nobody watches; it goes on to its end.
pub(super) fn unwatched(_reached: &Reached) -> Wanted {
    Wanted::More
}

fn count<N: TryInto<i64>>(n: N) -> i64 {
    n.try_into().unwrap_or(i64::MAX)
}

impl Reached {
    /// A step of a phase outside the planner; what was found before stays.
    pub(super) fn step(&self, phase: Phase, done: usize, of: usize) -> Reached {
        Reached { phase, done: count(done), of: count(of), ..*self }
    }

    /// As the planner tells it.
    pub(super) fn of(progress: &Progress<'_>) -> Reached {
        let phase = match progress.part {
            planner::Part::Grouping => Phase::Grouping,
            planner::Part::Trying => Phase::Trying,
            planner::Part::Proving => Phase::Proving,
        };
        Reached {
            phase,
            done: count(progress.done),
            of: count(progress.of),
            tries: count(progress.tries),
            runs: count(progress.runs),
        }
    }
}

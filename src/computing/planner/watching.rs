//! What a search tells while it goes on, and how it is stopped.

use super::{plan::Plan, problem::Problem, search::Found, write_plan::write};

/// What a search is busy with; parts follow one another in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Which rolls share a run, family by family, before any moment of the day is looked at.
    Grouping,
    /// Day after day is tried; the best so far only gets better.
    Trying,
    /// Every day that might be better still is looked at or ruled out.
    Proving,
}

/// How far a search has come, told from time to time.
pub struct Progress<'p> {
    /// What it is busy with.
    pub part: Part,
    /// Steps of this part so far.
    pub done: u64,
    /// Steps of this part at most; most parts end long before.
    pub of: u64,
    /// Days tried so far; with none, the figures below are those of a day without runs.
    pub tries: u64,
    /// Weight left over in the best day so far.
    pub left_over_weight: i64,
    /// Late rolls in it.
    pub late: usize,
    /// Its runs.
    pub runs: usize,
    /// Set this to end the search with the best day so far (a plan ended so depends on when).
    pub stop: &'p mut bool,
    best: Option<(&'p Problem<'p>, &'p Found)>,
}

impl Progress<'_> {
    /// The best day so far, as it would be handed out if the search ended now; nothing while
    /// none was tried. Made for this call, so ask for it when it is to be shown.
    pub fn best(&self) -> Option<Plan> {
        self.best.map(|(problem, found)| write(problem, found))
    }
}

/// The watcher of a search and what is told to it.
pub(super) struct Watch<'w, 'd> {
    problem: &'w Problem<'d>,
    tell: &'w mut dyn FnMut(Progress<'_>),
    stop: bool,
    tries: u64,
    best: Option<Found>,
}

impl<'w, 'd> Watch<'w, 'd> {
    pub(super) fn new(problem: &'w Problem<'d>, tell: &'w mut dyn FnMut(Progress<'_>)) -> Self {
        Self { problem, tell, stop: false, tries: 0, best: None }
    }

    /// Whether the search was told to end.
    pub(super) fn stopped(&self) -> bool {
        self.stop
    }

    /// Keeps the best day so far for those who ask.
    pub(super) fn better(&mut self, found: Found) {
        self.best = Some(found);
    }

    /// Counts a day tried.
    pub(super) fn tried(&mut self, tries: u64) {
        self.tries = tries;
    }

    /// Tells how far a part has come, and answers whether to go on.
    pub(super) fn go_on(&mut self, part: Part, (done, of): (u64, u64)) -> bool {
        if self.stop {
            return false;
        }
        let all = self.problem.items.iter().map(|item| item.weight).sum();
        let (left_over_weight, late, runs) =
            self.best.as_ref().map_or((all, 0, 0), |found| found.standing());
        (self.tell)(Progress {
            part,
            done,
            of,
            tries: self.tries,
            left_over_weight,
            late,
            runs,
            stop: &mut self.stop,
            best: self.best.as_ref().map(|found| (self.problem, found)),
        });
        !self.stop
    }
}

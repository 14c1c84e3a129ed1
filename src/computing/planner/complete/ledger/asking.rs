//! Asking the room for a day of a set of runs, and what its refusals teach.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        Started,
        timetable::{Answer, Scheduled},
    },
    Answered, Ledger,
    rows::Rows,
    sequence::Sequence,
    whole::Verdict,
};

/// Steps of a sequence that are as much work as one exchange.
const EACH_STEP: u64 = 100;

impl<'a> Ledger<'a, '_> {
    /// Asks the room for a day of a set of runs; a better one is kept.
    pub(super) fn ask(&mut self, rows: &Rows, values: &[i64], limit: usize) -> Verdict {
        let chosen = || rows.choices.iter().zip(values).filter(|(_, n)| **n > 0);
        let mixtures = self.mixtures;
        let mut runs: Vec<Started<'a>> = Vec::new();
        for (choice, n) in chosen() {
            let mixture = &mixtures.all[choice.at];
            let run = Started { mixture, at: choice.at, tank: choice.tank, start: 0 };
            runs.extend(std::iter::repeat_n(run, *n as usize));
        }
        let columns: Vec<usize> = chosen_columns(rows, values);
        if let Some(blamed) = self.refusals.within(&runs, limit) {
            return Verdict::No(counted(blamed.iter().map(|at| columns[*at])));
        }
        let mut key: Vec<(usize, usize, i64)> = chosen()
            .map(|(choice, n)| (mixtures.all[choice.at].likeness, choice.tank, *n))
            .collect();
        key.sort_unstable();
        let known = self.asked.get(&(key.clone(), limit)).cloned();
        let answered = match known {
            Some(Answered::Day(_)) | None => self.day(&runs, limit),
            Some(other) => other,
        };
        let verdict = match &answered {
            Answered::Day(day) => {
                self.keep(day, &runs);
                Verdict::Yes
            }
            Answered::None => {
                let blamed = self.blamed(&runs, limit);
                Verdict::No(counted(blamed.iter().map(|at| columns[*at])))
            }
            Answered::Unknown => Verdict::Perhaps,
        };
        self.asked.insert((key, limit), answered);
        verdict
    }

    /// Places of runs of a set without a day that have none by themselves, as few as there are.
    /// What is kept asks for as little as has no day, too.
    fn blamed(&mut self, runs: &[Started<'a>], limit: usize) -> Vec<usize> {
        let mut kept: Vec<usize> = (0..runs.len()).collect();
        let mut easy = kept.clone();
        easy.sort_by_key(|at| (runs[*at].mixture.loading, *at));
        for spared in easy {
            let fewer: Vec<usize> = kept.iter().copied().filter(|at| *at != spared).collect();
            let some: Vec<Started<'a>> = fewer.iter().map(|at| runs[*at]).collect();
            if !some.is_empty() && self.surely_none(&some, limit) {
                kept = fewer;
            }
        }
        let mut some: Vec<Started<'a>> = kept.iter().map(|at| runs[*at]).collect();
        let mixtures = self.mixtures;
        for at in 0..some.len() {
            let own = some[at];
            for (lighter, mixture) in
                self.refusals.lighter(&mixtures.all, &own, limit == usize::MAX)
            {
                some[at] = Started { mixture, at: lighter, ..own };
                if self.surely_none(&some, limit) {
                    break;
                }
                some[at] = own;
            }
        }
        self.refusals.keep(&some, limit);
        kept
    }

    /// Whether little work shows that a set of runs has no day.
    fn surely_none(&mut self, runs: &[Started<'a>], limit: usize) -> bool {
        const STEPS: u64 = 3000;
        const LITTLE: u64 = 60;
        if let Some(sequence) = Sequence::of(self.problem, runs, limit) {
            let (answer, took) = sequence.find(STEPS);
            self.work = self.work.saturating_sub(took / EACH_STEP);
            return matches!(answer, Answer::None);
        }
        let before = self.sets.work;
        let answer = self.sets.by_clashes(runs, limit, LITTLE);
        self.work = self.work.saturating_sub(before - self.sets.work);
        matches!(answer, Some(Answer::None))
    }

    fn keep(&mut self, day: &Scheduled, runs: &[Started<'a>]) {
        let all: i64 = self.problem.items.iter().map(|item| item.weight).sum();
        let inside: i64 = runs.iter().map(|run| run.mixture.weight).sum();
        let cost = runs.iter().map(|run| run.mixture.costs[run.tank].unwrap_or(0)).sum();
        let worth = (all - inside, day.late, runs.len(), cost);
        if worth < self.best {
            self.best = worth;
            self.found = Some(day.clone());
        }
    }

    fn day(&mut self, runs: &[Started<'a>], limit: usize) -> Answered {
        const STEPS: u64 = 200_000;
        if let Some(sequence) = Sequence::of(self.problem, runs, limit) {
            let (answer, took) = sequence.find(STEPS);
            self.work = self.work.saturating_sub(took / EACH_STEP);
            return match answer {
                Answer::Found(day) => Answered::Day(day),
                Answer::None => Answered::None,
                Answer::Unknown => Answered::Unknown,
            };
        }
        let before = self.sets.work;
        let answered = self.in_the_room(runs, limit);
        self.work = self.work.saturating_sub(before - self.sets.work);
        answered
    }

    /// In any room: settled with little work, tried in any order and in tanks that cost the same,
    /// and then settled with more work.
    fn in_the_room(&mut self, runs: &[Started<'a>], limit: usize) -> Answered {
        const LITTLE: u64 = 100;
        const ORDERS: usize = 150;
        match self.sets.by_clashes(runs, limit, LITTLE) {
            Some(Answer::Found(day)) => return Answered::Day(day),
            Some(Answer::None) => return Answered::None,
            Some(Answer::Unknown) | None => {}
        }
        if let Some(day) = self.sets.tried(runs, (limit, true), ORDERS) {
            return Answered::Day(day);
        }
        self.sets.complete = true;
        match self.sets.day(runs, limit) {
            Some(day) => Answered::Day(day),
            None if self.sets.complete => Answered::None,
            None => Answered::Unknown,
        }
    }
}

/// The column of each run of a whole answer, in the order of the columns.
fn chosen_columns(rows: &Rows, values: &[i64]) -> Vec<usize> {
    let chosen = (0..rows.choices.len()).zip(values).filter(|(_, n)| **n > 0);
    chosen.flat_map(|(column, n)| std::iter::repeat_n(column, *n as usize)).collect()
}

/// Each column once, and how often it was there.
fn counted(columns: impl Iterator<Item = usize>) -> Vec<(usize, i64)> {
    let mut counts: Vec<(usize, i64)> = Vec::new();
    for column in columns {
        match counts.iter_mut().find(|(own, _)| *own == column) {
            Some((_, n)) => *n += 1,
            None => counts.push((column, 1)),
        }
    }
    counts
}

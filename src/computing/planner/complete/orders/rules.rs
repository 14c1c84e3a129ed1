//! What a room asks of the moments of runs: what always holds, of what one of two holds, and what
//! only so many share.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        super::{clock::Seconds, day::Span, problem::Problem},
        Started,
        types::Mixture,
    },
    Behind,
};

/// Starts lie on the grid, loadings anywhere.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    grid: Seconds,
    starts: usize,
}

impl Pace {
    pub(super) fn up(self, moment: usize, time: Seconds) -> Seconds {
        if moment < self.starts {
            (time + self.grid - 1).div_euclid(self.grid) * self.grid
        } else {
            time
        }
    }

    pub(super) fn down(self, moment: usize, time: Seconds) -> Seconds {
        if moment < self.starts { time.div_euclid(self.grid) * self.grid } else { time }
    }
}

/// From so much after one moment to so much after another, so much of something is taken.
#[derive(Debug, Clone, Copy)]
pub(super) struct Use {
    pub(super) from: (usize, Seconds),
    pub(super) to: (usize, Seconds),
    pub(super) amount: i64,
    /// How long at least.
    pub(super) length: Seconds,
}

impl Use {
    pub(super) fn before(&self, other: &Self) -> Behind {
        Behind { from: self.to.0, to: other.from.0, after: self.to.1 - other.from.1 }
    }
}

/// What there is only so much of.
pub(super) struct Shared {
    pub(super) uses: Vec<Use>,
    pub(super) supply: i64,
}

/// All rules of a set of runs.
pub(super) struct Rules {
    pub(super) pace: Pace,
    pub(super) first: Vec<Seconds>,
    pub(super) last: Vec<Seconds>,
    pub(super) always: Vec<Behind>,
    pub(super) either: Vec<[Behind; 2]>,
    pub(super) shared: Vec<Shared>,
    /// What takes somebody's hands, of whom there are so many.
    pub(super) hands: Shared,
    /// Of each run, in order, the last start at which each of its rolls with a due time is not late.
    pub(super) late: Vec<Vec<Seconds>>,
    pub(super) windows: Vec<Vec<Span>>,
    pub(super) loading: Vec<Seconds>,
    pub(super) developing: Vec<Span>,
}

impl Rules {
    /// Nothing where the room has more to it than is said here.
    pub(super) fn of(problem: &Problem<'_>, runs: &[Started<'_>]) -> Option<Self> {
        let day = problem.day;
        let open = plain(problem, runs)?;
        let (count, grid) = (runs.len(), day.rules.grid_s);
        let mixtures = || runs.iter().map(|run| run.mixture);
        let pace = Pace { grid, starts: count };
        let loaded = mixtures().map(|mixture| open.from.max(mixture.ready));
        let first = mixtures()
            .zip(loaded.clone())
            .enumerate()
            .map(|(run, (mixture, from))| pace.up(run, from + mixture.loading));
        let last: Vec<Seconds> = mixtures()
            .enumerate()
            .map(|(run, mixture)| pace.down(run, open.to - mixture.length))
            .collect();
        let loading = last.iter().zip(mixtures()).map(|(last, mixture)| last - mixture.loading);
        let mut rules = Self {
            pace,
            first: first.chain(loaded).collect(),
            last: last.iter().copied().chain(loading).collect(),
            always: mixtures()
                .enumerate()
                .map(|(at, mixture)| Behind { from: count + at, to: at, after: mixture.loading })
                .collect(),
            either: Vec::new(),
            shared: Vec::new(),
            hands: hands(runs, day.people.len()),
            late: mixtures().map(|mixture| on_time(problem, mixture)).collect(),
            windows: mixtures().map(|mixture| mixture.hands.clone()).collect(),
            loading: mixtures().map(|mixture| mixture.loading).collect(),
            developing: mixtures().map(|mixture| mixture.developing).collect(),
        };
        rules.share(problem, runs);
        rules.pairs(problem, runs);
        Some(rules)
    }

    /// What only so many share: sinks, reels, the loading place, fixer, hooks.
    fn share(&mut self, problem: &Problem<'_>, runs: &[Started<'_>]) {
        let (day, count) = (problem.day, runs.len());
        let after = |at: usize, from: Seconds, to: Seconds, amount: i64| Use {
            from: (at, from),
            to: (at, to),
            amount,
            length: to - from,
        };
        let all = || runs.iter().enumerate();
        let sinks =
            all().map(|(at, run)| after(at, 0, run.mixture.length + day.steps.sink_gap_s, 1));
        let places = day.sinks.iter().map(|sink| sink.places).sum();
        self.shared.push(Shared { uses: sinks.collect(), supply: places });
        let loading = all().map(|(at, run)| after(count + at, 0, run.mixture.loading, 1));
        self.shared.push(Shared { uses: loading.collect(), supply: day.loading_places });
        for (kind, reel) in day.reels.iter().enumerate() {
            let held = all().filter_map(|(at, run)| {
                let (_, amount) = run.mixture.reels.iter().find(|(own, _)| *own == kind)?;
                let to = run.mixture.length + reel.drying_s;
                let length = run.mixture.loading + to;
                Some(Use { from: (count + at, 0), to: (at, to), amount: *amount, length })
            });
            self.shared.push(Shared { uses: held.collect(), supply: reel.owned });
        }
        if let Some(fixer) = day.fixer {
            let wet = all().map(|(at, run)| {
                let (span, batch) = (run.mixture.fixing, &run.mixture.batch);
                after(at, span.from, span.to, batch.fixer_volume(problem, run.tank))
            });
            self.shared.push(Shared { uses: wet.collect(), supply: fixer.volume_ml.millionths() });
        }
        if let Some(hanging) = &day.hanging {
            let hung = all().map(|(at, run)| {
                let end = run.mixture.length;
                after(at, end, end + hanging.drying_s, run.mixture.rolls as i64)
            });
            self.shared.push(Shared { uses: hung.collect(), supply: hanging.places });
        }
        if let [person] = &day.people[..] {
            let developing = all().map(|(at, run)| {
                after(at, run.mixture.developing.from, run.mixture.developing.to, 1)
            });
            self.shared.push(Shared { uses: developing.collect(), supply: person.tanks_at_once });
        }
        // What is never short is not looked at again.
        self.shared.retain(|shared| {
            shared.uses.iter().map(|taken| taken.amount).sum::<i64>() > shared.supply
        });
    }

    /// What two runs cannot have at the same time.
    fn pairs(&mut self, problem: &Problem<'_>, runs: &[Started<'_>]) {
        let gap = problem.day.steps.tank_gap_s;
        let count = runs.len();
        let mut either = Vec::new();
        for shared in &self.shared {
            for (at, one) in shared.uses.iter().enumerate() {
                let more = shared.uses[at + 1..].iter();
                let two = more.filter(|two| one.amount + two.amount > shared.supply);
                either.extend(two.map(|two| [one.before(two), two.before(one)]));
            }
        }
        for (at, one) in runs.iter().enumerate() {
            for (other, two) in runs.iter().enumerate().skip(at + 1) {
                if one.tank == two.tank {
                    let behind = |from: usize, to: usize, length: Seconds| Behind {
                        from,
                        to: count + to,
                        after: length + gap,
                    };
                    let first = behind(at, other, one.mixture.length);
                    if one.at == two.at {
                        self.always.push(first);
                    } else {
                        either.push([first, behind(other, at, two.mixture.length)]);
                    }
                }
            }
        }
        if self.hands.supply == 1 {
            either.extend(self.by_hand(count));
        }
        self.either = either;
    }

    /// One pair of hands is at one thing at a time.
    fn by_hand(&self, count: usize) -> Vec<[Behind; 2]> {
        let mut either = Vec::new();
        for one in 0..count {
            for two in 0..count {
                if one < two {
                    either.extend(apart((one, &self.windows[one]), (two, &self.windows[two])));
                }
                if one != two {
                    let own = [Span { from: 0, to: self.loading[one] }];
                    either.extend(apart((count + one, &own), (two, &self.windows[two])));
                }
            }
        }
        either
    }
}

/// The opening of a room that these rules say everything of.
fn plain(problem: &Problem<'_>, runs: &[Started<'_>]) -> Option<Span> {
    let day = problem.day;
    let [open] = day.open[..] else { return None };
    let all_day =
        |hours: &[Span]| matches!(hours, [hours] if hours.from <= open.from && hours.to >= open.to);
    let places: i64 = day.sinks.iter().map(|sink| sink.places).sum();
    let inside = runs.iter().all(|run| {
        let mixture = run.mixture;
        mixture.loading > 0
            && mixture.hands.first().is_none_or(|window| window.from >= 0)
            && mixture.hands.last().is_none_or(|window| window.to <= mixture.length)
            && day.developers[mixture.developer].bath.is_none()
    });
    let free = matches!(day.people.len(), 1 | 2)
        && day.loading_places == 1
        && day.loading_busy.is_empty()
        && day.people.iter().all(|person| all_day(&person.hours))
        && day.sinks.iter().all(|sink| sink.busy.is_empty())
        && day.tanks.iter().all(|tank| tank.busy.is_empty())
        && day.reels.iter().all(|reel| reel.busy.is_empty())
        && day.hanging.as_ref().is_none_or(|hanging| hanging.busy.is_empty());
    (inside && free && places > 0).then_some(open)
}

/// Windows and loadings as something that there is a person's time for.
fn hands(runs: &[Started<'_>], people: usize) -> Shared {
    let mut uses = Vec::new();
    for (at, run) in runs.iter().enumerate() {
        let mut taken = |moment: usize, span: Span| {
            let length = span.to - span.from;
            uses.push(Use { from: (moment, span.from), to: (moment, span.to), amount: 1, length });
        };
        taken(runs.len() + at, Span { from: 0, to: run.mixture.loading });
        run.mixture.hands.iter().for_each(|window| taken(at, *window));
    }
    Shared { uses, supply: people as i64 }
}

/// Of a run, in order, the last start at which each roll with a due time is not late.
fn on_time(problem: &Problem<'_>, mixture: &Mixture) -> Vec<Seconds> {
    let takes = mixture.length + problem.day.steps.ready_after_s;
    let due = mixture.dues.iter().filter(|(due, _)| *due < Seconds::MAX);
    let mut last: Vec<Seconds> =
        due.flat_map(|(due, n)| std::iter::repeat_n(due - takes, *n)).collect();
    last.sort_unstable();
    last
}

/// The ways to keep spans after one moment apart from spans after another: two for each range of
/// distances between the moments in which any of them meet.
pub(super) fn apart(one: (usize, &[Span]), two: (usize, &[Span])) -> Vec<[Behind; 2]> {
    let mut meeting: Vec<(Seconds, Seconds)> = Vec::new();
    for first in one.1 {
        for second in two.1 {
            // The second moment lies so much behind the first where these meet, ends not counted.
            meeting.push((first.from - second.to, first.to - second.from));
        }
    }
    meeting.sort_unstable();
    let mut merged: Vec<(Seconds, Seconds)> = Vec::new();
    for (from, to) in meeting {
        match merged.last_mut() {
            Some(last) if from < last.1 => last.1 = last.1.max(to),
            _ => merged.push((from, to)),
        }
    }
    let way = |(from, to): (Seconds, Seconds)| {
        [
            Behind { from: two.0, to: one.0, after: -from },
            Behind { from: one.0, to: two.0, after: to },
        ]
    };
    merged.into_iter().map(way).collect()
}

//! Loadings and starts of a set of runs, found or ruled out.
//!
//! Decisions are taken in the order of time: to load a waiting run, at the first moment from now
//! on at which it can be (loading earlier never harms in a day in which nothing can be earlier),
//! or to start a loaded one, at any moment of the grid. What lies ahead depends only on what is
//! still going on, so a state that failed once is not looked at again.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::HashSet;

use super::{
    super::{clock::Seconds, day::Span, problem::Problem},
    Started,
    moments::{Open, PEOPLE},
    reach::Reach,
    types::Mixture,
};

/// Who does a run, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hand {
    pub(super) sink: usize,
    pub(super) person: usize,
    pub(super) loader: usize,
    pub(super) loading: Span,
}

/// A day found for a set of runs: mixture, tank and start of each, and its crew.
#[derive(Debug, Clone)]
pub(super) struct Scheduled {
    pub(super) runs: Vec<(usize, usize, Seconds)>,
    pub(super) hands: Vec<Hand>,
    pub(super) late: usize,
}

/// How far a run has come.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    Waiting,
    Loaded,
    Started,
}

/// A run on its way into the day.
pub(super) struct Course<'a> {
    pub(super) mixture: &'a Mixture,
    pub(super) at: usize,
    pub(super) tank: usize,
    pub(super) stage: Stage,
    pub(super) loader: usize,
    pub(super) loading: Span,
    pub(super) person: usize,
    pub(super) sink: usize,
    pub(super) start: Seconds,
    /// How long after its end something of the room still waits for it.
    pub(super) after: Seconds,
    /// Moments of the grid before the start at which each person could still do it, the nearest
    /// in the lowest bit.
    pub(super) open: Open,
}

impl Course<'_> {
    pub(super) fn end(&self) -> Seconds {
        self.start + self.mixture.length
    }
}

/// What is done next, and when.
#[derive(Clone, Copy)]
pub(super) struct Step {
    pub(super) time: Seconds,
    pub(super) run: usize,
    pub(super) person: usize,
    /// Nothing for a loading.
    pub(super) sink: Option<usize>,
    pub(super) at: Seconds,
}

pub(super) struct Timetable<'t, 'a, 'd> {
    pub(super) problem: &'t Problem<'d>,
    pub(super) reach: &'t Reach,
    pub(super) courses: Vec<Course<'a>>,
    pub(super) late: usize,
    pub(super) limit: usize,
    pub(super) close: Seconds,
    /// Whether liquids and hooks can never be short.
    pub(super) plenty: bool,
    pub(super) failed: HashSet<Vec<i64>>,
    /// Told after each step; answers whether to go on.
    pub(super) go_on: &'t mut dyn FnMut() -> bool,
    pub(super) ended: bool,
}

/// What a search for a timetable came to.
pub(super) enum Answer {
    Found(Scheduled),
    None,
    /// Given up before it was settled.
    Unknown,
}

impl<'t, 'a, 'd> Timetable<'t, 'a, 'd> {
    pub(super) fn new(
        problem: &'t Problem<'d>,
        reach: &'t Reach,
        runs: &[Started<'a>],
        (limit, go_on): (usize, &'t mut dyn FnMut() -> bool),
    ) -> Self {
        let day = problem.day;
        let courses: Vec<Course<'a>> = runs
            .iter()
            .map(|run| Course {
                mixture: run.mixture,
                at: run.at,
                tank: run.tank,
                stage: Stage::Waiting,
                loader: 0,
                loading: Span { from: 0, to: 0 },
                person: 0,
                sink: 0,
                start: 0,
                after: 0,
                open: [0; PEOPLE],
            })
            .collect();
        let close = day.open.last().map_or(0, |open| open.to);
        let mut table = Self {
            problem,
            reach,
            courses,
            late: 0,
            limit,
            close,
            plenty: true,
            failed: HashSet::new(),
            go_on,
            ended: false,
        };
        table.remember_afters();
        table
    }

    /// How long each run stays of interest after its end.
    fn remember_afters(&mut self) {
        let day = self.problem.day;
        let gap = day.steps.sink_gap_s.max(day.steps.tank_gap_s);
        let asked = |kind: usize| -> i64 {
            let all = self.courses.iter().flat_map(|course| &course.mixture.reels);
            all.filter(|(own, _)| *own == kind).map(|(_, n)| n).sum()
        };
        let scarce: Vec<bool> = (0..day.reels.len())
            .map(|kind| {
                let busy: i64 = day.reels[kind].busy.iter().map(|busy| busy.count).sum();
                asked(kind) + busy > day.reels[kind].owned
            })
            .collect();
        let rolls: i64 = self.courses.iter().map(|course| course.mixture.rolls as i64).sum();
        let hooks = day.hanging.as_ref().map_or(0, |hanging| {
            let busy: i64 = hanging.busy.iter().map(|busy| busy.count).sum();
            if rolls + busy > hanging.places { hanging.drying_s } else { 0 }
        });
        let wet = self.courses.iter().map(|c| c.mixture.batch.fixer_volume(self.problem, c.tank));
        let bottle = day.fixer.map_or(i64::MAX, |fixer| fixer.volume_ml.millionths());
        self.plenty = hooks == 0 && wet.sum::<i64>() <= bottle;
        for course in &mut self.courses {
            let reels = course.mixture.reels.iter().filter(|(kind, _)| scarce[*kind]);
            let dry = reels.map(|(kind, _)| day.reels[*kind].drying_s).max().unwrap_or(0);
            course.after = gap.max(hooks).max(dry);
        }
    }

    pub(super) fn find(mut self) -> Answer {
        let opening = self.problem.day.open.first().map_or(0, |open| open.from);
        let earliest = self.courses.iter().flat_map(|course| course.mixture.hands.first());
        let before = earliest.map(|window| window.from).min().unwrap_or(0).min(0);
        if self.go(opening + before) {
            return Answer::Found(self.scheduled());
        }
        if self.ended { Answer::Unknown } else { Answer::None }
    }

    fn scheduled(&self) -> Scheduled {
        let runs = self.courses.iter().map(|course| (course.at, course.tank, course.start));
        let hands = self.courses.iter().map(|course| Hand {
            sink: course.sink,
            person: course.person,
            loader: course.loader,
            loading: course.loading,
        });
        Scheduled { runs: runs.collect(), hands: hands.collect(), late: self.late }
    }

    /// Takes the decisions that are left, none before `now`.
    fn go(&mut self, now: Seconds) -> bool {
        if self.courses.iter().all(|course| course.stage == Stage::Started) {
            return true;
        }
        if self.ended || !(self.go_on)() {
            self.ended = true;
            return false;
        }
        if self.waited_for_nothing(now) || !self.still_fits(now) {
            return false;
        }
        let key = self.key(now);
        if self.failed.contains(&key) {
            return false;
        }
        let mut steps = self.steps(now);
        steps
            .sort_by_key(|step| (step.time, step.sink.is_none(), step.run, step.person, step.sink));
        for step in steps {
            let open: Vec<Open> = self.courses.iter().map(|course| course.open).collect();
            self.take(step);
            if self.late <= self.limit && self.go(step.time) {
                return true;
            }
            self.take_back(step);
            self.courses.iter_mut().zip(open).for_each(|(course, open)| course.open = open);
            if self.ended {
                return false;
            }
        }
        self.failed.insert(key);
        false
    }

    fn take(&mut self, step: Step) {
        let open = step.sink.map_or([0; PEOPLE], |sink| self.open_before(step, sink));
        let course = &mut self.courses[step.run];
        match step.sink {
            None => {
                course.stage = Stage::Loaded;
                course.loader = step.person;
                course.loading = Span { from: step.at, to: step.at + course.mixture.loading };
            }
            Some(sink) => {
                (course.stage, course.person, course.sink) = (Stage::Started, step.person, sink);
                course.start = step.at;
                course.open = open;
                self.late += self.late_at(&self.courses[step.run], step.at);
            }
        }
        self.close_moments(step);
    }

    fn take_back(&mut self, step: Step) {
        if step.sink.is_some() {
            self.late -= self.late_at(&self.courses[step.run], step.at);
        }
        let course = &mut self.courses[step.run];
        course.stage = if step.sink.is_some() { Stage::Loaded } else { Stage::Waiting };
    }

    /// How many of a run's rolls are late if it starts then.
    pub(super) fn late_at(&self, course: &Course<'_>, start: Seconds) -> usize {
        let ready = start + course.mixture.length + self.problem.day.steps.ready_after_s;
        course.mixture.dues.iter().filter(|(due, _)| *due < ready).map(|(_, n)| n).sum()
    }

    /// All that the days ahead depend on.
    fn key(&self, now: Seconds) -> Vec<i64> {
        let mut key = vec![now, self.late as i64];
        for course in &self.courses {
            match course.stage {
                Stage::Waiting => key.push(0),
                Stage::Loaded if course.loading.to > now => {
                    key.extend([1, course.loader as i64, course.loading.to]);
                }
                Stage::Loaded => key.push(2),
                Stage::Started if course.end() + course.after > now => {
                    key.extend([3, course.start, course.person as i64, course.sink as i64]);
                    key.extend(course.open.map(|open| open as i64));
                }
                Stage::Started => key.push(4),
            }
        }
        key
    }

    fn steps(&self, now: Seconds) -> Vec<Step> {
        let mut steps = Vec::new();
        let people = self.problem.day.people.len();
        for run in 0..self.courses.len() {
            if self.like_one_before(run) {
                continue;
            }
            match self.courses[run].stage {
                Stage::Waiting => {
                    let Some(free) = self.tank_free(run) else { continue };
                    for person in (0..people).filter(|person| !self.person_like_before(*person)) {
                        if let Some(at) = self.first_loading(run, person, now.max(free)) {
                            steps.push(Step { time: at, run, person, sink: None, at });
                        }
                    }
                }
                Stage::Loaded => {
                    for person in (0..people).filter(|person| !self.person_like_before(*person)) {
                        self.starts(run, person, now, &mut steps);
                    }
                }
                Stage::Started => {}
            }
        }
        steps
    }
}

//! Waiting for nothing: a start that could be earlier, whatever is still to come, need not be
//! looked at, because the day in which it is earlier is looked at as well.
//!
//! A run may have to wait for what is decided later, a loading in the gap of its hands, say. So
//! the earlier moments of each start are remembered, and taken away as later decisions meet them.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{clock::Seconds, day::Span},
    timetable::{Course, Stage, Step, Timetable},
};

/// Moments of the grid before a start, the nearest in the lowest bit, for each of the first people.
pub(super) type Open = [u64; PEOPLE];

/// People for whom earlier moments are remembered.
pub(super) const PEOPLE: usize = 3;
/// Earlier moments that are remembered.
const MOMENTS: Seconds = 64;

impl Timetable<'_, '_, '_> {
    /// Moments before a start at which it would be possible as well.
    pub(super) fn open_before(&self, step: Step, sink: usize) -> Open {
        let (mut open, grid) = ([0; PEOPLE], self.problem.day.rules.grid_s);
        if !self.plenty {
            return open;
        }
        let people = self.problem.day.people.len();
        for back in 1..=MOMENTS {
            let start = step.at - back * grid;
            if start < self.courses[step.run].loading.to {
                break;
            }
            if !self.sink_fits(step.run, sink, start) {
                continue;
            }
            for (person, moments) in open.iter_mut().enumerate().take(people) {
                if self.start_fits(step.run, person, start) {
                    *moments |= 1 << (back - 1);
                }
            }
        }
        open
    }

    /// Takes away the moments that the last step makes impossible.
    pub(super) fn close_moments(&mut self, step: Step) {
        let grid = self.problem.day.rules.grid_s;
        let new = &self.courses[step.run];
        let (mixture, start, loading) = (new.mixture, new.start, new.loading);
        let bath = self.problem.day.developers[mixture.developer].bath.is_some();
        for (at, course) in self.courses.iter_mut().enumerate() {
            if at == step.run || course.stage != Stage::Started {
                continue;
            }
            let own = course.mixture;
            let met = |back: Seconds, span: Span| {
                let start = course.start - back * grid;
                own.hands.iter().any(|window| window.after(start).meets(span))
            };
            let developing = |back: Seconds| {
                let start_of = course.start - back * grid;
                own.developing.after(start_of).meets(mixture.developing.after(start))
            };
            for (person, moments) in course.open.iter_mut().enumerate() {
                let before = *moments;
                for back in (1..=MOMENTS).filter(|back| before & (1 << (back - 1)) > 0) {
                    let closed = if step.sink.is_none() {
                        person == step.person && met(back, loading)
                    } else {
                        let shared = bath && own.developer == mixture.developer;
                        let mut windows = mixture.hands.iter().map(|window| window.after(start));
                        (person == step.person || shared) && developing(back)
                            || person == step.person && windows.any(|window| met(back, window))
                    };
                    if closed {
                        *moments &= !(1 << (back - 1));
                    }
                }
            }
        }
    }

    /// Whether a run could have been earlier, whatever is still to come: then it is, in another
    /// branch.
    pub(super) fn waited_for_nothing(&self, now: Seconds) -> bool {
        let grid = self.problem.day.rules.grid_s;
        let idle = |course: &Course<'_>| {
            let most = course.open.iter().map(|open| 64 - i64::from(open.leading_zeros())).max();
            most.is_some_and(|most| most > 0 && course.end() - most * grid <= now)
        };
        self.courses.iter().any(|course| course.stage == Stage::Started && idle(course))
    }
}

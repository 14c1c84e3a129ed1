//! What the room allows a run of a timetable beside the runs that have their moments.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        clock::Seconds,
        day::Span,
        room::{EVER, outside},
    },
    fits,
    timetable::{Course, Stage, Step, Timetable},
    types::Mixture,
};

impl Timetable<'_, '_, '_> {
    /// Whether an equal run in the same tank waits as well and comes before.
    pub(super) fn like_one_before(&self, run: usize) -> bool {
        let own = &self.courses[run];
        let same = |other: &Course<'_>| {
            (other.at, other.tank, other.stage) == (own.at, own.tank, own.stage)
        };
        own.stage == Stage::Waiting && self.courses[..run].iter().any(same)
    }

    /// Whether somebody with the same hours has not worked either and comes before.
    pub(super) fn person_like_before(&self, person: usize) -> bool {
        let people = &self.problem.day.people;
        let idle = |person: usize| {
            self.courses.iter().all(|course| match course.stage {
                Stage::Waiting => true,
                Stage::Loaded => course.loader != person,
                Stage::Started => course.loader != person && course.person != person,
            })
        };
        let same = |other: usize| {
            people[other].hours == people[person].hours
                && people[other].tanks_at_once == people[person].tanks_at_once
        };
        idle(person) && (0..person).any(|other| idle(other) && same(other))
    }

    /// When the run's tank is free for its loading; nothing while another one is in it.
    pub(super) fn tank_free(&self, run: usize) -> Option<Seconds> {
        let own = &self.courses[run];
        let mut free = own.mixture.ready;
        for course in self.courses.iter().filter(|course| course.tank == own.tank) {
            match course.stage {
                Stage::Waiting => {}
                Stage::Loaded => return None,
                Stage::Started => {
                    free = free.max(course.end() + self.problem.day.steps.tank_gap_s);
                }
            }
        }
        Some(free)
    }

    pub(super) fn first_loading(&self, run: usize, person: usize, now: Seconds) -> Option<Seconds> {
        let (course, day) = (&self.courses[run], self.problem.day);
        let (length, rest) = (course.mixture.loading, course.mixture.length);
        let mut from = now;
        while from + length + rest <= self.close {
            let span = Span { from, to: from + length };
            let held = Span { from, to: span.to + rest };
            let busy = day.tanks[course.tank].busy.iter().find(|busy| busy.meets(held));
            let blocked = outside(&day.open, span)
                .or_else(|| outside(&day.people[person].hours, span))
                .or_else(|| busy.map(|busy| busy.to))
                .or_else(|| self.hands_taken(person, span))
                .or_else(|| self.places_taken(span))
                .or_else(|| self.reels_taken(run, held));
            match blocked {
                None => return Some(from),
                Some(next) => from = next.max(from + 1),
            }
        }
        None
    }

    /// The end of what keeps a person from a span, if anything does.
    pub(super) fn hands_taken(&self, person: usize, span: Span) -> Option<Seconds> {
        let mut until: Option<Seconds> = None;
        for course in self.courses.iter().filter(|course| course.stage != Stage::Waiting) {
            if course.loader == person && course.loading.meets(span) {
                until = until.max(Some(course.loading.to));
            }
            if course.stage == Stage::Started && course.person == person {
                let windows = course.mixture.hands.iter().map(|own| own.after(course.start));
                until = until.max(windows.filter(|own| own.meets(span)).map(|own| own.to).max());
            }
        }
        until
    }

    pub(super) fn places_taken(&self, span: Span) -> Option<Seconds> {
        let others = self.courses.iter().filter(|course| course.stage != Stage::Waiting);
        let busy = self.problem.day.loading_busy.iter().map(|busy| (busy.span, busy.count));
        let all = others.map(|course| (course.loading, 1)).chain(busy);
        let all = all.filter(|(other, _)| other.meets(span));
        let first_end = all.clone().map(|(other, _)| other.to).min()?;
        (!fits((span, 1), all, self.problem.day.loading_places)).then_some(first_end)
    }

    /// When a reel is dry if there are not enough of them for a run held so at least.
    pub(super) fn reels_taken(&self, run: usize, held: Span) -> Option<Seconds> {
        let day = self.problem.day;
        self.courses[run].mixture.reels.iter().find_map(|(kind, count)| {
            let dry = day.reels[*kind].drying_s;
            let span = Span { from: held.from, to: held.to + dry };
            let others = self.courses.iter().enumerate().filter_map(|(other, course)| {
                let mut reels = course.mixture.reels.iter();
                let (_, count) = reels.find(|(own, _)| own == kind)?;
                let to = match course.stage {
                    _ if other == run => return None,
                    Stage::Waiting => return None,
                    Stage::Loaded => EVER,
                    Stage::Started => course.end() + dry,
                };
                Some((Span { from: course.loading.from, to }, *count))
            });
            let busy = day.reels[*kind].busy.iter().map(|busy| (busy.span, busy.count));
            let all = others.chain(busy);
            if fits((span, *count), all.clone(), day.reels[*kind].owned) {
                return None;
            }
            let ends = all.filter(|(other, _)| other.meets(span)).map(|(other, _)| other.to);
            ends.min().or(Some(EVER))
        })
    }

    /// Every start of a loaded run by a person, at each sink that differs.
    pub(super) fn starts(&self, run: usize, person: usize, now: Seconds, steps: &mut Vec<Step>) {
        let (course, grid) = (&self.courses[run], self.problem.day.rules.grid_s);
        let before = course.mixture.hands.first().map_or(0, |window| window.from.min(0));
        let from = course.loading.to.max(now - before);
        let mut start = (from + grid - 1).div_euclid(grid) * grid;
        let last = self.courses.iter().filter(|course| course.stage != Stage::Started).count() == 1;
        while start + course.mixture.length <= self.close && self.still_fits(start + before) {
            let sinks = 0..self.problem.day.sinks.len();
            let sinks = sinks.filter(|sink| !self.sink_like_before(*sink, start));
            let mut allowed = false;
            if self.start_fits(run, person, start) {
                for sink in sinks.filter(|sink| self.sink_fits(run, *sink, start)) {
                    steps.push(Step {
                        time: start + before,
                        run,
                        person,
                        sink: Some(sink),
                        at: start,
                    });
                    allowed = true;
                }
            }
            if allowed && last {
                break;
            }
            start += grid;
        }
    }

    /// Whether a sink before is as free and as busy.
    pub(super) fn sink_like_before(&self, sink: usize, start: Seconds) -> bool {
        let sinks = &self.problem.day.sinks;
        let gap = self.problem.day.steps.sink_gap_s;
        let taken = |sink: usize| {
            let own = self.courses.iter().filter(|course| course.stage == Stage::Started);
            own.filter(|course| course.sink == sink && course.end() + gap > start).count()
        };
        let same = |other: usize| {
            sinks[other].busy == sinks[sink].busy && sinks[other].places == sinks[sink].places
        };
        taken(sink) == 0 && (0..sink).any(|other| same(other) && taken(other) == 0)
    }

    pub(super) fn sink_fits(&self, run: usize, sink: usize, start: Seconds) -> bool {
        let (gap, of) = (self.problem.day.steps.sink_gap_s, &self.problem.day.sinks[sink]);
        let span = Span { from: start, to: start + self.courses[run].mixture.length + gap };
        let others = self
            .courses
            .iter()
            .filter(|course| course.stage == Stage::Started && course.sink == sink)
            .map(|course| (Span { from: course.start, to: course.end() + gap }, 1));
        !of.busy.iter().any(|busy| busy.meets(span)) && fits((span, 1), others, of.places)
    }

    /// Everything that a start takes but the sink.
    pub(super) fn start_fits(&self, run: usize, person: usize, start: Seconds) -> bool {
        let (course, day) = (&self.courses[run], self.problem.day);
        let mixture = course.mixture;
        let end = start + mixture.length;
        let tank = Span { from: course.loading.from, to: end + day.steps.tank_gap_s };
        let held = Span { from: course.loading.from, to: end };
        day.open.iter().any(|open| open.from <= start && end <= open.to)
            && self.late + self.late_at(course, start) <= self.limit
            && !day.tanks[course.tank].busy.iter().any(|busy| busy.meets(tank))
            && self.person_fits(mixture, person, start)
            && self.reels_taken(run, held).is_none()
            && self.liquids_and_hooks_fit(run, start)
    }

    pub(super) fn person_fits(&self, mixture: &Mixture, person: usize, start: Seconds) -> bool {
        let of = &self.problem.day.people[person];
        let free = |window: &Span| {
            let span = window.after(start);
            outside(&of.hours, span).is_none() && self.hands_taken(person, span).is_none()
        };
        let own = self.courses.iter().filter(|course| course.stage == Stage::Started);
        let developing = own
            .filter(|course| course.person == person)
            .map(|course| (course.mixture.developing.after(course.start), 1));
        mixture.hands.iter().all(free)
            && fits((mixture.developing.after(start), 1), developing, of.tanks_at_once)
    }

    /// The hooks, the fixer bottle and the bath, beside the runs so far.
    pub(super) fn liquids_and_hooks_fit(&self, run: usize, start: Seconds) -> bool {
        let (day, own) = (self.problem.day, &self.courses[run]);
        let started = || self.courses.iter().filter(|course| course.stage == Stage::Started);
        let developer = own.mixture.developer;
        if day.developers[developer].bath.is_some() {
            let same = started().filter(|course| course.mixture.developer == developer);
            let others = same.map(|course| (course.mixture.developing.after(course.start), 1));
            if !fits((own.mixture.developing.after(start), 1), others, 1) {
                return false;
            }
        }
        let hooks = day.hanging.as_ref().is_none_or(|hanging| {
            let hung = |start: Seconds, mixture: &Mixture| {
                let end = start + mixture.length;
                (Span { from: end, to: end + hanging.drying_s }, mixture.rolls as i64)
            };
            let busy = hanging.busy.iter().map(|busy| (busy.span, busy.count));
            let others = started().map(|course| hung(course.start, course.mixture));
            fits(hung(start, own.mixture), others.chain(busy), hanging.places)
        });
        hooks
            && day.fixer.is_none_or(|fixer| {
                let wet = |start: Seconds, course: &Course<'_>| {
                    let volume = course.mixture.batch.fixer_volume(self.problem, course.tank);
                    (course.mixture.fixing.after(start), volume)
                };
                let others = started().map(|course| wet(course.start, course));
                fits(wet(start, own), others, fixer.volume_ml.millionths())
            })
    }
}

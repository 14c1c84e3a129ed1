//! Whether a timetable begun so can still end before closing.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{clock::Seconds, day::Span, room::EVER},
    Started,
    timetable::{Stage, Timetable},
};

impl<'a> Timetable<'_, 'a, '_> {
    /// Whether what has not started could still end before closing, nothing of it before `now`.
    pub(super) fn still_fits(&self, now: Seconds) -> bool {
        self.tanks_still_fit(now)
            && self.reels_still_fit(now)
            && self.sinks_still_fit(now)
            && self.hands_still_fit(now)
    }

    fn tanks_still_fit(&self, now: Seconds) -> bool {
        let gap = self.problem.day.steps.tank_gap_s;
        let mut late = self.late;
        for tank in 0..self.problem.day.tanks.len() {
            let own = || self.courses.iter().filter(|course| course.tank == tank);
            let (mut free, mut first, mut all) = (now, EVER, 0);
            for course in own() {
                match course.stage {
                    Stage::Waiting => {
                        all += course.mixture.loading + course.mixture.length + gap;
                    }
                    Stage::Loaded => {
                        first = now.max(course.loading.to) + course.mixture.length + gap;
                        late += self.late_at(course, now.max(course.loading.to));
                    }
                    Stage::Started => free = free.max(course.end() + gap),
                }
            }
            let free = if first < EVER { first } else { free };
            if all > 0 && free + all - gap > self.close || first < EVER && first - gap > self.close
            {
                return false;
            }
            for course in own().filter(|course| course.stage == Stage::Waiting) {
                let start = free.max(course.mixture.ready) + course.mixture.loading;
                if start + course.mixture.length > self.close {
                    return false;
                }
                late += self.late_at(course, start);
            }
        }
        late <= self.limit
    }

    fn reels_still_fit(&self, now: Seconds) -> bool {
        let started: Vec<Started<'a>> = self
            .courses
            .iter()
            .filter(|course| course.stage == Stage::Started)
            .map(|course| Started {
                mixture: course.mixture,
                at: course.at,
                tank: course.tank,
                start: course.start,
            })
            .collect();
        (0..self.problem.day.reels.len()).all(|kind| {
            let open = self.courses.iter().filter(|course| course.stage != Stage::Started);
            let own = open.flat_map(|course| &course.mixture.reels);
            let asked: i64 = own.filter(|(other, _)| *other == kind).map(|(_, n)| n).sum();
            asked <= self.reach.reels_go_round(self.problem, &started, kind, now) as i64
        })
    }

    fn sinks_still_fit(&self, now: Seconds) -> bool {
        let (day, gap) = (self.problem.day, self.problem.day.steps.sink_gap_s);
        let places: Seconds = day.sinks.iter().map(|sink| sink.places).sum();
        let (mut active, mut work) = (0, 0);
        for course in &self.courses {
            match course.stage {
                Stage::Started => active += (course.end() + gap - now).max(0),
                _ => work += course.mixture.length + gap,
            }
        }
        work + active <= places * (self.close + gap - now).max(0)
    }

    /// Hands and loadings that are still to come, and the hours of all people from now on.
    fn hands_still_fit(&self, now: Seconds) -> bool {
        let day = self.problem.day;
        let hours = day.people.iter().flat_map(|person| &person.hours);
        let after = self.courses.iter().map(|course| course.mixture.hands_after()).max();
        let last = self.close + after.unwrap_or(0);
        let supply: Seconds =
            hours.map(|span| (span.to.min(last) - span.from.max(now)).max(0)).sum();
        let after = |span: Span| (span.to - span.from.max(now)).max(0);
        let work: Seconds = self
            .courses
            .iter()
            .map(|course| {
                let hands = course.mixture.hands.iter();
                match course.stage {
                    Stage::Waiting => {
                        course.mixture.loading + hands.map(|own| own.to - own.from).sum::<Seconds>()
                    }
                    Stage::Loaded => {
                        after(course.loading) + hands.map(|own| own.to - own.from).sum::<Seconds>()
                    }
                    Stage::Started => hands.map(|own| after(own.after(course.start))).sum(),
                }
            })
            .sum();
        work <= supply
    }
}

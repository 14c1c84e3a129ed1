//! The room over the day: everything that can be taken, and by what it is taken.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    clock::Seconds,
    day::{Span, Taken},
    placing::{Phases, Placed},
    problem::Problem,
};

/// Before any moment and after any moment of a day.
pub(super) const EVER: Seconds = 1 << 40;

const ALWAYS: Span = Span { from: -EVER, to: EVER };

/// Something of which only so much can be taken at once.
#[derive(Debug, Clone, Default)]
pub(super) struct Supply {
    capacity: i64,
    /// How much is taken from each moment on until the next; nothing before the first.
    levels: Vec<(Seconds, i64)>,
    /// What is held since before the day, for a release that comes later.
    held: Vec<i64>,
    last_end: Option<Seconds>,
}

impl Supply {
    fn new(capacity: i64, taken: impl Iterator<Item = Taken>) -> Self {
        let mut supply = Self { capacity, ..Self::default() };
        taken.for_each(|taken| supply.take(taken.span, taken.count));
        supply
    }

    fn closed(capacity: i64, spans: &[Span]) -> Self {
        let all = |span: &Span| Taken { span: *span, count: capacity };
        Self::new(capacity, spans.iter().map(all))
    }

    /// The parts of a span in which more than `most` is taken, in order.
    fn over(&self, span: Span, most: i64) -> impl DoubleEndedIterator<Item = Span> + '_ {
        let first = self.levels.partition_point(|(from, _)| *from <= span.from);
        let end = first + self.levels[first..].partition_point(|(from, _)| *from < span.to);
        (first..=end).filter_map(move |after| {
            let (from, level) = match after.checked_sub(1) {
                Some(at) => self.levels[at],
                None => (-EVER, 0),
            };
            let to = self.levels.get(after).map_or(EVER, |(from, _)| *from);
            (level > most).then_some(Span { from, to })
        })
    }

    /// Nothing if `count` are free all through the span; else the first moment at which a span
    /// of that length might begin instead.
    pub(super) fn blocked(&self, span: Span, count: i64) -> Option<Seconds> {
        if span.from >= span.to || count == 0 {
            return None;
        }
        self.over(span, self.capacity - count).next_back().map(|over| over.to)
    }

    /// The same going back in time: the moment by which the span would have to end instead.
    pub(super) fn blocked_back(&self, span: Span, count: i64) -> Option<Seconds> {
        if span.from >= span.to || count == 0 {
            return None;
        }
        self.over(span, self.capacity - count).next().map(|over| over.from)
    }

    pub(super) fn take(&mut self, span: Span, count: i64) {
        if span.from >= span.to || count <= 0 {
            return;
        }
        if span == ALWAYS {
            self.held.push(count);
        }
        if span.to < EVER {
            self.last_end = self.last_end.max(Some(span.to));
        }
        self.add(span, count);
    }

    fn add(&mut self, span: Span, count: i64) {
        let first = self.edge(span.from);
        let end = self.edge(span.to);
        self.levels[first..end].iter_mut().for_each(|(_, level)| *level += count);
    }

    /// Where the level may change at a moment; made if it is not there.
    fn edge(&mut self, moment: Seconds) -> usize {
        let at = self.levels.partition_point(|(from, _)| *from < moment);
        if self.levels.get(at).is_none_or(|(from, _)| *from != moment) {
            let level = at.checked_sub(1).map_or(0, |before| self.levels[before].1);
            self.levels.insert(at, (moment, level));
        }
        at
    }

    /// Ends one of the holds that began before the day.
    fn release(&mut self, count: i64, at: Seconds) {
        let Some(held) = self.held.iter().position(|held| *held == count) else { return };
        self.held.remove(held);
        self.last_end = self.last_end.max(Some(at));
        self.add(Span { from: at, to: EVER }, -count);
    }

    /// The same supply as if there were plenty of it.
    pub(super) fn plenty(&mut self) {
        self.capacity = i64::MAX / 4;
    }

    /// When the last use that ends at all ends.
    pub(super) fn last_end(&self) -> Option<Seconds> {
        self.last_end
    }
}

/// Where an interval must lie inside one opening; nothing if it does, else where it might begin.
pub(super) fn outside(hours: &[Span], span: Span) -> Option<Seconds> {
    if span.from >= span.to {
        return None;
    }
    let ahead = hours.iter().find(|open| open.to > span.from);
    match ahead {
        None => Some(EVER),
        Some(open) if open.from > span.from => Some(open.from),
        Some(open) if open.to >= span.to => None,
        Some(open) => {
            Some(hours.iter().find(|later| later.from >= open.to).map_or(EVER, |o| o.from))
        }
    }
}

/// All supplies of the day.
#[derive(Debug, Clone)]
pub(super) struct Room {
    pub(super) tanks: Vec<Supply>,
    pub(super) sinks: Vec<Supply>,
    pub(super) hands: Vec<Supply>,
    pub(super) developing: Vec<Supply>,
    pub(super) loading: Supply,
    pub(super) reels: Vec<Supply>,
    pub(super) hanging: Option<Supply>,
    /// In millionths of a millilitre.
    pub(super) fixer: Option<Supply>,
    pub(super) baths: Vec<Supply>,
}

impl Room {
    /// The room before any run; preloaded tanks and their reels are held until their run ends.
    pub(super) fn empty(problem: &Problem<'_>) -> Self {
        let day = problem.day;
        let mut room = Self {
            tanks: day.tanks.iter().map(|tank| Supply::closed(1, &tank.busy)).collect(),
            sinks: day.sinks.iter().map(|sink| Supply::closed(sink.places, &sink.busy)).collect(),
            hands: day.people.iter().map(|_| Supply::closed(1, &[])).collect(),
            developing: day
                .people
                .iter()
                .map(|person| Supply::closed(person.tanks_at_once, &[]))
                .collect(),
            loading: Supply::new(day.loading_places, day.loading_busy.iter().copied()),
            reels: day
                .reels
                .iter()
                .map(|reel| Supply::new(reel.owned, reel.busy.iter().copied()))
                .collect(),
            hanging: day
                .hanging
                .as_ref()
                .map(|hanging| Supply::new(hanging.places, hanging.busy.iter().copied())),
            fixer: day.fixer.map(|fixer| Supply::closed(fixer.volume_ml.millionths(), &[])),
            baths: day.developers.iter().map(|_| Supply::closed(1, &[])).collect(),
        };
        for (tank, place) in day.tanks.iter().zip(0..) {
            if !tank.preloaded.is_empty() {
                room.tanks[place].take(ALWAYS, 1);
            }
            for roll in &tank.preloaded {
                let item = &problem.items[*roll];
                room.reels[item.reel].take(ALWAYS, item.reels);
            }
        }
        room
    }

    /// Books everything that a run takes.
    pub(super) fn book(&mut self, problem: &Problem<'_>, placed: &Placed) {
        let (day, start) = (problem.day, placed.start);
        self.book_tank_and_reels(problem, placed);
        let sink = Span { from: start, to: placed.end + day.steps.sink_gap_s };
        self.sinks[placed.sink].take(sink, 1);
        let phases = Phases::of(problem, &placed.batch);
        for window in &phases.hands {
            self.hands[placed.person].take(window.after(start), 1);
        }
        let developing = Span { from: phases.poured, to: phases.developed }.after(start);
        self.developing[placed.person].take(developing, 1);
        let bath = problem.families[placed.batch.family].developer;
        if day.developers[bath].bath.is_some() {
            self.baths[bath].take(developing, 1);
        }
        if let Some(fixer) = &mut self.fixer {
            fixer.take(phases.fixing.after(start), placed.batch.fixer_volume(problem, placed.tank));
        }
        if let (Some(hanging), Some(rule)) = (&mut self.hanging, &day.hanging) {
            let span = Span { from: placed.end, to: placed.end + rule.drying_s };
            hanging.take(span, placed.batch.load.rolls);
        }
        if let Some((loader, span)) = placed.loading {
            self.hands[loader].take(span, 1);
            self.loading.take(span, 1);
        }
    }

    fn book_tank_and_reels(&mut self, problem: &Problem<'_>, placed: &Placed) {
        let day = problem.day;
        let freed = placed.end + day.steps.tank_gap_s;
        let dry = |kind: usize| placed.end + day.reels[kind].drying_s;
        let Some((_, loading)) = placed.loading else {
            self.tanks[placed.tank].release(1, freed);
            for roll in &placed.batch.rolls {
                let item = &problem.items[*roll];
                self.reels[item.reel].release(item.reels, dry(item.reel));
            }
            return;
        };
        self.tanks[placed.tank].take(Span { from: loading.from, to: freed }, 1);
        for (kind, count) in placed.batch.reels(problem) {
            self.reels[kind].take(Span { from: loading.from, to: dry(kind) }, count);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_supply_says_when_to_try_again() {
        let mut supply = Supply::closed(2, &[Span { from: 100, to: 200 }]);
        supply.take(Span { from: 50, to: 150 }, 1);
        assert_eq!(supply.blocked(Span { from: 0, to: 100 }, 1), None);
        assert_eq!(supply.blocked(Span { from: 0, to: 101 }, 1), Some(150));
        assert_eq!(supply.blocked_back(Span { from: 60, to: 170 }, 1), Some(100));
        assert_eq!(supply.blocked_back(Span { from: 60, to: 170 }, 2), Some(50));
        assert_eq!(supply.last_end(), Some(200));
        assert_eq!(supply.blocked(Span { from: 150, to: 160 }, 1), Some(200));
        assert_eq!(supply.blocked(Span { from: 200, to: 300 }, 2), None);
        assert_eq!(supply.blocked(Span { from: 200, to: 300 }, 3), Some(EVER));
    }

    #[test]
    fn hours_say_where_an_interval_might_begin() {
        let hours = [Span { from: 10, to: 20 }, Span { from: 30, to: 50 }];
        assert_eq!(outside(&hours, Span { from: 12, to: 20 }), None);
        assert_eq!(outside(&hours, Span { from: 12, to: 21 }), Some(30));
        assert_eq!(outside(&hours, Span { from: 5, to: 9 }), Some(10));
        assert_eq!(outside(&hours, Span { from: 45, to: 51 }), Some(EVER));
    }
}

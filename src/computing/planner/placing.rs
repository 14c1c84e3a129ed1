//! Finds the first moment at which a run can happen in the room, and with whose hands.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    clock::Seconds,
    day::Span,
    problem::{Load, Problem},
    room::{EVER, Room, outside},
};

/// A run without its place in the day: its rolls, bottom first, and what follows from them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Batch {
    pub(super) rolls: Vec<usize>,
    pub(super) family: usize,
    pub(super) load: Load,
    pub(super) time: Seconds,
    /// Tanks that may hold it with the cost there, cheapest first.
    pub(super) tanks: Vec<(i128, usize)>,
    pub(super) preloaded: Option<usize>,
}

/// A run with its place in the day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Placed {
    pub(super) batch: Batch,
    pub(super) tank: usize,
    pub(super) cost: i128,
    pub(super) sink: usize,
    pub(super) person: usize,
    /// Who loads, from when to when.
    pub(super) loading: Option<(usize, Span)>,
    pub(super) start: Seconds,
    pub(super) end: Seconds,
}

/// Moments of a run counted from its start.
pub(super) struct Phases {
    pub(super) poured: Seconds,
    pub(super) developed: Seconds,
    pub(super) fixing: Span,
    pub(super) end: Seconds,
    /// Merged, in order.
    pub(super) hands: Vec<Span>,
}

impl Phases {
    pub(super) fn of(problem: &Problem<'_>, batch: &Batch) -> Self {
        let (steps, hands) = (&problem.day.steps, &problem.day.hands);
        let poured = problem.families[batch.family].pre_soak;
        let developed = poured + batch.time;
        let fixing =
            Span { from: developed + steps.stop_s, to: developed + steps.stop_s + steps.fix_s };
        let hang = steps.hang_s_per_roll * batch.load.rolls;
        let washed = fixing.to + steps.rinse_s + steps.wash_aid_s + steps.wash_s + steps.wetting_s;
        let windows = [
            (poured - hands.before_pour_s, poured + hands.after_pour_s),
            (developed - hands.before_end_s, fixing.from + hands.after_fix_s),
            (fixing.to - hands.before_end_s, fixing.to + hands.after_fix_s),
            (washed, washed + hang),
        ];
        let windows = windows.into_iter().filter(|(from, to)| from < to);
        let mut hands: Vec<Span> = Vec::with_capacity(4);
        for (from, to) in windows {
            match hands.last_mut() {
                Some(last) if from < last.to => last.to = last.to.max(to),
                _ => hands.push(Span { from, to }),
            }
        }
        Self { poured, developed, fixing, end: washed + hang, hands }
    }
}

impl Span {
    pub(super) fn after(self, start: Seconds) -> Self {
        Self { from: self.from + start, to: self.to + start }
    }
}

impl Batch {
    /// How many reels of each kind.
    pub(super) fn reels(&self, problem: &Problem<'_>) -> Vec<(usize, i64)> {
        let mut reels: Vec<(usize, i64)> = Vec::with_capacity(2);
        for roll in &self.rolls {
            let item = &problem.items[*roll];
            match reels.iter_mut().find(|(kind, _)| *kind == item.reel) {
                Some((_, count)) => *count += item.reels,
                None => reels.push((item.reel, item.reels)),
            }
        }
        reels
    }

    /// The fixer its tank takes, in millionths of a millilitre.
    pub(super) fn fixer_volume(&self, problem: &Problem<'_>, tank: usize) -> i64 {
        let volume = problem.day.tanks[tank].base_ml.wide() + self.load.asked.cover;
        i64::try_from(volume).unwrap_or(i64::MAX / 2)
    }
}

/// One try: this batch in this tank with this person's hands.
pub(super) struct Attempt<'a, 'd> {
    pub(super) problem: &'a Problem<'d>,
    pub(super) room: &'a Room,
    pub(super) batch: &'a Batch,
    pub(super) phases: &'a Phases,
    pub(super) tank: usize,
    pub(super) person: usize,
}

impl Attempt<'_, '_> {
    #[expect(
        clippy::type_complexity,
        reason = "the start, the person, and the loading with its loader"
    )]
    /// The first start from `from` on and before `limit`, with sink and loading.
    pub(super) fn first(
        &self,
        from: Seconds,
        limit: Seconds,
    ) -> Option<(Seconds, usize, Option<(usize, Span)>)> {
        let grid = self.problem.day.rules.grid_s;
        let ready = self.ready();
        let earliest =
            if self.batch.preloaded.is_some() { ready } else { ready + self.loading_s() };
        let mut start = up(from.max(earliest), grid);
        while start < limit.min(EVER) {
            let next = match self.blocked(start) {
                Some(next) => next,
                None => match self.loading(start) {
                    Ok(loading) => return Some((start, self.sink(start)?, loading)),
                    Err(next) => next,
                },
            };
            start = up(next.max(start + 1), grid);
        }
        None
    }

    fn ready(&self) -> Seconds {
        let rolls = self.batch.rolls.iter().map(|roll| self.problem.items[*roll].ready);
        rolls.max().unwrap_or(0)
    }

    pub(super) fn loading_s(&self) -> Seconds {
        let rolls = self.batch.rolls.iter().map(|roll| self.problem.items[*roll].loading);
        self.problem.day.loading_per_tank_s + rolls.sum::<Seconds>()
    }

    /// Everything but the loading; nothing if free, else where to try again.
    fn blocked(&self, start: Seconds) -> Option<Seconds> {
        let (day, room, phases) = (self.problem.day, self.room, self.phases);
        let person = &day.people[self.person];
        outside(&day.open, Span { from: start, to: start + phases.end })
            .or_else(|| {
                let loads = self.batch.preloaded.is_none();
                let length = if loads { self.loading_s() } else { 0 };
                self.tank_and_reels(start - length, start).map(|until| until + length)
            })
            .or_else(|| {
                phases.hands.iter().find_map(|window| {
                    let span = window.after(start);
                    outside(&person.hours, span)
                        .or_else(|| room.hands[self.person].blocked(span, 1))
                        .map(|until| until - window.from)
                })
            })
            .or_else(|| {
                let developing = Span { from: phases.poured, to: phases.developed }.after(start);
                let bath = self.problem.families[self.batch.family].developer;
                let shared = day.developers[bath].bath.is_some();
                room.developing[self.person]
                    .blocked(developing, 1)
                    .or_else(|| shared.then(|| room.baths[bath].blocked(developing, 1)).flatten())
                    .map(|until| until - phases.poured)
            })
            .or_else(|| {
                let fixer = room.fixer.as_ref()?;
                fixer
                    .blocked(
                        phases.fixing.after(start),
                        self.batch.fixer_volume(self.problem, self.tank),
                    )
                    .map(|until| until - phases.fixing.from)
            })
            .or_else(|| {
                let (hanging, rule) = (room.hanging.as_ref()?, day.hanging.as_ref()?);
                let end = start + phases.end;
                let span = Span { from: end, to: end + rule.drying_s };
                hanging.blocked(span, self.batch.load.rolls).map(|until| until - phases.end)
            })
            .or_else(|| self.no_sink(start))
    }

    /// Whether tank and reels are taken between the loading and when they are free again.
    fn tank_and_reels(&self, from: Seconds, start: Seconds) -> Option<Seconds> {
        let end = start + self.phases.end;
        if self.batch.preloaded.is_some() {
            let mut busy = self.problem.day.tanks[self.tank].busy.iter();
            let held = Span { from: start, to: end + self.problem.day.steps.tank_gap_s };
            return busy.find(|busy| busy.meets(held)).map(|busy| busy.to);
        }
        let tank = Span { from, to: end + self.problem.day.steps.tank_gap_s };
        self.room.tanks[self.tank].blocked(tank, 1).or_else(|| {
            self.batch.reels(self.problem).into_iter().find_map(|(kind, count)| {
                let to = end + self.problem.day.reels[kind].drying_s;
                self.room.reels[kind].blocked(Span { from, to }, count)
            })
        })
    }

    fn at_sink(&self, start: Seconds) -> Span {
        Span { from: start, to: start + self.phases.end + self.problem.day.steps.sink_gap_s }
    }

    fn sink(&self, start: Seconds) -> Option<usize> {
        let span = self.at_sink(start);
        self.room.sinks.iter().position(|sink| sink.blocked(span, 1).is_none())
    }

    fn no_sink(&self, start: Seconds) -> Option<Seconds> {
        let span = self.at_sink(start);
        let mut first = EVER;
        for sink in &self.room.sinks {
            first = first.min(sink.blocked(span, 1)?);
        }
        Some(first)
    }

    /// The latest loading before the start, or where to try again.
    fn loading(&self, start: Seconds) -> Result<Option<(usize, Span)>, Seconds> {
        if self.batch.preloaded.is_some() {
            return Ok(None);
        }
        let (length, ready) = (self.loading_s(), self.ready());
        let mut best: Option<(usize, Span)> = None;
        for loader in 0..self.problem.day.people.len() {
            let mut from = start - length;
            while from >= ready && best.is_none_or(|(_, best)| best.from < from) {
                let span = Span { from, to: from + length };
                match self.no_loading(loader, span, start) {
                    None => best = Some((loader, span)),
                    Some(before) => from = before - length,
                }
            }
        }
        best.map(Some).ok_or(start + 1)
    }

    /// Why not load then: the moment by which it would have to end instead.
    fn no_loading(&self, loader: usize, span: Span, start: Seconds) -> Option<Seconds> {
        let (day, room) = (self.problem.day, self.room);
        if self.tank_and_reels(span.from, start).is_some() {
            return Some(-EVER);
        }
        if loader == self.person {
            let own = self.phases.hands.iter().map(|window| window.after(start));
            if let Some(window) = own.into_iter().find(|window| window.meets(span)) {
                return Some(window.from);
            }
        }
        before_hours(&day.open, span)
            .or_else(|| before_hours(&day.people[loader].hours, span))
            .or_else(|| room.hands[loader].blocked_back(span, 1))
            .or_else(|| room.loading.blocked_back(span, 1))
            .map(|before| before.min(span.to - 1))
    }
}

/// The mirror of [`outside`]: the moment by which a span would have to end instead.
pub(super) fn before_hours(hours: &[Span], span: Span) -> Option<Seconds> {
    if span.from >= span.to {
        return None;
    }
    let behind = hours.iter().rev().find(|open| open.from < span.to);
    match behind {
        None => Some(-EVER),
        Some(open) if open.to < span.to => Some(open.to),
        Some(open) if open.from <= span.from => None,
        Some(open) => Some(open.from),
    }
}

fn up(at: Seconds, grid: Seconds) -> Seconds {
    (at + grid - 1).div_euclid(grid) * grid
}

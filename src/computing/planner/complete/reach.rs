//! How much could still be done from a moment on, if each thing of the room were the only one.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        clock::Seconds,
        day::{Span, gaps, merged},
        problem::Problem,
    },
    Started,
    types::{Mixture, Mixtures},
};

/// The quickest that a run of so many rolls can be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Quickest {
    pub(super) rolls: usize,
    pub(super) length: Seconds,
    pub(super) loading: Seconds,
}

/// One thing that takes run after run: for each size of the first run, and each start of it on
/// the grid, the most rolls from then on.
pub(super) struct Line {
    sizes: Vec<Quickest>,
    most: Vec<Vec<u32>>,
    loads: bool,
}

impl Line {
    /// `windows` are where `[start, end]` must lie, with `before` of loading in front where it
    /// counts and `gap` behind.
    fn new(
        (grid, slots): (Seconds, usize),
        windows: &[Span],
        sizes: Vec<Quickest>,
        gap: Seconds,
        loads: bool,
    ) -> Self {
        let mut line = Self { most: vec![vec![0; slots + 1]; sizes.len()], sizes, loads };
        for slot in (0..slots).rev() {
            for at in 0..line.sizes.len() {
                let start = slot as Seconds * grid;
                let size = line.sizes[at];
                let end = start + size.length;
                let fits = windows.iter().any(|span| span.from <= start && end <= span.to);
                let after = line.most[at][slot + 1];
                let with = if fits { size.rolls as u32 + line.from(grid, end + gap, 0) } else { 0 };
                line.most[at][slot] = after.max(with);
            }
        }
        line
    }

    /// The most rolls where the thing is free at `free` and no start lies before `start`.
    pub(super) fn from(&self, grid: Seconds, free: Seconds, start: Seconds) -> u32 {
        let of = |(size, most): (&Quickest, &Vec<u32>)| {
            let first = if self.loads { free + size.loading } else { free };
            let slot = (first.max(start) + grid - 1) / grid;
            usize::try_from(slot).ok().and_then(|slot| most.get(slot)).copied().unwrap_or(0)
        };
        self.sizes.iter().zip(&self.most).map(of).max().unwrap_or(0)
    }
}

/// All lines of a day.
pub(super) struct Reach {
    pub(super) grid: Seconds,
    pub(super) tanks: Vec<Line>,
    /// Of one place of each sink.
    pub(super) sinks: Vec<(i64, Line)>,
    /// The same, counted in runs of any size.
    pub(super) runs_in_tanks: Vec<Line>,
    pub(super) runs_at_sinks: Vec<(i64, Line)>,
    /// Of one reel of each kind, counted in reels.
    pub(super) reels: Vec<Line>,
    /// Loading capacity in seconds, over the whole day.
    pub(super) loading: Seconds,
    pub(super) fullest: usize,
    /// The shortest loading.
    pub(super) lead: Seconds,
    pub(super) sink_places: i64,
    pub(super) sinks_busy: Vec<(Span, i64)>,
}

impl Reach {
    pub(super) fn new(problem: &Problem<'_>, mixtures: &Mixtures) -> Self {
        let (day, grid) = (problem.day, problem.day.rules.grid_s);
        let close = day.open.last().map_or(0, |open| open.to);
        let slots = usize::try_from(close / grid + 1).unwrap_or(0);
        let (tank_gap, sink_gap) = (day.steps.tank_gap_s, day.steps.sink_gap_s);
        let tanks = (0..day.tanks.len()).map(|tank| {
            let sizes = quickest(mixtures, |mixture| mixture.costs[tank].is_some());
            let windows = gaps(&day.open, &day.tanks[tank].busy);
            Line::new((grid, slots), &windows, sizes, tank_gap, true)
        });
        let sinks = day.sinks.iter().map(|sink| {
            let windows = gaps(&day.open, &sink.busy);
            let sizes = quickest(mixtures, |_| true);
            (sink.places, Line::new((grid, slots), &windows, sizes, sink_gap, false))
        });
        let runs_in_tanks = (0..day.tanks.len()).map(|tank| {
            let size = any_size(&quickest(mixtures, |mixture| mixture.costs[tank].is_some()));
            let windows = gaps(&day.open, &day.tanks[tank].busy);
            Line::new((grid, slots), &windows, size, tank_gap, true)
        });
        let runs_at_sinks = day.sinks.iter().map(|sink| {
            let windows = gaps(&day.open, &sink.busy);
            let size = any_size(&quickest(mixtures, |_| true));
            (sink.places, Line::new((grid, slots), &windows, size, sink_gap, false))
        });
        let reels = day.reels.iter().enumerate().map(|(kind, reel)| {
            let own = |mixture: &Mixture| mixture.reels.iter().any(|(own, _)| *own == kind);
            let size = any_size(&quickest(mixtures, own));
            Line::new((grid, slots), &day.open, size, reel.drying_s, true)
        });
        let hours: Seconds = day.open.iter().map(|open| open.to - open.from).sum();
        let shortest = mixtures.all.iter().map(|mixture| mixture.length).min().unwrap_or(0);
        Self {
            grid,
            tanks: tanks.collect(),
            sinks: sinks.collect(),
            runs_in_tanks: runs_in_tanks.collect(),
            runs_at_sinks: runs_at_sinks.collect(),
            reels: reels.collect(),
            loading: day.loading_places * (hours - shortest).max(0),
            lead: mixtures.all.iter().map(|mixture| mixture.loading).min().unwrap_or(0),
            sink_places: day.sinks.iter().map(|sink| sink.places).sum(),
            sinks_busy: day
                .sinks
                .iter()
                .flat_map(|sink| {
                    merged(sink.busy.clone()).into_iter().map(|span| (span, sink.places))
                })
                .collect(),
            fullest: mixtures.all.iter().map(|mixture| mixture.rolls).max().unwrap_or(1),
        }
    }
}

impl Reach {
    /// How many times reels of a kind can still be loaded beside runs with starts up to `start`.
    pub(super) fn reels_go_round(
        &self,
        problem: &Problem<'_>,
        runs: &[Started<'_>],
        kind: usize,
        start: Seconds,
    ) -> usize {
        let (reel, line) = (&problem.day.reels[kind], &self.reels[kind]);
        let (mut idle, mut uses) = (reel.owned, 0);
        for run in runs {
            let dry = run.end() + reel.drying_s;
            for (_, count) in
                run.mixture.reels.iter().filter(|(own, _)| dry > start && *own == kind)
            {
                idle -= count;
                uses += count * i64::from(line.from(self.grid, dry, start));
            }
        }
        let all = uses + idle.max(0) * i64::from(line.from(self.grid, 0, start));
        usize::try_from(all).unwrap_or(0)
    }
}

/// One for all sizes: the least of each, counted once.
fn any_size(sizes: &[Quickest]) -> Vec<Quickest> {
    let least = |of: fn(&Quickest) -> Seconds| sizes.iter().map(of).min();
    let both = least(|size| size.length).zip(least(|size| size.loading));
    both.map(|(length, loading)| Quickest { rolls: 1, length, loading }).into_iter().collect()
}

/// For each number of rolls the quickest run that holds so many.
fn quickest(mixtures: &Mixtures, counts: impl Fn(&Mixture) -> bool) -> Vec<Quickest> {
    let mut sizes: Vec<Quickest> = Vec::new();
    for mixture in mixtures.all.iter().filter(|mixture| counts(mixture)) {
        let (rolls, length, loading) = (mixture.rolls, mixture.length, mixture.loading);
        match sizes.iter_mut().find(|size| size.rolls == rolls) {
            Some(size) => {
                size.length = size.length.min(length);
                size.loading = size.loading.min(loading);
            }
            None => sizes.push(Quickest { rolls, length, loading }),
        }
    }
    sizes
}

//! Reels of a kind go round again only after the first run with them has ended and they are dry:
//! what is loaded before that shares the reels there are, and what is loaded after has little time
//! left. The same looking back from the last moment at which a run with them can be loaded.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::BTreeMap;

use super::{
    super::{
        super::{clock::Seconds, problem::Problem},
        types::{Mixture, Mixtures},
    },
    linear::FAR,
    rows::{MANY, Rows, hull, up},
};

/// Adds the rows of one kind of reel.
pub(super) fn add(rows: &mut Rows, problem: &Problem<'_>, mixtures: &Mixtures, kind: usize) {
    let (day, grid) = (problem.day, problem.day.rules.grid_s);
    let (open, dry) = (hull(&day.open), day.reels[kind].drying_s);
    let with = || mixtures.all.iter().filter(|mixture| reels(mixture, kind) > 0);
    let ends = |mixture: &Mixture| {
        up(open.from.max(mixture.ready) + mixture.loading, grid) + mixture.length
    };
    let loads =
        |mixture: &Mixture| (open.to - mixture.length).div_euclid(grid) * grid - mixture.loading;
    let (Some(first_end), Some(last_load)) = (with().map(ends).min(), with().map(loads).max())
    else {
        return;
    };
    // Loaded when the first reels are dry again, or later.
    let again = first_end + dry;
    let late = |mixture: &Mixture| again <= loads(mixture);
    apart(rows, problem, mixtures, kind, (&late, open.to - again));
    // Ended so that its reels are dry for the last run.
    let early = |mixture: &Mixture| ends(mixture) + dry <= last_load;
    apart(rows, problem, mixtures, kind, (&early, last_load - dry - open.from));
}

fn reels(mixture: &Mixture, kind: usize) -> i64 {
    mixture.reels.iter().find(|(own, _)| *own == kind).map_or(0, |(_, n)| *n)
}

/// The least that one of several runs takes of the room.
struct Least {
    column: usize,
    loading: Seconds,
    length: Seconds,
    hands: Seconds,
}

/// Some runs may be apart from the others, all within so much time; what is not apart shares the
/// reels.
fn apart(
    rows: &mut Rows,
    problem: &Problem<'_>,
    mixtures: &Mixtures,
    kind: usize,
    (may, time): (&dyn Fn(&Mixture) -> bool, Seconds),
) {
    let mut by_reels: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
    for (column, choice) in rows.choices.iter().enumerate() {
        let mixture = &mixtures.all[choice.at];
        if reels(mixture, kind) > 0 && may(mixture) {
            by_reels.entry(reels(mixture, kind)).or_default().push(column);
        }
    }
    let mut shared = rows.takes(&|choice| reels(&mixtures.all[choice.at], kind));
    let mut all: Vec<Least> = Vec::new();
    for (n, columns) in by_reels {
        let own = || columns.iter().map(|column| &mixtures.all[rows.choices[*column].at]);
        let windows = |mixture: &Mixture| {
            mixture.loading + mixture.hands.iter().map(|own| own.to - own.from).sum::<Seconds>()
        };
        let least = |of: &dyn Fn(&Mixture) -> Seconds| own().map(of).min().unwrap_or(0);
        let (loading, length) = (least(&|own| own.loading), least(&|own| own.length));
        let hands = least(&windows);
        let column = rows.column(0, MANY);
        let held = columns.iter().map(|column| (*column, 1)).chain([(column, -1)]);
        rows.row(held.collect(), 0, FAR);
        shared.push((column, -n));
        all.push(Least { column, loading, length, hands });
    }
    rows.row(shared, 0, problem.day.reels[kind].owned);
    within(rows, problem, mixtures, (&all, time.max(0)));
}

/// Loading places, tanks, places at sinks and hands have only so much time.
fn within(
    rows: &mut Rows,
    problem: &Problem<'_>,
    mixtures: &Mixtures,
    (all, time): (&[Least], Seconds),
) {
    let day = problem.day;
    let (tank_gap, sink_gap) = (day.steps.tank_gap_s, day.steps.sink_gap_s);
    let places: i64 = day.sinks.iter().map(|sink| sink.places).sum();
    let shortest = all.iter().map(|least| least.length).min().unwrap_or(0);
    let lead = all.iter().map(|least| least.loading).min().unwrap_or(0);
    let mut limit = |of: &dyn Fn(&Least) -> Seconds, many: i64, time: Seconds| {
        let terms = all.iter().map(|least| (least.column, of(least))).collect();
        rows.row(terms, 0, many.saturating_mul(time.max(0)).min(FAR - 1));
    };
    limit(&|least| least.loading, day.loading_places, time - shortest);
    let tanks = day.tanks.len() as i64;
    limit(&|least| least.loading + least.length + tank_gap, tanks, time + tank_gap);
    limit(&|least| least.length + sink_gap, places, time + sink_gap - lead);
    let inside = mixtures.all.iter().all(|mixture| {
        mixture.hands.first().is_none_or(|window| window.from >= 0)
            && mixture.hands.last().is_none_or(|window| window.to <= mixture.length)
    });
    if inside {
        limit(&|least| least.hands, day.people.len() as i64, time);
    }
}

//! Rows of a day with one person and one place at a sink: runs come one after another, and what
//! is loaded is loaded before the first, between two, or in a gap of a run's hands.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::{BTreeMap, BTreeSet};

use super::{
    super::{
        super::{clock::Seconds, problem::Problem},
        types::{Mixture, Mixtures},
    },
    linear::FAR,
    rows::{Choice, MANY, Rows, hull, up},
};

/// Whether one pair of hands and one place at a sink do all the work.
pub(super) fn alone(problem: &Problem<'_>, mixtures: &Mixtures) -> bool {
    let day = problem.day;
    let places: i64 = day.sinks.iter().map(|sink| sink.places).sum();
    day.people.len() == 1 && places == 1 && mixtures.all.iter().all(to_the_end)
}

/// Whether hands are at work just until the run ends, so that its last gap is before its end.
pub(super) fn to_the_end(mixture: &Mixture) -> bool {
    mixture.hands.last().is_some_and(|last| last.to == mixture.length)
}

/// The lengths of the gaps between a run's windows.
pub(super) fn gaps(mixture: &Mixture) -> Vec<Seconds> {
    mixture.hands.windows(2).map(|pair| pair[1].from - pair[0].to).collect()
}

pub(super) fn first(mixture: &Mixture) -> Seconds {
    mixture.hands.first().map_or(0, |window| window.from)
}

/// The loadings of one length into one tank: how many there are, and where they may be.
struct Loads {
    length: Seconds,
    tank: usize,
    /// All of them, less what stands for each place they may be at.
    terms: Vec<(usize, i64)>,
}

/// Where loadings are, summed up.
#[derive(Default)]
struct Places {
    /// Of each tank: loadings while another tank's run is under way, or right after it.
    beside: BTreeMap<usize, Vec<(usize, i64)>>,
    /// Of each tank: before the first run, which happens once.
    before: BTreeMap<usize, Vec<(usize, i64)>>,
    /// The first run's own.
    first: Vec<(usize, i64)>,
    /// What is loaded outside of runs, with its length.
    outside: Vec<(usize, i64)>,
    /// What that adds to the time from start to start.
    adds: Vec<(usize, i64)>,
}

/// Adds the rows to those of any room.
pub(super) fn add(rows: &mut Rows, problem: &Problem<'_>, mixtures: &Mixtures) {
    let all: BTreeSet<(Seconds, usize)> =
        rows.choices.iter().map(|choice| (mixtures.all[choice.at].loading, choice.tank)).collect();
    let own = |choice: &Choice, of: (Seconds, usize)| {
        i64::from((mixtures.all[choice.at].loading, choice.tank) == of)
    };
    let mut loads: Vec<Loads> = all
        .into_iter()
        .map(|of| Loads { length: of.0, tank: of.1, terms: rows.takes(&|choice| -own(choice, of)) })
        .collect();
    let mut places = Places::default();
    let lengths: BTreeSet<Seconds> = loads.iter().map(|load| load.length).collect();
    let counted = lengths.into_iter().map(|length| {
        rows.counted(&|choice| i64::from(mixtures.all[choice.at].loading == length), MANY)
    });
    let counted: Vec<usize> = counted.collect();
    rows.groups.push(counted);
    in_gaps(rows, mixtures, &mut loads, &mut places);
    outside_of_runs(rows, problem, mixtures, (&mut loads, &mut places));
    loads.into_iter().for_each(|load| rows.row(load.terms, 0, 0));
    rows.row(places.first, 1, 1);
    for terms in places.before.into_values() {
        rows.row(terms, 0, 1);
    }
    // A tank is loaded once at most beside each run of another.
    for (tank, mut terms) in places.beside {
        terms.extend(rows.takes(&|choice| -i64::from(choice.tank != tank)));
        rows.row(terms, -FAR, 0);
    }
}

/// Loadings in gaps: no more than the gaps of that length hold; the last run's are of no use.
fn in_gaps(rows: &mut Rows, mixtures: &Mixtures, loads: &mut [Loads], places: &mut Places) {
    let classes: BTreeSet<Vec<Seconds>> = mixtures.all.iter().map(gaps).collect();
    let mut last = Vec::new();
    for class in &classes {
        let own = |choice: &Choice| i64::from(gaps(&mixtures.all[choice.at]) == *class);
        let (column, ends) = (rows.counted(&own, MANY), rows.column(0, 1));
        rows.row(vec![(column, 1), (ends, -1)], 0, FAR);
        last.push((class.clone(), column, ends));
    }
    rows.row(last.iter().map(|(_, _, ends)| (*ends, 1)).collect(), 1, 1);
    let lengths: BTreeSet<Seconds> = classes.iter().flatten().copied().collect();
    for length in lengths {
        let of_class =
            |class: &[Seconds]| class.iter().filter(|own| **own == length).count() as i64;
        // So many gaps of this length: those of all runs without the last.
        let there: Vec<(usize, i64)> = last
            .iter()
            .flat_map(|(class, column, ends)| {
                [(*column, of_class(class)), (*ends, -of_class(class))]
            })
            .filter(|(_, n)| *n != 0)
            .collect();
        let by_tank = |tank: usize, rows: &Rows| {
            rows.takes(&|choice| {
                if choice.tank == tank { of_class(&gaps(&mixtures.all[choice.at])) } else { 0 }
            })
        };
        hosted(rows, (&mut *loads, &mut *places), length, (&there, &by_tank));
    }
    rows.groups.push(last.iter().map(|(_, column, _)| *column).collect());
}

/// Terms of the gaps of a tank's own runs, in which it cannot be loaded.
type OwnGaps<'a> = &'a dyn Fn(usize, &Rows) -> Vec<(usize, i64)>;

/// Loadings in the gaps of one length.
fn hosted(
    rows: &mut Rows,
    (loads, places): (&mut [Loads], &mut Places),
    gap: Seconds,
    (there, own): (&[(usize, i64)], OwnGaps<'_>),
) {
    let mut inside: Vec<(usize, Seconds)> = Vec::new();
    let mut of_tank: BTreeMap<usize, Vec<(usize, i64)>> = BTreeMap::new();
    for load in loads.iter_mut().filter(|load| load.length <= gap) {
        let column = rows.column(0, MANY);
        load.terms.push((column, 1));
        places.beside.entry(load.tank).or_default().push((column, 1));
        of_tank.entry(load.tank).or_default().push((column, 1));
        inside.push((column, load.length));
    }
    if inside.is_empty() {
        return;
    }
    let limit = |terms: Vec<(usize, i64)>, each: i64, rows: &mut Rows| {
        let gaps = there.iter().map(|(column, n)| (*column, -n * each));
        rows.row(terms.into_iter().chain(gaps).collect(), -FAR, 0);
    };
    // A tank is not loaded while its own run is under way; that may be the last one.
    let any = there.iter().filter(|(_, n)| *n > 0).map(|(column, n)| (*column, -n));
    for (tank, mut terms) in of_tank {
        terms.extend(own(tank, rows));
        terms.extend(any.clone());
        rows.row(terms, -FAR, 0);
    }
    limit(inside.clone(), gap, rows);
    for part in [2, 3] {
        // Of what is longer than a half only one fits, of what is longer than a third two.
        let large = inside.iter().filter(|(_, length)| length * part > gap);
        let large: Vec<(usize, i64)> = large.map(|(column, _)| (*column, 1)).collect();
        limit(large, part - 1, rows);
    }
}

/// From start to start at the one place lies a multiple of the grid; how much of that a run and
/// the gap behind it leave over is free for loading.
struct Between {
    grid: Seconds,
    gap: Seconds,
    /// Where the gap is short against the grid nothing is rounded up.
    round: bool,
    /// How long before the hands are first needed runs start at most.
    before: Seconds,
}

impl Between {
    fn of(problem: &Problem<'_>, mixtures: &Mixtures) -> Self {
        let (grid, gap) = (problem.day.rules.grid_s, problem.day.steps.sink_gap_s);
        let before = mixtures.all.iter().map(first).max().unwrap_or(0);
        Self { grid, gap, round: gap + before.min(0) >= 2 * grid, before }
    }

    /// From a run's start to the next at the earliest.
    fn apart(&self, mixture: &Mixture) -> Seconds {
        let apart = mixture.length + self.gap;
        if self.round { up(apart, self.grid) } else { apart }
    }

    /// From a run's end to the next run's hands at the earliest.
    fn free(&self, mixture: &Mixture) -> Seconds {
        self.apart(mixture) - mixture.length + self.before
    }

    /// By how much the next run is later at least for what is longer than what is free.
    fn later(&self, longer: Seconds) -> Seconds {
        if self.round { up(longer.max(0), self.grid) } else { longer.max(0) }
    }

    /// The same where it comes beside something that was rounded up already.
    fn less(&self, longer: Seconds) -> Seconds {
        (longer - if self.round { self.grid - 1 } else { 0 }).max(0)
    }
}

/// Loadings before the first run and between runs, and the time of the whole day.
fn outside_of_runs(
    rows: &mut Rows,
    problem: &Problem<'_>,
    mixtures: &Mixtures,
    (loads, places): (&mut [Loads], &mut Places),
) {
    let (between, open) = (Between::of(problem, mixtures), hull(&problem.day.open));
    let whole = open.to - open.from;
    let free = mixtures.all.iter().map(|mixture| between.free(mixture)).max().unwrap_or(0);
    let tank_gap = problem.day.steps.tank_gap_s;
    for load in loads {
        let length = load.length;
        let mut at = |most: i64, adds: i64| {
            let column = rows.column(0, most);
            load.terms.push((column, 1));
            places.outside.push((column, length));
            places.adds.push((column, adds));
            (column, 1)
        };
        let first = at(1, length);
        let second = at(1, between.less(length - between.before.max(0)));
        // A tank that just ran is loaded after its gap; what else is loaded may fill that gap.
        at(MANY, between.less(length + (tank_gap - free).min(0)));
        let beside = places.beside.entry(load.tank).or_default();
        beside.push(at(MANY, between.later(length - free)));
        places.first.push(first);
        places.before.entry(load.tank).or_default().extend([first, second]);
    }
    whole_day(rows, mixtures, &between, (places, whole));
}

/// What runs and loadings take of the day, from start to start and by hands.
fn whole_day(
    rows: &mut Rows,
    mixtures: &Mixtures,
    between: &Between,
    (places, whole): (&Places, Seconds),
) {
    let all = || mixtures.all.iter();
    let spare = all().map(|mixture| between.apart(mixture) - mixture.length).max().unwrap_or(0);
    let mut time = rows.takes(&|choice| between.apart(&mixtures.all[choice.at]));
    time.extend(places.adds.iter().copied());
    rows.time.iter_mut().for_each(|time| *time = 0);
    time.iter().for_each(|(column, taken)| rows.time[*column] += taken);
    rows.row(time, 0, whole + spare);
    let mut work = rows.takes(&|choice| {
        let mixture = &mixtures.all[choice.at];
        mixture.length - first(mixture)
    });
    work.extend(places.outside.iter().copied());
    let early = all().map(first).min().unwrap_or(0);
    rows.row(work, 0, whole + (-early).max(0));
}

//! One pair of hands and several places at sinks: what is loaded is loaded in a gap of the hands
//! of a run that is under way, or while none is.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::BTreeSet;

use super::{
    super::{
        super::{clock::Seconds, problem::Problem},
        types::{Mixture, Mixtures},
    },
    alone::{first, gaps, to_the_end},
    linear::FAR,
    rows::{Choice, MANY, Rows, hull},
};

/// Adds the rows to those of any room.
pub(super) fn add(rows: &mut Rows, problem: &Problem<'_>, mixtures: &Mixtures) {
    let day = problem.day;
    let all = || mixtures.all.iter();
    if !all().all(to_the_end) {
        return;
    }
    let sinks: i64 = day.sinks.iter().map(|sink| sink.places).sum();
    let (places, tanks) = (sinks.min(day.tanks.len() as i64), day.tanks.len() as i64);
    let inside = in_gaps(rows, mixtures);
    let less = |(length, column): &(Seconds, usize), each: Seconds| (*column, -each * length);
    // Stretches of the day in which runs are under way: what is loaded outside of them is loaded
    // before one, each tank once.
    let stretches = rows.column(1, MANY);
    let mut outside = rows.takes(&|_| 1);
    outside.extend(inside.iter().map(|(_, column)| (*column, -1)));
    outside.push((stretches, -tanks));
    rows.row(outside, -FAR, 0);
    let mut time = rows.takes(&|choice| {
        let mixture = &mixtures.all[choice.at];
        mixture.length - first(mixture) + places * mixture.loading
    });
    time.extend(inside.iter().map(|load| less(load, places)));
    let (each, last) = lost(problem, mixtures, places);
    time.push((stretches, each));
    let (open, early) = (hull(&day.open), all().map(first).min().unwrap_or(0));
    let whole = open.to - open.from + (-early).max(0);
    rows.row(time, 0, places * whole + each - last);
}

/// For each length of loading a column that counts those in gaps of runs, with rows that say how
/// many of that length or longer the gaps hold.
fn in_gaps(rows: &mut Rows, mixtures: &Mixtures) -> Vec<(Seconds, usize)> {
    let lengths: BTreeSet<Seconds> = mixtures.all.iter().map(|mixture| mixture.loading).collect();
    let mut inside: Vec<(Seconds, usize)> = Vec::new();
    for length in lengths.into_iter().filter(|length| *length > 0).rev() {
        let holds = |choice: &Choice| -> i64 {
            gaps(&mixtures.all[choice.at]).iter().map(|gap| gap / length).sum()
        };
        let held = rows.takes(&holds);
        if held.is_empty() {
            continue;
        }
        let column = rows.column(0, MANY);
        inside.push((length, column));
        let mut own = rows.takes(&|choice| i64::from(mixtures.all[choice.at].loading == length));
        own.push((column, -1));
        rows.row(own, 0, FAR);
        let longer = inside.iter().map(|(_, column)| (*column, -1));
        rows.row(held.into_iter().chain(longer).collect(), 0, FAR);
    }
    inside
}

/// What a stretch leaves unused of the places' time at least, one that is followed by another and
/// the last.
///
/// Runs neither start nor end together, so that a stretch does not fill all places at its
/// beginning and at its end. With two tanks the one that is loaded next rested before.
fn lost(problem: &Problem<'_>, mixtures: &Mixtures, places: i64) -> (Seconds, Seconds) {
    let all = || mixtures.all.iter();
    let window = |of: fn(&Mixture) -> Option<Seconds>| all().filter_map(of).min().unwrap_or(0);
    let starts = window(|mixture| mixture.hands.first().map(|own| own.to - own.from));
    let ends = window(|mixture| mixture.hands.last().map(|own| own.to - own.from));
    let shortest = all().map(|mixture| mixture.length - first(mixture)).min().unwrap_or(0);
    let last = (starts + ends) * places * (places - 1) / 2;
    let last = if (starts + ends) * places < shortest { last } else { 0 };
    let rest = starts + ends.max(problem.day.steps.tank_gap_s);
    if problem.day.tanks.len() == 2 && places == 2 && rest < shortest && last > 0 {
        return (rest, last);
    }
    (last, last)
}

//! One pair of hands and several places at sinks: a loading that is longer than every gap of a
//! run's hands is done while no run is under way.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        super::{clock::Seconds, problem::Problem},
        types::{Mixture, Mixtures},
    },
    alone::{first, gaps},
    linear::FAR,
    rows::{Choice, MANY, Rows, hull},
};

/// Adds the rows to those of any room.
pub(super) fn add(rows: &mut Rows, problem: &Problem<'_>, mixtures: &Mixtures) {
    let day = problem.day;
    let all = || mixtures.all.iter();
    if all().any(|mixture| mixture.hands.last().is_none_or(|last| last.to < mixture.length)) {
        return;
    }
    let sinks: i64 = day.sinks.iter().map(|sink| sink.places).sum();
    let (places, tanks) = (sinks.min(day.tanks.len() as i64), day.tanks.len() as i64);
    let longest = all().flat_map(gaps).max().unwrap_or(0);
    let long = |choice: &Choice| {
        let loading = mixtures.all[choice.at].loading;
        if loading > longest { loading } else { 0 }
    };
    // Stretches of the day in which runs are under way: before each, a tank is loaded once.
    let stretches = rows.column(1, MANY);
    let mut runs = rows.takes(&|choice| i64::from(long(choice) > 0));
    runs.push((stretches, -tanks));
    rows.row(runs, -FAR, 0);
    // Runs neither start nor end together, so that a stretch does not fill all places at its
    // beginning and at its end.
    let window = |of: fn(&Mixture) -> Option<Seconds>| all().filter_map(of).min().unwrap_or(0);
    let starts = window(|mixture| mixture.hands.first().map(|own| own.to - own.from));
    let ends = window(|mixture| mixture.hands.last().map(|own| own.to - own.from));
    let lost = (starts + ends) * places * (places - 1) / 2;
    let shortest = all().map(|mixture| mixture.length - first(mixture)).min().unwrap_or(0);
    let lost = if (starts + ends) * places < shortest { lost } else { 0 };
    let mut time = rows.takes(&|choice| {
        let mixture = &mixtures.all[choice.at];
        mixture.length - first(mixture) + places * long(choice)
    });
    time.push((stretches, lost));
    let (open, early) = (hull(&day.open), all().map(first).min().unwrap_or(0));
    rows.row(time, 0, places * (open.to - open.from + (-early).max(0)));
}

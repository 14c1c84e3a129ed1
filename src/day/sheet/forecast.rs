//! What a day does to its shared baths, run by run.

use serde::Serialize;

use super::Bench;
use crate::baths::{self, Place};
use crate::clock::Moment;
use crate::day::Run;
use crate::db::Conn;
use crate::error::Error;
use crate::rolls::Format;
use crate::shelf;

/// A bath as it stands now.
#[derive(Debug)]
pub(in crate::day) struct BathNow {
    id: i64,
    label: String,
    /// What it can take, in thousandths of a roll's worth.
    left_milli: i64,
    volume_ul: i64,
    water_parts: Option<i64>,
    /// Which share of the film's load reaches it, in percent.
    share_percent: i64,
}

/// One bath over the day.
#[derive(Debug, Serialize)]
pub(in crate::day) struct BathLine {
    label: String,
    /// Rolls' worth it can take before the first run that is still to come.
    before: String,
    /// Run and what is left after it.
    #[serde(skip)]
    after: Vec<(i64, String)>,
    /// The run that brings it to its limit.
    pub(in crate::day) limit: Option<i64>,
    pub(in crate::day) sentence: String,
}

/// What all baths can take after one run.
#[derive(Debug, Serialize)]
pub(in crate::day) struct AfterRun {
    run: i64,
    /// One for each bath; empty where the run is not in it.
    left: Vec<String>,
}

/// The same run by run: what each bath can take after it.
pub(in crate::day) fn by_run(baths: &[BathLine]) -> Vec<AfterRun> {
    let mut runs: Vec<i64> = baths.iter().flat_map(|b| b.after.iter().map(|a| a.0)).collect();
    runs.sort_unstable();
    runs.dedup();
    let left = |bath: &BathLine, run: i64| {
        let found = bath.after.iter().find(|a| a.0 == run);
        found.map(|a| a.1.clone()).unwrap_or_default()
    };
    let row = |run| AfterRun { run, left: baths.iter().map(|b| left(b, run)).collect() };
    runs.into_iter().map(row).collect()
}

/// Thousandths of a roll's worth as people write them.
fn rolls(milli: i64) -> String {
    let sign = if milli < 0 { "-" } else { "" };
    let tenths = (milli.abs() + 50) / 100;
    format!("{sign}{}.{}", tenths / 10, tenths % 10)
}

/// The shared baths of a day as they stand.
///
/// # Errors
/// As the database's.
pub(in crate::day) fn baths_now(
    conn: &mut Conn,
    now: Moment,
    bench: &Bench,
) -> Result<Vec<BathNow>, Error> {
    let second_percent = shelf::settings(conn)?.second_bath_percent;
    let mut all = Vec::new();
    for id in bench.labels().keys() {
        let bath = baths::one(conn, *id)?;
        let left_milli = baths::state(conn, now, &bath)?.remaining_milli;
        all.push(BathNow {
            id: *id,
            left_milli,
            volume_ul: bath.volume_ul,
            water_parts: bath.water_parts,
            share_percent: if bath.place == Place::Second { second_percent } else { 100 },
            label: bath.of.label,
        });
    }
    Ok(all)
}

/// What a run loads a bath with, in thousandths of a roll's worth; nothing where it is not in it.
fn load(run: &Run, bath: &BathNow) -> Option<i64> {
    if run.developer_bath == Some(bath.id) {
        let film =
            |r: &crate::day::RunRoll| Format::named(&r.format).map(|f| f.of_sheets(r.sheets).milli);
        return Some(run.rolls.iter().filter_map(film).sum());
    }
    let uses = run.fixer_id == Some(bath.id) || run.steps.second_fixer == Some(bath.id);
    uses.then(|| run.fixer_milli * bath.share_percent / 100)
}

/// What each bath can still take after each run that has not ended.
pub(in crate::day) fn forecast(runs: &[Run], baths: &[BathNow]) -> Vec<BathLine> {
    baths.iter().map(|bath| line(runs, bath)).collect()
}

fn line(runs: &[Run], bath: &BathNow) -> BathLine {
    let mut still = bath.left_milli;
    let mut after = Vec::new();
    let mut limit = None;
    for run in runs.iter().filter(|r| r.ended.is_none()) {
        let Some(milli) = load(run, bath) else { continue };
        still -= milli;
        after.push((run.number, rolls(still)));
        if still <= 0 && limit.is_none() {
            limit = Some(run.number);
        }
    }
    let label = &bath.label;
    let sentence = match limit {
        Some(run) => format!("Run {run} brings {label} to its limit. Before it, {}.", next(bath)),
        None => format!("{label} lasts through the day."),
    };
    BathLine { label: label.clone(), before: rolls(bath.left_milli), after, limit, sentence }
}

/// What to mix to have another bath like this one.
fn next(bath: &BathNow) -> String {
    let all = super::ml(bath.volume_ul);
    match bath.water_parts.filter(|n| *n > 0) {
        Some(parts) => {
            let one = bath.volume_ul / (parts + 1);
            format!(
                "mix {all} ml of the next one, 1+{parts}: {} ml of concentrate and {} ml of water",
                super::ml(one),
                super::ml(bath.volume_ul - one)
            )
        }
        None => format!("mix {all} ml of the next one"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::day::process::tests::run;

    #[test]
    fn rolls_are_written_to_a_tenth() {
        assert_eq!(
            (rolls(11_000), rolls(-1500), rolls(0)),
            ("11.0".into(), "-1.5".into(), "0.0".into())
        );
    }

    #[test]
    fn the_run_that_brings_a_bath_to_its_limit_is_named_with_what_to_mix() {
        let first = Run { fixer_id: Some(7), fixer_milli: 1000, ..run() };
        let second = Run { number: 2, ..first.clone() };
        let bath = BathNow {
            id: 7,
            label: "Fixer 7".to_owned(),
            left_milli: 1500,
            volume_ul: 1_000_000,
            water_parts: Some(4),
            share_percent: 100,
        };
        let lines = forecast(&[first, second], &[bath]);
        assert_eq!(lines[0].after, [(1, "0.5".to_owned()), (2, "-0.5".to_owned())]);
        assert_eq!(
            lines[0].sentence,
            "Run 2 brings Fixer 7 to its limit. Before it, mix 1000 ml of the next one, 1+4: \
             200 ml of concentrate and 800 ml of water."
        );
    }
}

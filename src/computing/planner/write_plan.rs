//! Turns the best day found into the plan that is handed out.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    bounds::Bounds,
    decimal::Decimal,
    developer_volume::parts,
    placing::Placed,
    plan::{Amount, Amounts, Bound, LeftOver, Plan, Run, Totals},
    problem::Problem,
    reasons::{why, why_left},
    schedule::late_rolls,
    search::Found,
};

/// Developer, concentrate and water of a run, in millionths.
struct Volumes {
    developer: i128,
    concentrate: i128,
    water: i128,
}

pub(super) fn write(problem: &Problem<'_>, found: &Found) -> Plan {
    let day = problem.day;
    let outcome = &found.outcome;
    let runs = outcome.placed.iter().map(|placed| run(problem, placed, &outcome.placed)).collect();
    let left_over = outcome.left.iter().map(|roll| LeftOver {
        roll: day.rolls[*roll].id.clone(),
        reason: why_left(problem, *roll, outcome),
    });
    let late = late_rolls(problem, &outcome.placed);
    let (bound, optimal) = bound(problem, found);
    Plan {
        runs,
        left_over: left_over.collect(),
        late: late.iter().map(|roll| day.rolls[*roll].id.clone()).collect(),
        totals: totals(problem, &outcome.placed, outcome.score.0, late.len()),
        bound,
        optimal,
    }
}

fn amount(millionths: i128) -> Amount {
    Amount(Decimal::from_millionths(i64::try_from(millionths).unwrap_or(i64::MAX)))
}

/// Volumes to 0.1 ml, or exactly where the concentrate was not rounded to a measuring step.
fn volumes(problem: &Problem<'_>, placed: &Placed) -> Volumes {
    const FINE: i128 = 1_000_000_000_000;
    let family = placed.batch.family;
    let developer = &problem.day.developers[problem.families[family].developer];
    let poured = problem.poured(family, &placed.batch.load, placed.tank);
    let (fine, friendly) = poured.map_or((0, true), |poured| (poured.fine_ml, poured.friendly));
    let printed = |millionths: i128| {
        if friendly { (millionths + 50_000) / 100_000 * 100_000 } else { millionths }
    };
    let volume = (fine + FINE / 2) / FINE;
    if developer.bath.is_some() {
        return Volumes { developer: printed(volume), concentrate: 0, water: 0 };
    }
    let parts = parts(developer);
    let concentrate = (fine + parts * 500_000) / (parts * 1_000_000);
    Volumes {
        developer: printed(volume),
        concentrate: printed(concentrate),
        water: printed(volume - concentrate),
    }
}

fn run(problem: &Problem<'_>, placed: &Placed, all: &[Placed]) -> Run {
    let day = problem.day;
    let volumes = volumes(problem, placed);
    let loading = placed.loading;
    Run {
        tank: day.tanks[placed.tank].id.clone(),
        sink: day.sinks[placed.sink].id.clone(),
        person: day.people[placed.person].id.clone(),
        loader: loading.map(|(loader, _)| day.people[loader].id.clone()),
        load_start: loading.map(|(_, span)| day.clock.stamp(span.from)),
        load_end: loading.map(|(_, span)| day.clock.stamp(span.to)),
        start: day.clock.stamp(placed.start),
        end: day.clock.stamp(placed.end),
        rolls: placed.batch.rolls.iter().map(|roll| day.rolls[*roll].id.clone()).collect(),
        developer: day.developers[problem.families[placed.batch.family].developer].id.clone(),
        time_s: placed.batch.time,
        developer_ml: amount(volumes.developer),
        concentrate_ml: amount(volumes.concentrate),
        water_ml: amount(volumes.water),
        why: why(problem, placed, all),
    }
}

fn totals(problem: &Problem<'_>, placed: &[Placed], left_over_weight: i64, late: usize) -> Totals {
    let day = problem.day;
    let (mut concentrate, mut developer_ml) = (Vec::new(), Vec::new());
    for (at, developer) in day.developers.iter().enumerate() {
        let uses = |run: &&Placed| problem.families[run.batch.family].developer == at;
        let all: Vec<Volumes> =
            placed.iter().filter(uses).map(|run| volumes(problem, run)).collect();
        if all.is_empty() {
            continue;
        }
        let sum = |of: fn(&Volumes) -> i128| amount(all.iter().map(of).sum());
        developer_ml.push((developer.id.clone(), sum(|volumes| volumes.developer)));
        if developer.bath.is_none() {
            concentrate.push((developer.id.clone(), sum(|volumes| volumes.concentrate)));
        }
    }
    let rolls = placed.iter().flat_map(|run| &run.batch.rolls);
    let fixer: i128 = rolls.map(|roll| problem.items[*roll].fixer).sum();
    let cost: i128 = placed.iter().map(|run| run.cost).sum();
    Totals {
        runs: placed.len(),
        concentrate_ml: Amounts(concentrate),
        developer_ml: Amounts(developer_ml),
        fixer: amount((fixer + 500_000) / 1_000_000),
        cost: Amount(Decimal::from_millionths(problem.prices.millionths(cost))),
        left_over_weight,
        late,
    }
}

fn bound(problem: &Problem<'_>, found: &Found) -> (Bound, bool) {
    let Bounds { left_weight, late, runs, cost } = found.bounds;
    let score = &found.outcome.score;
    let met = [score.0 <= left_weight, score.1 <= late, score.2 <= runs, score.3 <= cost];
    let least = Amount(Decimal::from_millionths(problem.prices.millionths(cost.min(score.3))));
    let bound = Bound {
        left_over_weight: left_weight.min(score.0),
        late: met[0].then_some(late.min(score.1)),
        runs: (met[0] && met[1]).then_some(runs.min(score.2)),
        cost: (met[0] && met[1] && met[2]).then_some(least),
    };
    (bound, met.iter().all(|met| *met))
}

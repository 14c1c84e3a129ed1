//! Plans many days: `cargo run --release --example plan_days -- [--tries N] [--starts N] [--threads N] < days.jsonl`
//!
//! Reads one day a line and writes, a line each and in the same order, the seconds that planning
//! took and the plan, or the faults of the day. With `--grouping` the rolls are only put into
//! runs, and written is how many, their cost, and the bounds of both.

use std::{
    io::{self, BufRead, Write},
    process::ExitCode,
    sync::Mutex,
    time::Instant,
};

use serde::Serialize;
use wetside_computing::planner::{Amount, Budget, Day, Plan, groups, plan};

/// What is written for a day.
#[derive(Serialize)]
struct Line {
    seconds: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<Plan>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    faults: Vec<String>,
}

/// What is written for a backlog.
#[derive(Serialize)]
struct Grouped {
    seconds: f64,
    rolls: usize,
    unfit: usize,
    runs: usize,
    least_runs: usize,
    cost: Amount,
    least_cost: Amount,
}

fn grouped(text: &str, budget: &Budget) -> Option<Grouped> {
    let day = Day::from_json(text).ok()?;
    let began = Instant::now();
    let found = groups(&day, budget, &mut |_| {});
    Some(Grouped {
        seconds: began.elapsed().as_secs_f64(),
        rolls: found.runs.iter().map(Vec::len).sum(),
        unfit: found.unfit.len(),
        runs: found.runs.len(),
        least_runs: found.least_runs,
        cost: found.cost,
        least_cost: found.least_cost,
    })
}

fn line(text: &str, budget: &Budget) -> Line {
    match Day::from_json(text) {
        Ok(day) => {
            let began = Instant::now();
            let plan = plan(&day, budget, &mut |_| {});
            Line { seconds: began.elapsed().as_secs_f64(), plan: Some(plan), faults: Vec::new() }
        }
        Err(faults) => {
            let faults = faults.iter().map(ToString::to_string).collect();
            Line { seconds: 0.0, plan: None, faults }
        }
    }
}

/// The number that follows a word of the command line.
fn asked(word: &str) -> Option<u64> {
    let mut words = std::env::args().skip_while(|said| said != word);
    words.nth(1)?.parse().ok()
}

/// Plans the days on so many threads; a day's plan does not depend on how many.
fn planned(days: &[String], budget: &Budget, threads: u64) -> Vec<Option<Line>> {
    let next = Mutex::new(0..days.len());
    let done = Mutex::new(days.iter().map(|_| None).collect::<Vec<Option<Line>>>());
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| {
                while let Some(at) = next.lock().ok().and_then(|mut next| next.next()) {
                    let line = days.get(at).map(|day| line(day, budget));
                    if let Some(place) = done.lock().ok().as_mut().and_then(|d| d.get_mut(at)) {
                        *place = line;
                    }
                }
            });
        }
    });
    done.into_inner().unwrap_or_default()
}

fn main() -> ExitCode {
    let mut budget = Budget::default();
    if let Some(tries) = asked("--tries") {
        budget.tries = tries;
    }
    if let Some(starts) = asked("--starts") {
        budget.starts = starts;
    }
    let mut out = io::stdout().lock();
    if let Some(threads) = asked("--threads") {
        let days: Vec<String> = io::stdin().lock().lines().map_while(Result::ok).collect();
        for line in planned(&days, &budget, threads).iter().flatten() {
            let written = serde_json::to_string(line).map_err(io::Error::from);
            if written.and_then(|text| writeln!(out, "{text}")).is_err() {
                return ExitCode::FAILURE;
            }
        }
        return ExitCode::SUCCESS;
    }
    let grouping = std::env::args().any(|word| word == "--grouping");
    for text in io::stdin().lock().lines().map_while(Result::ok) {
        let written = if grouping {
            serde_json::to_string(&grouped(&text, &budget))
        } else {
            serde_json::to_string(&line(&text, &budget))
        };
        let written = written.map_err(io::Error::from);
        if written.and_then(|text| writeln!(out, "{text}")).and_then(|()| out.flush()).is_err() {
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}

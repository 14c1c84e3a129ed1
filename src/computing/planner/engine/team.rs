//! Several searches side by side, which now and then go on from the best of them.
#![allow(clippy::as_conversions, reason = "counts of changes and cycles are far below 2^53")]

use std::thread;

use super::{
    anneal::{Best, Heat, anneal},
    board::{Board, Saved},
    budget::Budget,
    greedy,
    moves::Mover,
    problem::Problem,
    task::{Schedule, Task, Unfit},
};

/// The share of the budget for a first, short anneal. It shows how fast the search is.
const OPENING: f64 = 0.08;
/// As many changes per job as one anneal from the first heat is worth having, about.
const THOROUGH: u64 = 60_000;
/// The most anneals from the first heat.
const MOST_CYCLES: u64 = 8;
/// The part of a cycle after which it goes on from the best, less hot.
const TURN: f64 = 0.7;
/// How hot a cycle goes on from the best, compared to the first heat.
const REHEAT: f64 = 0.1;

/// A part of the budget, from one share to another, how hot it begins compared to the first
/// heat, and whether it ends as cold as it gets.
struct Leg {
    span: (f64, f64),
    hot: f64,
    cold: bool,
}

/// The legs after the opening: as many cycles as the search is fast enough for.
fn legs(changes_per_job: u64) -> Vec<Leg> {
    let cycles = (changes_per_job / THOROUGH).clamp(1, MOST_CYCLES);
    let at = |cycle: u64, part: f64| {
        OPENING + (1.0 - OPENING) * (to_float(cycle) + part) / to_float(cycles)
    };
    (0..cycles)
        .flat_map(|cycle| {
            let turn = at(cycle, TURN);
            [
                Leg { span: (at(cycle, 0.0), turn), hot: 1.0, cold: false },
                Leg { span: (turn, at(cycle, 1.0)), hot: REHEAT, cold: true },
            ]
        })
        .collect()
}

fn to_float(count: u64) -> f64 {
    count as f64
}

/// Looks for a schedule of the task until the budget is spent, with so many threads (at least 1).
///
/// # Errors
/// What is wrong with the task.
pub fn search(
    task: &Task,
    budget: Budget<'_>,
    seed: u64,
    threads: usize,
) -> Result<Schedule, Unfit> {
    task.check()?;
    let problem = Problem::new(task);
    let mut board = Board::new(&problem);
    greedy::fill(&mut board);
    let mut best = Best { cost: board.cost, rows: Saved::default(), work: 0 };
    board.save(&mut best.rows);
    if problem.able.is_empty() {
        return Ok(board.schedule(0));
    }
    let team: Vec<Mover> = (0..threads.max(1))
        .map(|member| {
            Mover::new(seed.wrapping_add(
                u64::try_from(member).unwrap_or(0).wrapping_mul(0x9e37_79b9_7f4a_7c15),
            ))
        })
        .collect();
    let mut team = Team { problem: &problem, movers: team, budget, heat: Heat::of(&problem), best };
    team.run(&Leg { span: (0.0, OPENING), hot: 1.0, cold: false });
    let each = to_float(team.best.work) / (team.movers.len() * problem.able.len()) as f64;
    for leg in legs((each / OPENING) as u64) {
        team.run(&leg);
    }
    board.load(&team.best.rows);
    Ok(board.schedule(team.best.work))
}

/// The searches and the best they have found.
struct Team<'t> {
    problem: &'t Problem,
    movers: Vec<Mover>,
    budget: Budget<'t>,
    heat: Heat,
    best: Best,
}

impl Team<'_> {
    /// All searches for one leg, from the best; the best of what they find stays.
    fn run(&mut self, leg: &Leg) {
        let to = if leg.cold { self.heat.cold } else { self.heat.to };
        let heat = Heat { from: (self.heat.from * leg.hot).max(to), to, ..self.heat };
        let (problem, budget, start) = (self.problem, self.budget, &self.best.rows);
        let found: Vec<Option<Best>> = thread::scope(|scope| {
            let go =
                |mover| scope.spawn(move || one(problem, start, mover, budget, (leg.span, heat)));
            let members: Vec<_> = self.movers.iter_mut().map(go).collect();
            members.into_iter().map(|member| member.join().ok()).collect()
        });
        let mut work = self.best.work;
        for member in found.into_iter().flatten() {
            work += member.work;
            if member.cost < self.best.cost {
                self.best = member;
            }
        }
        self.best.work = work;
    }
}

fn one(
    problem: &Problem,
    start: &Saved,
    mover: &mut Mover,
    budget: Budget<'_>,
    leg: ((f64, f64), Heat),
) -> Best {
    let mut board = Board::new(problem);
    board.load(start);
    anneal(&mut board, mover, budget, leg.0, leg.1)
}

//! Several searches side by side, which now and then go on from the best of them.

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

/// The shares of the budget at which the searches meet, and how hot they go on from there,
/// compared to the first heat.
const ROUNDS: [(f64, f64); 3] = [(0.0, 1.0), (0.1, 1.0), (0.75, 0.02)];

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
    let mut team: Vec<Mover> = (0..threads.max(1))
        .map(|member| {
            Mover::new(seed.wrapping_add(
                u64::try_from(member).unwrap_or(0).wrapping_mul(0x9e37_79b9_7f4a_7c15),
            ))
        })
        .collect();
    let heat = Heat::of(&problem);
    for (round, &(from, warmth)) in ROUNDS.iter().enumerate() {
        let to = ROUNDS.get(round + 1).map_or(1.0, |next| next.0);
        let heat = Heat { from: (heat.from * warmth).max(heat.to), ..heat };
        let start = &best.rows;
        let found: Vec<Option<Best>> = thread::scope(|scope| {
            let problem = &problem;
            let members: Vec<_> = team
                .iter_mut()
                .map(|mover| {
                    scope.spawn(move || one(problem, start, mover, budget, ((from, to), heat)))
                })
                .collect();
            members.into_iter().map(|member| member.join().ok()).collect()
        });
        let mut work = best.work;
        for member in found.into_iter().flatten() {
            work += member.work;
            if member.cost < best.cost {
                best = member;
            }
        }
        best.work = work;
    }
    board.load(&best.rows);
    Ok(board.schedule(best.work))
}

fn one(
    problem: &Problem,
    start: &Saved,
    mover: &mut Mover,
    budget: Budget<'_>,
    round: ((f64, f64), Heat),
) -> Best {
    let mut board = Board::new(problem);
    board.load(start);
    anneal(&mut board, mover, budget, round.0, round.1)
}

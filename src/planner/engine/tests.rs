//! What holds for any task: drawn at random, small enough for every corner to be met.

use super::{board::Board, dice::Dice, greedy, moves::Mover, problem::Problem, *};

/// A task of some size, with every feature now and then.
fn any_task(seed: u64) -> Task {
    let mut dice = Dice::new(seed);
    let mut upto = |least: i64, most: i64| {
        least + dice.below(usize::try_from(most - least + 1).unwrap()) as i64
    };
    let (kinds, machines) = (upto(1, 3) as usize, upto(1, 4) as usize);
    let many = upto(0, 30);
    let scale = upto(1, 8);
    Task {
        setups: (0..kinds)
            .map(|_| (0..kinds).map(|_| Setup { time: upto(0, 3), cost: upto(0, 5) }).collect())
            .collect(),
        machines: (0..machines)
            .map(|_| {
                let mut at = 0;
                let mut open = Vec::new();
                for _ in 0..upto(1, 4) {
                    at += upto(0, 30);
                    let to = at + upto(0, 20 * scale);
                    open.push((at, to));
                    at = to;
                }
                let first_kind = (upto(0, 1) == 1).then(|| upto(0, kinds as i64 - 1) as usize);
                Machine { capacity: upto(4, 12), open, first_kind }
            })
            .collect(),
        jobs: (0..many)
            .map(|_| {
                let min_time = upto(1, 10);
                let release = upto(0, 60);
                Job {
                    size: upto(1, 5),
                    release,
                    due: release + upto(1, 30),
                    min_time,
                    max_time: min_time + upto(0, 5),
                    kind: upto(0, kinds as i64 - 1) as usize,
                    machines: (0..machines).filter(|_| upto(0, 2) > 0).collect(),
                    late_cost: upto(0, 50),
                }
            })
            .collect(),
        costs: Costs { per_time: upto(0, 5), per_batch: upto(0, 5) },
    }
}

#[test]
fn a_price_is_what_the_schedule_then_costs() {
    for seed in 0..300 {
        let task = any_task(seed);
        let problem = Problem::new(&task);
        if problem.able.is_empty() {
            continue;
        }
        let mut board = Board::new(&problem);
        greedy::fill(&mut board);
        let mut mover = Mover::new(seed);
        for tried in 0..2000 {
            let limit = board.cost + if tried % 3 == 0 { i64::MAX / 4 } else { 20 };
            mover.try_one(&mut board, limit);
            let cost: i64 = board.rows.iter().map(|row| row.cost()).sum();
            assert_eq!(board.cost, cost, "seed {seed}, change {tried}");
            assert!(cost <= limit, "seed {seed}, change {tried}");
        }
    }
}

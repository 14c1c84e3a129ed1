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
    for seed in 0..120 {
        let task = any_task(seed);
        let problem = Problem::new(&task);
        if problem.able.is_empty() {
            continue;
        }
        let mut board = Board::new(&problem);
        greedy::fill(&mut board);
        let mut mover = Mover::new(seed);
        for tried in 0..1200 {
            let limit = board.cost + if tried % 3 == 0 { i64::MAX / 4 } else { 20 };
            mover.try_one(&mut board, limit);
            let cost: i64 = board.rows.iter().map(|row| row.cost()).sum();
            assert_eq!(board.cost, cost, "seed {seed}, change {tried}");
            assert!(cost <= limit, "seed {seed}, change {tried}");
        }
    }
}

/// Every rule of a schedule, said plainly and without the engine's parts; what it costs.
fn check(task: &Task, schedule: &Schedule) -> i64 {
    let mut seen = vec![0; task.jobs.len()];
    let mut cost = 0;
    for &job in &schedule.left_out {
        seen[job] += 1;
    }
    let mut last: Vec<Option<(i64, usize)>> = vec![None; task.machines.len()];
    for batch in &schedule.batches {
        let machine = &task.machines[batch.machine];
        let jobs: Vec<&Job> = batch.jobs.iter().map(|&job| &task.jobs[job]).collect();
        let end = batch.start + batch.duration;
        for &job in &batch.jobs {
            seen[job] += 1;
        }
        for job in &jobs {
            assert!(job.machines.contains(&batch.machine));
            assert!(job.release <= batch.start);
            assert!(job.min_time <= batch.duration && batch.duration <= job.max_time);
            assert_eq!(job.kind, jobs[0].kind);
            cost += if end > job.due { job.late_cost } else { 0 };
        }
        assert!(jobs.iter().map(|job| job.size).sum::<i64>() <= machine.capacity);
        let from = last[batch.machine].map(|last| last.1).or(machine.first_kind);
        let setup = from.map_or(Setup::default(), |from| task.setups[from][jobs[0].kind]);
        assert!(
            machine.open.iter().any(|open| open.0 <= batch.start - setup.time && end <= open.1)
        );
        assert!(last[batch.machine].is_none_or(|last| last.0 + setup.time <= batch.start));
        last[batch.machine] = Some((end, jobs[0].kind));
        cost += setup.cost + task.costs.per_batch + task.costs.per_time * batch.duration;
    }
    assert!(seen.iter().all(|&times| times == 1), "{seen:?}");
    cost
}

#[test]
fn every_schedule_keeps_every_rule_and_costs_what_it_says() {
    let mut placed = 0;
    for seed in 0..150 {
        let task = any_task(seed);
        let schedule = search(&task, Budget::Work(3000), seed, 1).unwrap();
        assert_eq!(check(&task, &schedule), schedule.cost, "task {seed}");
        placed += schedule.batches.len();
    }
    assert!(placed > 1000);
}

#[test]
fn the_same_work_gives_the_same_schedule() {
    for seed in 0..10 {
        let task = any_task(seed);
        let schedule = search(&task, Budget::Work(5000), seed, 3).unwrap();
        for _ in 0..3 {
            assert_eq!(search(&task, Budget::Work(5000), seed, 3).unwrap(), schedule);
        }
    }
}

#[test]
fn a_search_ends_when_its_time_has_gone() {
    let task = any_task(3);
    let schedule = search(&task, Budget::Share(&|| 1.0), 1, 2).unwrap();
    assert_eq!(schedule.work, 0);
    check(&task, &schedule);
    let schedule = search(&task, Budget::Share(&|| f64::NAN), 1, 2).unwrap();
    check(&task, &schedule);
}

/// The least cost over all orders and groupings of a few jobs on one machine.
fn least(task: &Task, done: &mut Vec<Vec<usize>>, left: &[usize]) -> i64 {
    if left.is_empty() {
        return lay_out(task, done).unwrap_or(i64::MAX);
    }
    let mut best = i64::MAX;
    for chosen in 1_usize..1 << left.len() {
        let (inside, outside): (Vec<_>, Vec<_>) =
            (0..left.len()).partition(|bit| chosen >> bit & 1 == 1);
        done.push(inside.iter().map(|&at| left[at]).collect());
        let rest: Vec<usize> = outside.iter().map(|&at| left[at]).collect();
        best = best.min(least(task, done, &rest));
        done.pop();
    }
    best
}

/// The batches as early as they can be, tried minute by minute; what they cost.
fn lay_out(task: &Task, batches: &[Vec<usize>]) -> Option<i64> {
    let (machine, mut free, mut kind, mut cost) =
        (&task.machines[0], 0, task.machines[0].first_kind, 0);
    for jobs in batches {
        let jobs: Vec<&Job> = jobs.iter().map(|&job| &task.jobs[job]).collect();
        let duration = jobs.iter().map(|job| job.min_time).max()?;
        let setup = kind.map_or(Setup::default(), |kind| task.setups[kind][jobs[0].kind]);
        let fits = jobs.iter().all(|job| job.max_time >= duration && job.kind == jobs[0].kind);
        if !fits || jobs.iter().map(|job| job.size).sum::<i64>() > machine.capacity {
            return None;
        }
        let start = (free + setup.time..200).find(|&start| {
            jobs.iter().all(|job| job.release <= start)
                && machine
                    .open
                    .iter()
                    .any(|open| open.0 <= start - setup.time && start + duration <= open.1)
        })?;
        free = start + duration;
        kind = Some(jobs[0].kind);
        cost += setup.cost + task.costs.per_batch + task.costs.per_time * duration;
        cost += jobs.iter().filter(|job| free > job.due).map(|job| job.late_cost).sum::<i64>();
    }
    Some(cost)
}

#[test]
fn small_tasks_are_solved_to_the_end() {
    let mut solved = 0;
    for seed in 0..160 {
        let mut task = any_task(seed);
        task.jobs.truncate(5);
        task.machines.truncate(1);
        task.jobs.iter_mut().for_each(|job| job.machines = vec![0]);
        let schedule = search(&task, Budget::Work(5000), 1, 1).unwrap();
        let all: Vec<usize> = (0..task.jobs.len()).collect();
        let least = least(&task, &mut Vec::new(), &all);
        if least < i64::MAX {
            assert!(schedule.left_out.is_empty(), "task {seed}");
            assert_eq!(schedule.cost, least, "task {seed}");
            solved += usize::from(task.jobs.len() == 5);
        }
    }
    assert!(solved > 40, "{solved}");
}

#[test]
fn a_task_that_leads_nowhere_is_refused_by_name() {
    let good = any_task(5);
    assert!(good.check().is_ok() && !good.jobs.is_empty());
    let mut task = good.clone();
    task.jobs[0].machines = vec![99];
    assert_eq!(search(&task, Budget::Work(1), 1, 1), Err(Unfit::NoMachine { job: 0, machine: 99 }));
    let mut task = good.clone();
    task.jobs[0].kind = 99;
    assert_eq!(search(&task, Budget::Work(1), 1, 1), Err(Unfit::Kinds { of: "job", index: 0 }));
    let mut task = good.clone();
    task.jobs[0].min_time = -1;
    assert!(matches!(search(&task, Budget::Work(1), 1, 1), Err(Unfit::Number { value: -1, .. })));
    let mut task = good;
    task.machines[0].open.push((0, i64::MAX));
    assert!(matches!(
        search(&task, Budget::Work(1), 1, 1),
        Err(Unfit::Number { value: i64::MAX, .. })
    ));
}

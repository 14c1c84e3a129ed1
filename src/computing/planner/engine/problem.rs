//! A task made ready for the search: what is looked up often is worked out once.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: all indices were checked when the task came in"
)]

use super::task::{Setup, Task};

/// A time before all others.
pub(super) const BEFORE: i64 = i64::MIN / 8;
/// The end of a batch that has no place in any interval.
pub(super) const NEVER: i64 = i64::MAX / 8;

/// A job as the search sees it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub(super) size: i64,
    pub(super) release: i64,
    pub(super) due: i64,
    pub(super) min_time: i64,
    pub(super) max_time: i64,
    pub(super) late_cost: i64,
    /// The machines it fits, a bit each.
    pub(super) machines: u64,
    pub(super) kind: u32,
}

/// A machine as the search sees it.
#[derive(Debug)]
pub(super) struct Oven {
    pub(super) capacity: i64,
    /// Rising in both ends, none inside another.
    pub(super) open: Vec<(i64, i64)>,
    pub(super) first_kind: u32,
}

/// The jobs of one kind in an order, and the place of each in it.
#[derive(Debug)]
pub(super) struct Ranking {
    pub(super) lists: Vec<Vec<u32>>,
    pub(super) rank: Vec<u32>,
}

/// A task made ready.
#[derive(Debug)]
pub(super) struct Problem {
    pub(super) jobs: Vec<Piece>,
    pub(super) ovens: Vec<Oven>,
    /// Rows of `kinds + 1`: the last row is that of a machine without a first kind.
    setups: Vec<Setup>,
    kinds: usize,
    pub(super) per_time: i64,
    pub(super) per_batch: i64,
    /// What a job left out costs: more than everything else together.
    pub(super) left_cost: i64,
    /// The jobs that fit some machine.
    pub(super) able: Vec<u32>,
    /// Jobs of one kind by time, by due, by release.
    pub(super) rankings: [Ranking; 3],
}

impl Problem {
    pub(super) fn new(task: &Task) -> Self {
        let kinds = task.setups.len();
        let mut setups: Vec<Setup> = task.setups.iter().flatten().copied().collect();
        setups.extend(std::iter::repeat_n(Setup::default(), kinds));
        let ovens: Vec<Oven> = task
            .machines
            .iter()
            .map(|machine| Oven {
                capacity: machine.capacity,
                open: tidy(&machine.open),
                first_kind: machine.first_kind.unwrap_or(kinds) as u32,
            })
            .collect();
        let jobs: Vec<Piece> = task.jobs.iter().map(|job| ready(job, &ovens)).collect();
        let able: Vec<u32> =
            (0..jobs.len() as u32).filter(|&job| jobs[job as usize].machines != 0).collect();
        let dearest = task.setups.iter().flatten().map(|setup| setup.cost).max().unwrap_or(0);
        let mut left_cost = 1_i64;
        for job in &jobs {
            let alone = task.costs.per_time.saturating_mul(job.min_time);
            let all = [alone, task.costs.per_batch, job.late_cost, dearest];
            left_cost = all.into_iter().fold(left_cost, i64::saturating_add);
        }
        let left_cost = left_cost.min(i64::MAX / 4 / (jobs.len() as i64 + 1));
        let rankings = [
            Ranking::new(&jobs, &able, kinds, |job| (job.min_time, job.max_time)),
            Ranking::new(&jobs, &able, kinds, |job| (job.due, job.release)),
            Ranking::new(&jobs, &able, kinds, |job| (job.release, job.due)),
        ];
        let costs = task.costs;
        Self {
            jobs,
            ovens,
            setups,
            kinds,
            per_time: costs.per_time,
            per_batch: costs.per_batch,
            left_cost,
            able,
            rankings,
        }
    }

    /// The set-up from one kind to the next.
    pub(super) fn setup(&self, from: u32, to: u32) -> Setup {
        self.setups[from as usize * self.kinds + to as usize]
    }
}

impl Ranking {
    fn new(jobs: &[Piece], able: &[u32], kinds: usize, key: impl Fn(&Piece) -> (i64, i64)) -> Self {
        let mut lists = vec![Vec::new(); kinds];
        for &job in able {
            lists[jobs[job as usize].kind as usize].push(job);
        }
        let mut rank = vec![0; jobs.len()];
        for list in &mut lists {
            list.sort_by_key(|&job| (key(&jobs[job as usize]), job));
            for (place, &job) in list.iter().enumerate() {
                rank[job as usize] = place as u32;
            }
        }
        Self { lists, rank }
    }
}

/// Intervals in order, without those inside another.
fn tidy(open: &[(i64, i64)]) -> Vec<(i64, i64)> {
    let mut sorted: Vec<(i64, i64)> =
        open.iter().copied().filter(|(from, to)| from <= to).collect();
    sorted.sort_by_key(|&(from, to)| (from, std::cmp::Reverse(to)));
    let mut kept: Vec<(i64, i64)> = Vec::new();
    for (from, to) in sorted {
        if kept.last().is_none_or(|last| to > last.1) {
            kept.push((from, to));
        }
    }
    kept
}

fn ready(job: &super::task::Job, ovens: &[Oven]) -> Piece {
    let fits = |oven: &Oven| {
        let long_enough = |&(from, to): &(i64, i64)| from.max(job.release) + job.min_time <= to;
        job.size <= oven.capacity && oven.open.iter().any(long_enough)
    };
    let mut machines = 0;
    for &machine in &job.machines {
        if job.min_time <= job.max_time && fits(&ovens[machine]) {
            machines |= 1 << machine;
        }
    }
    Piece {
        size: job.size,
        release: job.release,
        due: job.due,
        min_time: job.min_time,
        max_time: job.max_time,
        late_cost: job.late_cost,
        machines,
        kind: job.kind as u32,
    }
}

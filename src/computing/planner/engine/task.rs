//! The question a search is given and the answer it hands out.

use std::fmt;

/// The greatest number of machines a task may have.
pub(super) const MOST_MACHINES: usize = 64;
/// The greatest absolute value of any number of a task. Sums of products of them stay far
/// within 64 bits.
pub(super) const GREATEST: i64 = 1_000_000_000_000;

/// Something to be done in a batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// What it takes of a machine's capacity.
    pub size: i64,
    /// The earliest start of its batch.
    pub release: i64,
    /// The latest end of its batch that is not late.
    pub due: i64,
    /// The shortest duration of its batch, at least 0.
    pub min_time: i64,
    /// The longest duration of its batch.
    pub max_time: i64,
    /// Only jobs of one kind share a batch; an index into the rows of [`Task::setups`].
    pub kind: usize,
    /// The machines it may go to: indices into [`Task::machines`].
    pub machines: Vec<usize>,
    /// What its being late costs.
    pub late_cost: i64,
}

/// Where batches happen, one after another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// The most that the sizes of a batch's jobs sum to.
    pub capacity: i64,
    /// Its intervals [from, to]; a batch and the set-up just before it lie in one of them.
    pub open: Vec<(i64, i64)>,
    /// The kind it is set up for at first; `None` spares the first batch its set-up.
    pub first_kind: Option<usize>,
}

/// What a machine needs between two batches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Setup {
    /// Time just before the second batch.
    pub time: i64,
    /// What it costs, all told.
    pub cost: i64,
}

/// What is made small, besides the late costs of the jobs and the costs of the set-ups.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Costs {
    /// For each unit of a batch's duration.
    pub per_time: i64,
    /// For each batch.
    pub per_batch: i64,
}

/// A question: all numbers at most 10^12, at most 64 machines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// The jobs.
    pub jobs: Vec<Job>,
    /// The machines.
    pub machines: Vec<Machine>,
    /// The set-up from one kind (row) to the next (column): as many rows as columns.
    pub setups: Vec<Vec<Setup>>,
    /// What is made small.
    pub costs: Costs,
}

/// A batch in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// The machine, an index into [`Task::machines`].
    pub machine: usize,
    /// When it starts.
    pub start: i64,
    /// How long it takes: the longest `min_time` of its jobs.
    pub duration: i64,
    /// Its jobs in rising order: indices into [`Task::jobs`].
    pub jobs: Vec<usize>,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// The batches, by machine and start.
    pub batches: Vec<Placed>,
    /// Jobs for which no place was found, or that fit no machine.
    pub left_out: Vec<usize>,
    /// What the batches cost; jobs left out are not in it.
    pub cost: i64,
    /// Changes tried by all threads together.
    pub work: u64,
}

/// Why a task cannot be searched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unfit {
    /// More than 64 machines.
    Machines(usize),
    /// The table of set-ups is not a square of the given size, or a kind lies outside it.
    Kinds {
        /// What the kind was found in.
        of: &'static str,
        /// Its index there.
        index: usize,
    },
    /// A number is negative where it cannot be, or beyond 10^12.
    Number {
        /// What it belongs to and is called.
        of: &'static str,
        /// The index of its owner.
        index: usize,
        /// The number.
        value: i64,
    },
    /// A job names a machine that there is not.
    NoMachine {
        /// The job.
        job: usize,
        /// The machine.
        machine: usize,
    },
}

impl fmt::Display for Unfit {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Machines(many) => {
                write!(to, "{many} machines; at most {MOST_MACHINES} can be searched")
            }
            Self::Kinds { of, index } => {
                write!(to, "{of} {index}: its kind has no row and column among the set-ups")
            }
            Self::Number { of, index, value } => {
                write!(
                    to,
                    "{of} {index}: {value} lies outside what can be searched (up to {GREATEST}; no negative cost, size or duration)"
                )
            }
            Self::NoMachine { job, machine } => {
                write!(to, "job {job}: there is no machine {machine}")
            }
        }
    }
}

impl std::error::Error for Unfit {}

impl Task {
    /// Whether every index leads somewhere and every number can be summed.
    pub(super) fn check(&self) -> Result<(), Unfit> {
        if self.machines.len() > MOST_MACHINES {
            return Err(Unfit::Machines(self.machines.len()));
        }
        let kinds = self.setups.len();
        for (index, row) in self.setups.iter().enumerate() {
            if row.len() != kinds {
                return Err(Unfit::Kinds { of: "set-up row", index });
            }
            for setup in row {
                number("set-up", index, &[setup.time, setup.cost], 0)?;
            }
        }
        number("costs", 0, &[self.costs.per_time, self.costs.per_batch], 0)?;
        for (index, machine) in self.machines.iter().enumerate() {
            if machine.first_kind.is_some_and(|kind| kind >= kinds) {
                return Err(Unfit::Kinds { of: "machine", index });
            }
            number("machine", index, &[machine.capacity], -GREATEST)?;
            for open in &machine.open {
                number("interval of machine", index, &[open.0, open.1], -GREATEST)?;
            }
        }
        self.jobs.iter().enumerate().try_for_each(|(index, job)| self.check_job(index, job))
    }

    fn check_job(&self, index: usize, job: &Job) -> Result<(), Unfit> {
        if job.kind >= self.setups.len() {
            return Err(Unfit::Kinds { of: "job", index });
        }
        number("job", index, &[job.size, job.min_time, job.late_cost], 0)?;
        number("job", index, &[job.release, job.due, job.max_time], -GREATEST)?;
        match job.machines.iter().find(|&&machine| machine >= self.machines.len()) {
            Some(&machine) => Err(Unfit::NoMachine { job: index, machine }),
            None => Ok(()),
        }
    }
}

fn number(of: &'static str, index: usize, values: &[i64], least: i64) -> Result<(), Unfit> {
    match values.iter().find(|&&value| value < least || value > GREATEST) {
        Some(&value) => Err(Unfit::Number { of, index, value }),
        None => Ok(()),
    }
}

//! Reads a published batch-scheduling instance (`.dzn`), searches for a while, and prints the
//! schedule as JSON: `{"batches": [{"machine": 1, "start": 0, "duration": 7, "jobs": [1, 5]}]}`,
//! machines and jobs counted from 1. Progress and cost go to standard error.
#![allow(
    clippy::indexing_slicing,
    reason = "the lengths of the lists are checked as they are read"
)]

use std::{collections::HashMap, fs, process::ExitCode, time::Instant};

use clap::Parser;
use wetside_computing::planner::engine::{
    self, Budget, Costs, Job, Machine, Schedule, Setup, Task,
};

/// What to search, and for how long.
#[derive(Parser)]
struct Args {
    /// The instance.
    file: String,
    /// Seconds to search.
    #[arg(long, default_value_t = 10.0)]
    seconds: f64,
    /// Changes to try per thread instead of a time: the same result everywhere.
    #[arg(long)]
    work: Option<u64>,
    /// Searches side by side.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// What chance starts from.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

fn main() -> ExitCode {
    let began = Instant::now();
    let args = Args::parse();
    let answer = fs::read_to_string(&args.file)
        .map_err(|error| error.to_string())
        .and_then(|text| Instance::read(&text))
        .and_then(|instance| instance.task())
        .and_then(|task| {
            let gone = || began.elapsed().as_secs_f64() / (args.seconds - 0.02).max(0.001);
            let budget = args.work.map_or(Budget::Share(&gone), Budget::Work);
            engine::search(&task, budget, args.seed, args.threads)
                .map_err(|unfit| unfit.to_string())
        });
    match answer {
        Ok(schedule) if schedule.left_out.is_empty() => {
            print(&schedule);
            ExitCode::SUCCESS
        }
        Ok(schedule) => {
            print(&schedule);
            let jobs: Vec<String> =
                schedule.left_out.iter().map(|job| (job + 1).to_string()).collect();
            eprintln!("{}: no place was found for job {}", args.file, jobs.join(", "));
            ExitCode::FAILURE
        }
        Err(fault) => {
            eprintln!("{}: {fault}", args.file);
            ExitCode::from(2)
        }
    }
}

fn print(schedule: &Schedule) {
    let batches: Vec<serde_json::Value> = schedule
        .batches
        .iter()
        .map(|batch| {
            let jobs: Vec<usize> = batch.jobs.iter().map(|job| job + 1).collect();
            serde_json::json!({"machine": batch.machine + 1, "start": batch.start, "duration": batch.duration, "jobs": jobs})
        })
        .collect();
    println!("{}", serde_json::json!({"batches": batches}));
    eprintln!("cost {} after {} changes tried", schedule.cost, schedule.work);
}

/// What stands behind a name of the file.
#[derive(Debug)]
enum Value {
    Number(i64),
    List(Vec<i64>),
    Sets(Vec<Vec<i64>>),
    Table(Vec<Vec<i64>>),
}

/// The names and values of a file.
struct Instance(HashMap<String, Value>);

fn numbers(text: &str) -> Result<Vec<i64>, String> {
    let parts = text.split(',').map(str::trim).filter(|part| !part.is_empty());
    parts
        .map(|part| part.parse().map_err(|_bad| format!("\"{part}\" is not a whole number")))
        .collect()
}

fn value(text: &str) -> Result<Value, String> {
    let inner =
        |open: &str, close: &str| text.strip_prefix(open).and_then(|rest| rest.strip_suffix(close));
    if let Some(body) = inner("[|", "|]") {
        return body.split('|').map(numbers).collect::<Result<_, _>>().map(Value::Table);
    }
    let Some(body) = inner("[", "]") else {
        return text
            .parse()
            .map(Value::Number)
            .map_err(|_bad| format!("\"{text}\" is neither a number nor a list"));
    };
    if !body.contains('{') {
        return numbers(body).map(Value::List);
    }
    let mut sets = Vec::new();
    for part in body.split('}') {
        match part.split_once('{') {
            Some((_, set)) => sets.push(numbers(set)?),
            None if part.trim().is_empty() => {}
            None => return Err(format!("\"{}\" stands outside the sets", part.trim())),
        }
    }
    Ok(Value::Sets(sets))
}

impl Instance {
    fn read(text: &str) -> Result<Self, String> {
        let bare: String = text
            .lines()
            .map(|line| line.split('%').next().unwrap_or(""))
            .collect::<Vec<_>>()
            .join("\n");
        let mut values = HashMap::new();
        for item in bare.split(';').map(str::trim).filter(|item| !item.is_empty()) {
            let (name, body) = item.split_once('=').ok_or(format!("\"{item}\" has no \"=\""))?;
            let read = value(body.trim()).map_err(|fault| format!("{}: {fault}", name.trim()))?;
            values.insert(name.trim().to_owned(), read);
        }
        Ok(Self(values))
    }

    fn number(&self, name: &str) -> Result<i64, String> {
        match self.0.get(name) {
            Some(Value::Number(number)) => Ok(*number),
            _ => Err(format!("{name}: a whole number is needed")),
        }
    }

    fn count(&self, name: &str) -> Result<usize, String> {
        usize::try_from(self.number(name)?)
            .map_err(|_negative| format!("{name}: it cannot be negative"))
    }

    fn list(&self, name: &str, len: usize) -> Result<&[i64], String> {
        match self.0.get(name) {
            Some(Value::List(list)) if list.len() == len => Ok(list),
            _ => Err(format!("{name}: a list of {len} whole numbers is needed")),
        }
    }

    fn table(&self, name: &str, rows: usize, columns: usize) -> Result<&[Vec<i64>], String> {
        match self.0.get(name) {
            Some(Value::Table(table))
                if table.len() >= rows
                    && table.iter().take(rows).all(|row| row.len() == columns) =>
            {
                Ok(table)
            }
            _ => Err(format!("{name}: a table of {rows} rows and {columns} columns is needed")),
        }
    }

    fn sets(&self, name: &str, len: usize) -> Result<&[Vec<i64>], String> {
        match self.0.get(name) {
            Some(Value::Sets(sets)) if sets.len() == len => Ok(sets),
            _ => Err(format!("{name}: a list of {len} sets is needed")),
        }
    }

    fn task(&self) -> Result<Task, String> {
        let kinds = self.count("a")?;
        let times = self.table("setup_times", kinds, kinds)?;
        let costs = self.table("setup_costs", kinds, kinds)?;
        let (per_cost, per_time) = (
            self.number("mult_factor_total_setupcosts")?,
            self.number("mult_factor_total_setuptimes")?,
        );
        let setup =
            |(&cost, &time): (&i64, &i64)| Setup { time, cost: per_cost * cost + per_time * time };
        let setups = costs
            .iter()
            .zip(times)
            .take(kinds)
            .map(|(costs, times)| costs.iter().zip(times).map(setup).collect());
        Ok(Task {
            jobs: self.jobs()?,
            machines: self.machines()?,
            setups: setups.collect(),
            costs: Costs { per_time: self.number("mult_factor_total_runtime")?, per_batch: 0 },
        })
    }

    fn jobs(&self) -> Result<Vec<Job>, String> {
        let (many, late_cost) = (self.count("n")?, self.number("mult_factor_finished_toolate")?);
        let release = self.list("earliest_start", many)?;
        let due = self.list("latest_end", many)?;
        let min_time = self.list("min_time", many)?;
        let max_time = self.list("max_time", many)?;
        let size = self.list("size", many)?;
        let kind = self.list("attribute", many)?;
        let machines = self.sets("eligible_machine", many)?;
        let mut jobs = Vec::new();
        for index in 0..many {
            jobs.push(Job {
                size: size[index],
                release: release[index],
                due: due[index],
                min_time: min_time[index],
                max_time: max_time[index],
                kind: from_one("attribute", kind[index])?,
                machines: machines[index]
                    .iter()
                    .map(|&machine| from_one("eligible_machine", machine))
                    .collect::<Result<_, _>>()?,
                late_cost,
            });
        }
        Ok(jobs)
    }

    fn machines(&self) -> Result<Vec<Machine>, String> {
        let (many, intervals) = (self.count("m")?, self.count("s")?);
        let from = self.table("m_a_s", many, intervals)?;
        let to = self.table("m_a_e", many, intervals)?;
        let capacity = self.list("max_cap", many)?;
        let first = if self.0.contains_key("initState") {
            self.list("initState", many)?
        } else {
            &vec![0; many]
        };
        let mut machines = Vec::new();
        for index in 0..many {
            machines.push(Machine {
                capacity: capacity[index],
                open: from[index].iter().copied().zip(to[index].iter().copied()).collect(),
                first_kind: if first[index] == 0 {
                    None
                } else {
                    Some(from_one("initState", first[index])?)
                },
            });
        }
        Ok(machines)
    }
}

/// The index of what the file counts from 1.
fn from_one(name: &str, number: i64) -> Result<usize, String> {
    usize::try_from(number - 1)
        .map_err(|_negative| format!("{name}: {number} is not counted from 1"))
}

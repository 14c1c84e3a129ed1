//! Drafts: making one, changing it, comparing it with another. Nothing of the room is touched.

use chrono::NaiveDate;

use super::answer;
use super::facts::{self, Facts};
use super::progress::{Watcher, unwatched};
use super::rules::{Fixed, Job, LeftOver, Outcome, Wish, cost};
use super::store::{self, NewPlan, Plan, Run};
use crate::clock::{Moment, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::recipes;
use crate::web::spoken;

/// What a day is worked out from, read in one moment.
#[derive(Clone, Debug)]
pub(super) struct Basis {
    pub(super) facts: Facts,
    pub(super) jobs: Vec<Job>,
    pub(super) left: Vec<LeftOver>,
    pub(super) wish: Wish,
}

/// Reads what a day is worked out from.
///
/// # Errors
/// As [`facts::load`].
pub(super) fn basis(
    conn: &mut Conn,
    (now, zone, date): (Moment, Zone, NaiveDate),
    by: i64,
    wish: Wish,
) -> Result<Basis, Error> {
    let facts = facts::load(conn, (now, zone, date), (&wish.people, by))?;
    let (jobs, left) = facts::jobs(conn, &facts, &wish, &[])?;
    Ok(Basis { facts, jobs, left, wish })
}

/// As [`basis`] for a day that is planned afresh, with every developer at this temperature, in
/// thousandths of a degree C; at their recipes' own where none is given.
///
/// # Errors
/// As [`facts::load`].
pub(super) fn basis_at(
    conn: &mut Conn,
    at: (Moment, Zone, NaiveDate),
    by: i64,
    all_mc: Option<i64>,
) -> Result<Basis, Error> {
    let mut wish = Wish::default();
    if let Some(mc) = all_mc {
        let developers = recipes::developers(conn)?.into_iter();
        wish.temperatures = developers.map(|d| (d.id, mc)).collect();
    }
    basis(conn, at, by, wish)
}

/// Works a day out; slow enough to be done outside any transaction.
///
/// # Errors
/// A refusal when a run cannot stand where it was put.
pub(super) fn work_out(basis: &Basis, watch: Watcher<'_>) -> Result<Outcome, Error> {
    let mut outcome = answer::day(&basis.facts, &basis.jobs, &basis.wish, watch)?;
    outcome.left_over.splice(0..0, basis.left.iter().cloned());
    outcome.sums.left = i64::try_from(outcome.left_over.len()).unwrap_or(i64::MAX);
    Ok(outcome)
}

/// Keeps a worked-out day as the draft of its date. `made_from` is the number of the draft it was
/// made from, which must still be the present one.
///
/// # Errors
/// A refusal that says what changed when the draft is another by now.
pub(super) fn keep(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    (basis, outcome): (&Basis, &Outcome),
    (made_from, said): (Option<i64>, &str),
) -> Result<i64, Error> {
    let date = basis.facts.date;
    if made_from.is_some() {
        still(tx, date, made_from)?;
    }
    let before = store::draft(tx, date)?.map(|d| d.number);
    let mut wish = basis.wish.clone();
    wish.fixed.retain(|f| f.pinned);
    let plan = NewPlan {
        date,
        state: "draft",
        wish: &wish,
        outcome,
        fixer_id: basis.facts.fixer.as_ref().map(|f| f.id),
        fix_s: basis.facts.fix_s(),
        made_from: made_from.or(before),
        said,
    };
    store::insert_plan(tx, (now, by), &plan).map(|(_, number)| number)
}

/// Refuses when the draft is no longer the one a form was made from, and says what it is now.
///
/// # Errors
/// The refusal; [`Error::NotFound`] when there is no draft at all.
pub(super) fn still(conn: &mut Conn, date: NaiveDate, number: Option<i64>) -> Result<Plan, Error> {
    let present = store::draft(conn, date)?.ok_or_else(|| {
        Error::refused("no-draft", "There is no draft for that day. Plan the day first.")
    })?;
    if number.is_some_and(|n| n != present.number) {
        let what = if present.said.is_empty() { "planned the day anew" } else { &present.said };
        return Err(Error::refused(
            "changed-meanwhile",
            format!(
                "The draft changed while you looked at it: {} made draft {} ({what}). Nothing of \
                 yours was done; look at it below and do it again if it is still wanted.",
                present.made_by, present.number
            ),
        ));
    }
    Ok(present)
}

/// One change a lead makes to a draft.
#[derive(Clone, Debug)]
pub(super) enum Edit {
    /// Plan everything that is not pinned again.
    Again,
    /// Another wish as a whole: tolerance, temperatures, people.
    Wish(Box<Wish>),
    /// A roll into another run, or into one of its own.
    Move { roll: i64, to: Option<i64> },
    /// A run to a tank, a sink and a start, and it stays there.
    Pin { run: i64, tank: i64, sink: i64, from: Moment },
    /// The run may move again.
    Unpin { run: i64 },
    /// The roll is not planned, or planned again.
    Hold { roll: i64, held: bool },
    /// The roll shares no run, or may again.
    Alone { roll: i64, alone: bool },
}

/// The wish that an edit makes of a draft, and the sentence that says what was done.
///
/// # Errors
/// A fault when the edit names a run or roll the draft does not have.
pub(super) fn apply(plan: &Plan, runs: &[Run], edit: &Edit) -> Result<(Wish, String), Error> {
    let mut wish = plan.wish.clone();
    let all: Vec<Fixed> = runs.iter().map(fixed).collect();
    let ticket = |id: i64| {
        let rolls = runs.iter().flat_map(|r| &r.rolls);
        rolls.filter(|r| r.roll_id == id).map(|r| spoken(&r.ticket)).next().unwrap_or_default()
    };
    let numbered = |id: i64| {
        let found = runs.iter().zip(all.iter()).find(|(r, _)| r.id == id);
        found.map(|(r, f)| (r.number, f.clone())).ok_or_else(no_run)
    };
    let said = match edit {
        Edit::Again => "planned again around what is pinned".to_owned(),
        Edit::Wish(wanted) => {
            let fixed = std::mem::take(&mut wish.fixed);
            wish = Wish { fixed, ..(**wanted).clone() };
            "other conditions for the day".to_owned()
        }
        Edit::Move { roll, to } => {
            wish.fixed = moved(&all, runs, *roll, *to)?;
            match to {
                Some(run) => format!("{} into run {}", ticket(*roll), numbered(*run)?.0),
                None => format!("{} into a run of its own", ticket(*roll)),
            }
        }
        Edit::Pin { run, tank, sink, from } => {
            let (number, one) = numbered(*run)?;
            wish.fixed = pinned(&all, one, (*tank, *sink, *from));
            format!("run {number} pinned")
        }
        Edit::Unpin { run } => {
            let (number, one) = numbered(*run)?;
            wish.fixed.retain(|f| !same(f, &one));
            format!("run {number} may move again")
        }
        Edit::Hold { roll, held } => {
            wish.fixed = without(&all, *roll);
            if *held {
                wish.held_back.insert(*roll);
                format!("{} held back", ticket(*roll))
            } else {
                wish.held_back.remove(roll);
                "a roll let go again".to_owned()
            }
        }
        Edit::Alone { roll, alone } => {
            if *alone {
                wish.fixed = all.iter().filter(|f| !f.rolls.contains(roll)).cloned().collect();
                wish.alone.insert(*roll);
                format!("{} shares no run", ticket(*roll))
            } else {
                wish.alone.remove(roll);
                format!("{} may share a run", ticket(*roll))
            }
        }
    };
    wish.fixed.retain(|f| !f.rolls.is_empty());
    Ok((wish, said))
}

/// Whether two hold the same rolls, in whatever order they lie on the column.
fn same(one: &Fixed, other: &Fixed) -> bool {
    one.rolls.len() == other.rolls.len() && one.rolls.iter().all(|r| other.rolls.contains(r))
}

fn no_run() -> Error {
    Error::field("run", "That run is not in this draft; choose one of the list.")
}

fn fixed(run: &Run) -> Fixed {
    Fixed {
        rolls: run.rolls.iter().map(|r| r.roll_id).collect(),
        tank_id: run.tank_id,
        sink_id: run.sink_id,
        load_from: run.load.from,
        from: run.from,
        pinned: run.pinned,
    }
}

/// All runs as they stand, but for one roll that changes its run. A roll that is to run by itself
/// is left to the planner.
fn moved(all: &[Fixed], runs: &[Run], roll: i64, to: Option<i64>) -> Result<Vec<Fixed>, Error> {
    let mut fixed = without(all, roll);
    if let Some(run) = to {
        let at = runs.iter().position(|r| r.id == run).ok_or_else(no_run)?;
        fixed.get_mut(at).ok_or_else(no_run)?.rolls.push(roll);
    }
    Ok(fixed)
}

/// All runs as they stand, but for one roll that is in none.
fn without(all: &[Fixed], roll: i64) -> Vec<Fixed> {
    let mut fixed = all.to_vec();
    for f in &mut fixed {
        f.rolls.retain(|r| *r != roll);
    }
    fixed
}

/// All runs as they stand, but for one that goes to another tank, sink and start and stays there.
fn pinned(all: &[Fixed], mut one: Fixed, (tank, sink, from): (i64, i64, Moment)) -> Vec<Fixed> {
    let others = all.iter().filter(|f| !same(f, &one)).cloned();
    let mut fixed: Vec<Fixed> = others.collect();
    one.load_from = from.plus(-one.from.since(one.load_from));
    one.tank_id = tank;
    one.sink_id = sink;
    one.from = from;
    one.pinned = true;
    fixed.push(one);
    fixed
}

/// What an edit made of the day, in one sentence for the lead.
#[must_use]
pub(super) fn told(said: &str, before: &Plan, after: &Outcome) -> String {
    format!("{said}: {}", cost(&before.sums, &after.sums))
}

/// Another plan beside the present one.
#[derive(Clone, Debug)]
pub(super) struct WhatIf {
    /// What would be different.
    pub(super) name: String,
    /// What it would come to, or why it cannot be.
    pub(super) outcome: Result<Outcome, String>,
}

/// The present plan's day under other conditions: twice the tolerance, one more tank, one hour more.
pub(super) fn what_ifs(basis: &Basis, tank: Option<&(i64, String)>) -> Vec<WhatIf> {
    let figures = &basis.facts.figures;
    let over = basis.wish.over.unwrap_or(figures.over_percent);
    let under = basis.wish.under.unwrap_or(figures.under_percent);
    let mut others = vec![(
        format!("Times may be {} % shorter or {} % longer", under * 2, over * 2),
        Wish { over: Some(over * 2), under: Some((under * 2).min(99)), ..basis.wish.clone() },
    )];
    if let Some((id, name)) = tank {
        others.push((
            format!("One more tank like {name}"),
            Wish { twin_tank: Some(*id), ..basis.wish.clone() },
        ));
    }
    others.push(("Open one hour longer".to_owned(), Wish { longer_s: 3600, ..basis.wish.clone() }));
    let answer = |(name, wish)| {
        let other = Basis { wish, ..basis.clone() };
        let outcome = work_out(&other, &mut unwatched).map_err(|e| e.to_string());
        WhatIf { name, outcome }
    };
    others.into_iter().map(answer).collect()
}

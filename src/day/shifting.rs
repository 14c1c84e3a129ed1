//! A published day that changes: it slips, or a run is taken out of it. Each change is a version
//! with its sentence, and only those it hits are told.

use chrono::NaiveDate;

use super::at_sink::has_begun;
use super::store::{self, Run};
use super::{mail, publishing, sheet};
use crate::bookings::Place;
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::rolls::{self, State};
use crate::sessions::Person;
use crate::sinks;
use crate::web::counted;

/// Takes a run out of its published day: sink, tank and reels are free, its rolls wait again, their
/// owners are told why.
///
/// # Errors
/// A refusal when the run has begun or is over.
pub(super) fn take_back(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (id, why): (i64, &str),
) -> Result<Run, Error> {
    let run = store::run(tx, id)?;
    if !run.published || run.withdrawn.is_some() {
        return Err(Error::NotFound);
    }
    if run.ended.is_some() || has_begun(tx, run.id)? {
        return Err(Error::refused(
            "run-begun",
            format!("Run {} has begun; end it or give it up at the sink.", run.number),
        ));
    }
    out(tx, place, person, &run, why)?;
    let sentence = format!("Run {} taken back: {why}.", run.number);
    store::add_change(tx, (place.now, person.id), run.date, &sentence)?;
    Ok(run)
}

fn out(tx: &mut Tx<'_>, place: &Place, person: &Person, run: &Run, why: &str) -> Result<(), Error> {
    store::mark_withdrawn(tx, place.now, run.id)?;
    sinks::release_run(tx, run.id)?;
    for roll in &run.rolls {
        let note = format!("Run {} of {} was taken back: {why}", run.number, run.date);
        rolls::set_state(tx, place.now, (roll.roll_id, Some(person.id)), State::HandedIn, &note)?;
    }
    mail::taken_back(tx, place, run, why)
}

/// What came of a day's slipping.
#[derive(Clone, Debug, Default, serde::Serialize, serde::Deserialize)]
pub(super) struct Slid {
    /// Runs that moved by just as much.
    pub(super) moved: usize,
    /// A sentence for each run that something was in the way of.
    pub(super) in_the_way: Vec<String>,
}

/// Moves every run of a published day that has not begun by so many minutes, in their order and
/// without grouping anything anew. Where a booking is in the way, the run goes to the next time at
/// which its tank and a sink are free; where there is none before closing, it is taken back.
///
/// # Errors
/// A refusal when nothing is left to move.
pub(super) fn slide(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (date, minutes): (NaiveDate, i64),
) -> Result<Slid, Error> {
    let mut left = Vec::new();
    for run in store::published_runs(tx, date)? {
        if run.ended.is_none() && store::own(tx, run.id)?.is_none() && !has_begun(tx, run.id)? {
            left.push(run);
        }
    }
    if left.is_empty() {
        return Err(Error::refused("nothing-left", "Every run of that day has begun or is over."));
    }
    let closing = sinks::opening(tx, place.zone, date)?.last().map(|s| s.to);
    for run in &left {
        sinks::release_run(tx, run.id)?;
    }
    let mut slid = Slid::default();
    let mut hit = Vec::new();
    for run in left {
        let wanted = moved(&run, minutes * 60);
        match settle(tx, place.now, &wanted, closing)? {
            Some(settled) => {
                let load = settled.load;
                store::update_times(tx, run.id, settled.sink_id, (load, settled.from, settled.to))?;
                if settled.from == wanted.from && settled.sink_id == wanted.sink_id {
                    slid.moved += 1;
                } else {
                    slid.in_the_way.push(collision(place, &wanted, &settled));
                    hit.push(settled);
                }
            }
            None => {
                let why = format!("the day slipped by {minutes} min and no time is left for it");
                out(tx, place, person, &run, &why)?;
                slid.in_the_way
                    .push(format!("Run {} has no time left and waits again", run.number));
            }
        }
    }
    let sentence = format!(
        "{} min later: {} moved{}{}.",
        minutes,
        counted(slid.moved, "run", "runs"),
        if slid.in_the_way.is_empty() { "" } else { "; " },
        slid.in_the_way.join("; ")
    );
    let version = store::add_change(tx, (place.now, person.id), date, &sentence)?;
    let figures = super::facts::figures(tx)?;
    for run in &hit {
        mail::moved(tx, place, run, (version, figures.drying_s + figures.sleeving_s))?;
    }
    Ok(slid)
}

fn moved(run: &Run, seconds: i64) -> Run {
    Run {
        load: Span { from: run.load.from.plus(seconds), to: run.load.to.plus(seconds) },
        from: run.from.plus(seconds),
        to: run.to.plus(seconds),
        ..run.clone()
    }
}

/// Holds what the run needs at the first time and sink that are free, and says which.
fn settle(
    tx: &mut Tx<'_>,
    now: Moment,
    wanted: &Run,
    closing: Option<Moment>,
) -> Result<Option<Run>, Error> {
    let figures = super::facts::figures(tx)?;
    let all = sinks::sinks(tx)?;
    let mut by_wish: Vec<(i64, String)> = vec![(wanted.sink_id, wanted.sink.clone())];
    by_wish.extend(all.into_iter().filter(|s| s.id != wanted.sink_id).map(|s| (s.id, s.name)));
    for later in 0..144 {
        let at = moved(wanted, later * 300);
        if closing.is_some_and(|c| at.to > c) && later > 0 {
            return Ok(None);
        }
        for (sink_id, sink) in &by_wish {
            let run = Run { sink_id: *sink_id, sink: sink.clone(), ..at.clone() };
            match publishing::hold(tx, now, &run, &figures) {
                Ok(()) => return Ok(Some(run)),
                Err(Error::Refused { .. }) => sinks::release_run(tx, run.id)?,
                Err(e) => return Err(e),
            }
        }
    }
    Ok(None)
}

fn collision(place: &Place, wanted: &Run, settled: &Run) -> String {
    let wall = |at: Moment| place.zone.wall(at).format("%H:%M").to_string();
    format!(
        "Run {} could not follow at {} at {}, which is taken then: it starts at {} at {}",
        wanted.number,
        wall(wanted.from),
        wanted.sink,
        wall(settled.from),
        settled.sink
    )
}

/// Writes the letters about the days to come: in the evening before from 18:00, in the morning
/// from an hour before opening. Each is written once.
///
/// # Errors
/// As the database's.
pub fn write_letters(tx: &mut Tx<'_>, place: &Place) -> Result<(), Error> {
    let now = place.zone.wall(place.now);
    let today = now.date();
    if let Some(tomorrow) = today.succ_opt()
        && now.time() >= chrono::NaiveTime::from_hms_opt(18, 0, 0).unwrap_or_default()
    {
        letter(tx, place, ("day_evening", tomorrow))?;
    }
    let opens = sinks::opening(tx, place.zone, today)?.first().map(|s| s.from);
    if opens.is_some_and(|at| place.now >= at.plus(-3600) && place.now < at.plus(6 * 3600)) {
        letter(tx, place, ("day_morning", today))?;
    }
    Ok(())
}

fn letter(
    tx: &mut Tx<'_>,
    place: &Place,
    (kind, date): (&'static str, NaiveDate),
) -> Result<(), Error> {
    let runs = store::published_runs(tx, date)?;
    if runs.iter().any(|r| r.ended.is_none()) {
        let ready = ready(tx, place.now, &runs)?;
        mail::coming(tx, place, (kind, date), (&runs, &ready))?;
    }
    Ok(())
}

/// What is to be mixed, dry and bought before these runs.
fn ready(conn: &mut Conn, now: Moment, runs: &[Run]) -> Result<mail::Ready, Error> {
    let bench = sheet::Bench::load(conn, runs)?;
    let baths = sheet::baths_now(conn, now, &bench)?;
    let lines = sheet::forecast(runs, &baths).into_iter();
    let next_baths = lines.filter(|l| l.limit.is_some()).map(|l| l.sentence).collect();
    let pools = sinks::reel_kinds(conn)?;
    let mut reels: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
    for run in runs.iter().filter(|r| !r.steps.own_tank) {
        for (pool, count) in publishing::reels_of(run, &pools) {
            *reels.entry(&pool.kind).or_default() += count;
        }
    }
    let owned = |kind: &str| pools.iter().find(|p| p.kind == kind).map_or(0, |p| p.owned);
    let dry = reels.iter().map(|(kind, count)| {
        format!(
            "reels for {kind}: {count} films go on them through the day; {} are owned",
            owned(kind)
        )
    });
    Ok(mail::Ready { next_baths, dry: dry.collect(), buy: sheet::shortfalls(conn, now)? })
}

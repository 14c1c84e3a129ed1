//! At the sink: what people there tell of a run, and how a run ends, well or not.

use super::process::{self, About, Live, StepKind};
use super::record;
use super::store::{self, Event, EventKind, Own, Run, RunRoll};
use crate::baths::{self, Use};
use crate::bookings::Place;
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::recipes;
use crate::rolls::{self, Format, Move, State};
use crate::sessions::{Person, Role};
use crate::sinks::{self, Kind, Why};

/// A run, where it stands, and what its page needs beside it.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    pub(super) run: Run,
    pub(super) live: Live,
    pub(super) own: Option<Own>,
}

/// One run as it stands.
///
/// # Errors
/// [`Error::NotFound`] where there is none, or it is only a draft.
pub(super) fn see(conn: &mut Conn, id: i64) -> Result<Seen, Error> {
    let run = store::run(conn, id)?;
    if !run.published {
        return Err(Error::NotFound);
    }
    let about = about(conn, &run)?;
    let events = store::events(conn, id)?;
    let live = process::live(&run, &about, &events);
    Ok(Seen { live, own: store::own(conn, id)?, run })
}

/// What the steps of a run need to know beside it.
pub(super) fn about(conn: &mut Conn, run: &Run) -> Result<About, Error> {
    let mut label = |bath: Option<i64>| match bath {
        Some(id) => Ok(baths::one(conn, id)?.of.label),
        None => Ok::<_, Error>(String::new()),
    };
    let fixer = label(run.fixer_id)?;
    let second_fixer = label(run.steps.second_fixer)?;
    let developer_bath = label(run.developer_bath)?;
    let mut kept = Vec::new();
    for id in &run.steps.recipes {
        kept.push(recipes::by_id(conn, *id)?);
    }
    let factor_milli = recipes::developer(conn, run.developer_id)?.factor_milli;
    Ok(About { factor_milli, recipes: kept, fixer, second_fixer, developer_bath })
}

/// All runs of a date that have not ended, as they stand.
///
/// # Errors
/// As the database's.
pub(super) fn running(conn: &mut Conn, date: chrono::NaiveDate) -> Result<Vec<Seen>, Error> {
    let runs = store::published_runs(conn, date)?;
    let ids: Vec<i64> = runs.iter().map(|r| r.id).collect();
    let mut events = store::events_of(conn, &ids)?;
    let mut seen = Vec::new();
    for run in runs.into_iter().filter(|r| r.ended.is_none()) {
        let about = about(conn, &run)?;
        let events = events.remove(&run.id).unwrap_or_default();
        let live = process::live(&run, &about, &events);
        seen.push(Seen { live, own: store::own(conn, run.id)?, run });
    }
    Ok(seen)
}

/// Whether anything of a run has happened already: its film is loaded, or a step began.
pub(super) fn has_begun(conn: &mut Conn, run: i64) -> Result<bool, Error> {
    let events = store::events(conn, run)?;
    Ok(events.iter().any(|e| matches!(e.kind, EventKind::Loaded | EventKind::Step)))
}

/// Who may work on a run: leads, and a member on their own.
///
/// # Errors
/// A sentence for everybody else.
pub(super) fn may_work(person: &Person, own: Option<&Own>) -> Result<(), Error> {
    if person.role == Role::Lead || own.is_some_and(|own| own.member_id == person.id) {
        return Ok(());
    }
    Err(Error::Forbidden(
        "This run is worked by a lead, or by the member whose session it is.".to_owned(),
    ))
}

/// Writes down what somebody at the sink tells.
///
/// # Errors
/// A refusal when the run is over or a step cannot begin yet.
pub(super) fn tell(
    tx: &mut Tx<'_>,
    now: Moment,
    person: &Person,
    (id, mut event): (i64, Event),
) -> Result<(), Error> {
    let seen = see(tx, id)?;
    may_work(person, seen.own.as_ref())?;
    if seen.run.ended.is_some() || seen.run.withdrawn.is_some() {
        return Err(Error::refused(
            "run-over",
            "This run is over; nothing more can be told of it.",
        ));
    }
    // A phone's clock may be wrong and its network late: what it says lies between the run's
    // loading and now.
    event.at = event.at.max(seen.run.load.from.plus(-86_400)).min(now);
    match event.kind {
        EventKind::Step => check_step(&seen.live, &event)?,
        EventKind::Loaded => {
            for (roll, place) in seen.run.rolls.iter().zip(1..) {
                let step = Move {
                    tank_id: Some(seen.run.tank_id).filter(|_| !seen.run.steps.own_tank),
                    place: Some(place),
                    peg: Some(super::sheet::peg(&seen.run, place)),
                    ..Move::to(State::Loaded)
                };
                move_on(tx, now, (roll.roll_id, Some(person.id)), &step)?;
            }
        }
        _ => {}
    }
    store::add_event(tx, (now, person.id, id), &event)?;
    Ok(())
}

/// Moves a roll on; where its peg still follows another film, it goes without one and the sink does
/// not wait for that.
pub(super) fn move_on(
    tx: &mut Tx<'_>,
    now: Moment,
    who: (i64, Option<i64>),
    step: &Move,
) -> Result<(), Error> {
    match tx.attempt(|tx| rolls::move_on(tx, now, who, step)) {
        Err(Error::Refused { code: "peg-taken", .. }) => {
            rolls::move_on(tx, now, who, &Move { peg: None, ..step.clone() })
        }
        done => done,
    }
}

fn check_step(live: &Live, event: &Event) -> Result<(), Error> {
    let next = live.next().map(|s| s.n);
    let n = event.step.unwrap_or(-1);
    // Said again, or said by a second phone: harmless.
    if live.begun.contains_key(&n) || next == Some(n) {
        return Ok(());
    }
    Err(Error::refused(
        "step-order",
        match live.next() {
            Some(step) => format!("The next step is “{}”. Begin that one first.", step.name),
            None => "All steps have begun. End the run when the last film hangs.".to_owned(),
        },
    ))
}

/// Ends a run: its rolls are on the hook, and the fixer's ledger takes it, once however often the
/// run is ended; its sink is free.
///
/// # Errors
/// A refusal when the run is not published; [`Error::NotFound`] where there is none.
pub fn end_run(tx: &mut Tx<'_>, now: Moment, person: &Person, id: i64) -> Result<Run, Error> {
    let run = super::following::followed(tx, now, id)?;
    if !run.published || run.withdrawn.is_some() {
        return Err(Error::refused("not-published", "This run is only a draft. Publish it first."));
    }
    let seen = see(tx, id)?;
    may_work(person, seen.own.as_ref())?;
    if !store::mark_ended(tx, now, person.id, run.id)? {
        return Ok(run);
    }
    let ended =
        Event { kind: EventKind::Ended, step: Some(0), at: now, value: None, note: String::new() };
    store::add_event(tx, (now, person.id, id), &ended)?;
    let seen = Seen { live: Live { ended: Some(now), ..seen.live }, ..seen };
    record::hang_up(tx, now, person.id, &seen)?;
    // After the hook: a fixer that could not take them says “fix again” of rolls that hang.
    use_fixer(tx, now, person.id, &run)?;
    use_developer(tx, now, person.id, &run)?;
    give_back(tx, now, &run, run.rolls.len())?;
    Ok(run)
}

fn use_fixer(tx: &mut Tx<'_>, now: Moment, by: i64, run: &Run) -> Result<(), Error> {
    let Some(bath) = run.fixer_id else { return Ok(()) };
    let note = format!("Run {} in {}", run.number, run.tank);
    let wish = Use { bath, milli: run.fixer_milli, run: Some(run.id), note };
    baths::record_use(tx, now, Some(by), &wish).map(|_state| ())
}

/// Draws the developer from the shelf, or writes its use into the shared bath it went back to.
fn use_developer(tx: &mut Tx<'_>, now: Moment, by: i64, run: &Run) -> Result<(), Error> {
    let Some(bath) = run.developer_bath else {
        return baths::draw_for_run(tx, (now, Some(by)), run.id).map(|_lacked| ());
    };
    let film = |r: &RunRoll| Format::named(&r.format).map(|f| f.of_sheets(r.sheets).milli);
    let milli = run.rolls.iter().filter_map(film).sum();
    let note = format!("Run {} in {}", run.number, run.tank);
    let wish = Use { bath, milli, run: Some(run.id), note };
    baths::record_use(tx, now, Some(by), &wish).map(|_state| ())
}

/// Gives the sink back at once, and keeps tank and reels until they are rinsed and dry, and places
/// for the films that hang. Where somebody has them already, because the run took longer than
/// planned, that stands.
fn give_back(tx: &mut Tx<'_>, now: Moment, run: &Run, films: usize) -> Result<(), Error> {
    let figures = super::facts::figures(tx)?;
    sinks::release_run(tx, run.id)?;
    let mut keep = Vec::new();
    keep.extend(Span::new(run.from, now).map(|s| (Kind::SinkPlace, run.sink_id, s)));
    if !run.steps.own_tank {
        keep.extend(
            Span::new(run.load.from.min(now), now.plus(figures.tank_gap_s))
                .map(|s| (Kind::Tank, run.tank_id, s)),
        );
    }
    let pools = if run.steps.own_tank { Vec::new() } else { sinks::reel_kinds(tx)? };
    for (pool, count) in super::publishing::reels_of(run, &pools) {
        let wet = Span::new(run.load.from.min(now), now.plus(pool.drying_s));
        keep.extend(wet.into_iter().flat_map(|s| vec![(Kind::Reel, pool.id, s); count]));
    }
    for (kind, of, span) in keep {
        match sinks::hold(tx, kind, of, span, Why::Run(run.id)) {
            Ok(()) | Err(Error::Refused { .. }) => {}
            Err(e) => return Err(e),
        }
    }
    let dries = Span { from: now, to: now.plus(figures.drying_s) };
    let films = i64::try_from(films).unwrap_or(i64::MAX);
    match sinks::hang(tx, now, run.id, (films, dries)) {
        Ok(()) | Err(Error::Refused { .. }) => Ok(()),
        Err(e) => Err(e),
    }
}

/// What went wrong at the sink.
pub(super) const MISHAPS: [(&str, &str); 6] = [
    ("leak", "The tank leaked or light came in"),
    ("wrong_bottle", "A wrong bottle was poured"),
    ("water", "The water failed"),
    ("power", "The power failed"),
    ("hurt", "Somebody was hurt or splashed"),
    ("other", "Something else"),
];

/// What becomes of the film after a mishap.
pub(super) const FATES: [(&str, &str, State); 3] = [
    ("hang", "It is fixed and washed: hang it and judge it dry", State::OnTheHook),
    ("box", "It is undeveloped and dark: back to the drop box", State::HandedIn),
    ("lost", "It is spoiled", State::Spoiled),
];

/// A run that is given up.
#[derive(Clone, Debug)]
pub(super) struct Mishap {
    /// One of [`MISHAPS`].
    pub(super) what: &'static str,
    /// What becomes of the film.
    pub(super) fate: State,
    /// Anything to remember.
    pub(super) note: String,
}

/// Gives a run up: what happened is written down, its rolls move on, their owners and the leads
/// are told, sink and tank are free. Developer that was poured and fixer the film has been in count.
///
/// # Errors
/// A refusal when the run is over already.
pub(super) fn abort(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (id, mishap): (i64, &Mishap),
) -> Result<Run, Error> {
    let (now, seen) = (place.now, see(tx, id)?);
    may_work(person, seen.own.as_ref())?;
    if !store::mark_ended(tx, now, person.id, id)? {
        return Err(Error::refused("run-over", "This run is over already."));
    }
    let event = Event {
        kind: EventKind::Aborted,
        step: Some(0),
        at: now,
        value: None,
        note: format!("{}. {}", mishap.what, mishap.note).trim().to_owned(),
    };
    store::add_event(tx, (now, person.id, id), &event)?;
    for roll in &seen.run.rolls {
        let note = format!("Run {} was given up: {}", seen.run.number, event.note);
        rolls::set_state(tx, now, (roll.roll_id, Some(person.id)), mishap.fate, &note)?;
    }
    if seen.live.has_begun(StepKind::Develop) {
        if mishap.fate != State::HandedIn {
            record::keep(tx, now, person.id, (&seen, &event.note))?;
        }
        use_developer(tx, now, person.id, &seen.run)?;
    }
    if seen.live.has_begun(StepKind::Fix) {
        use_fixer(tx, now, person.id, &seen.run)?;
    }
    let hang = if mishap.fate == State::OnTheHook { seen.run.rolls.len() } else { 0 };
    give_back(tx, now, &seen.run, hang)?;
    super::mail::aborted(tx, place, &seen.run, &event.note, mishap.fate)?;
    Ok(seen.run)
}

/// Sends the film of a run that looks milky through the fixer again.
///
/// # Errors
/// A refusal when the run has not ended.
pub(super) fn fix_again(
    tx: &mut Tx<'_>,
    now: Moment,
    person: &Person,
    id: i64,
) -> Result<Run, Error> {
    let seen = see(tx, id)?;
    may_work(person, seen.own.as_ref())?;
    if seen.run.ended.is_none() {
        return Err(Error::refused("not-ended", "End the run first; then it can be fixed again."));
    }
    for roll in &seen.run.rolls {
        if rolls::one(tx, roll.roll_id)?.state == State::OnTheHook {
            let note = "Milky or white patches: fixing is not complete";
            rolls::set_state(tx, now, (roll.roll_id, Some(person.id)), State::ReFix, note)?;
        }
    }
    Ok(seen.run)
}

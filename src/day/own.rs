//! A member's own session: their booking, their rolls and a tank become a run that they do alone.

use super::facts::{self, Facts, Pourer};
use super::progress::unwatched;
use super::rules::{Fixed, Job, LeftOver, Outcome, Sums, Wish};
use super::store::{self, NewPlan, Own, Run};
use super::{answer, publishing};
use crate::bookings::{self, Booking, Place};
use crate::clock::Span;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::rolls::{self, State};
use crate::sessions::Person;
use crate::sinks::{self, Held, Kind, Why};

/// What a member wants to do in the time they booked.
#[derive(Clone, Debug)]
pub(super) struct Session {
    pub(super) booking_id: i64,
    pub(super) roll_ids: Vec<i64>,
    /// The studio's tank, or the one that the member's own is like.
    pub(super) tank_id: i64,
    /// Tank and reels are the member's own.
    pub(super) own_tank: bool,
    /// What their own tank takes with this film, in millilitres; as the studio's where nothing is
    /// said.
    pub(super) own_volume_ml: Option<i64>,
    /// Nothing is drawn from the studio's developer.
    pub(super) own_developer: bool,
    /// The film is on its reels already.
    pub(super) loaded_at_home: bool,
    /// Nothing is taken from the studio's shared fixer.
    pub(super) own_fixer: bool,
}

/// What a session is worked out from.
#[derive(Clone, Debug)]
pub(super) struct Basis {
    facts: Facts,
    jobs: Vec<Job>,
    booking: Booking,
    session: Session,
}

/// Reads the room as the member will have it, in their booking and no longer.
///
/// # Errors
/// A sentence beside the field: another's booking or roll, one that is over, a roll that does not
/// wait or has no recipe.
pub(super) fn basis(
    conn: &mut Conn,
    place: &Place,
    person: &Person,
    session: Session,
) -> Result<Basis, Error> {
    let booking = bookings::own(conn, person, session.booking_id)
        .map_err(|_e| Error::field("booking_id", "That is not a booking of yours."))?;
    if booking.member_id != person.id || !booking.stands || booking.span.to <= place.now {
        return Err(Error::field("booking_id", "That is not a coming booking of yours."));
    }
    let date = place.zone.date(booking.span.from);
    let mut facts = facts::load(conn, (place.now, place.zone, date), (&[person.id], person.id))?;
    let wide = facts::around(place.zone, date);
    let but = Some(Why::Booking(booking.id));
    facts.loading = sinks::closed_to_loading(conn, (wide, but))?;
    narrow(&mut facts, &booking, &session, person);
    let (mut jobs, mut left) = (Vec::new(), Vec::new());
    for id in &session.roll_ids {
        let roll = rolls::one(conn, *id)
            .map_err(|_e| Error::field("roll_ids", "That is not a roll of yours."))?;
        if roll.member_id != person.id {
            return Err(Error::field("roll_ids", "That is not a roll of yours."));
        }
        if roll.state != State::HandedIn {
            return Err(Error::field(
                "roll_ids",
                format!("Ticket {} is “{}” and waits for no run.", roll.ticket, roll.state.name()),
            ));
        }
        match facts::job(conn, &facts, &Wish::default(), roll)? {
            Ok(job) => jobs.push(job),
            Err(why) => left.push(why),
        }
    }
    if let Some(LeftOver { ticket, reason }) = left.into_iter().next() {
        return Err(Error::field("roll_ids", format!("{ticket}: {reason}")));
    }
    if jobs.is_empty() {
        return Err(Error::field("roll_ids", "Choose at least one of your rolls that wait."));
    }
    Ok(Basis { facts, jobs, booking, session })
}

/// The room without what the booking itself holds, open only while it lasts.
fn narrow(facts: &mut Facts, booking: &Booking, session: &Session, person: &Person) {
    let own = |h: &Held| h.why != Why::Booking(booking.id);
    // The sink is the booking's own, with the room for tanks and the light it has there.
    facts.sinks_held.retain(|h| h.of_id != booking.sink_id);
    facts.tanks_held.retain(own);
    facts.reels_held.retain(own);
    facts.open = vec![booking.span];
    facts.standing.clear();
    let hours = Some(vec![booking.span]);
    facts.people = vec![Pourer { name: person.name.clone(), hours }];
    // The next one's booking begins when this one ends; wiping is part of it.
    facts.figures.sink_gap_s = 0;
    facts.figures.grid_s = 60;
    if session.loaded_at_home {
        let figures = &mut facts.figures;
        figures.load_tank_s = 0;
        figures.load_135_s = 0;
        figures.load_120_s = 0;
        figures.load_other_s = 0;
    }
    if session.own_fixer {
        facts.fixer = None;
    }
    if session.own_developer {
        facts.own_developer = true;
        facts.developers.clear();
    }
    if session.own_tank {
        bring_tank(facts, session);
    }
}

/// The member's own tank and reels stand in the place of the studio's, which nobody holds for them.
fn bring_tank(facts: &mut Facts, session: &Session) {
    facts.tanks_held.retain(|h| h.of_id != session.tank_id);
    facts.reels_held.clear();
    let Some(volume_ml) = session.own_volume_ml else { return };
    for tank in facts.tanks.iter_mut().filter(|t| t.id == session.tank_id) {
        (tank.base_ml, tank.min_ml, tank.max_ml) = (volume_ml, 0, volume_ml);
        (tank.stack_mm, tank.max_reels) = (2000, 40);
    }
    for pool in &mut facts.reels {
        pool.cover_ml = 0;
        pool.owned = pool.owned.max(40);
        for set in &mut pool.formats {
            set.cover_ml = 0;
        }
    }
}

/// Works the session out: one run in its tank at its sink, or the sentence that says why not.
///
/// # Errors
/// The refusal.
pub(super) fn work_out(basis: &Basis) -> Result<Outcome, Error> {
    let begin = basis.booking.span.from.max(basis.facts.now);
    let fixed = Fixed {
        rolls: basis.jobs.iter().map(|j| j.roll.id).collect(),
        tank_id: basis.session.tank_id,
        sink_id: basis.booking.sink_id,
        load_from: begin,
        from: begin,
        pinned: false,
    };
    let wish = Wish { fixed: vec![fixed], ..Wish::default() };
    let mut outcome = answer::day(&basis.facts, &basis.jobs, &wish, &mut unwatched)?;
    if outcome.runs.len() != 1 || !outcome.left_over.is_empty() {
        let reason = outcome.left_over.pop().map_or_else(String::new, |l| l.reason);
        return Err(Error::refused(
            "cannot-stand",
            format!("That does not fit into your booking. {reason}"),
        ));
    }
    for run in &mut outcome.runs {
        run.steps.own_tank = basis.session.own_tank;
    }
    outcome.sums = Sums { planner: serde_json::Value::Null, ..outcome.sums };
    Ok(outcome)
}

/// Keeps a session that was worked out: tank and reels are held, the rolls are planned.
///
/// # Errors
/// A refusal that says what changed meanwhile.
pub(super) fn keep(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (basis, outcome): (&Basis, &Outcome),
) -> Result<Run, Error> {
    let booking = bookings::own(tx, person, basis.booking.id)?;
    if !booking.stands || booking.span != basis.booking.span {
        return Err(Error::refused("room-changed", "Your booking changed meanwhile. Try again."));
    }
    let plan = NewPlan {
        date: basis.facts.date,
        state: "published",
        wish: &Wish::default(),
        outcome,
        fixer_id: basis.facts.fixer.as_ref().map(|f| f.id),
        fix_s: basis.facts.fix_s(),
        made_from: None,
        said: "A member's own session",
    };
    let (plan, _) = store::insert_plan(tx, (place.now, person.id), &plan)?;
    let run = store::runs(tx, plan)?.into_iter().next().ok_or(Error::NotFound)?;
    store::put_own(
        tx,
        &Own { run_id: run.id, member_id: person.id, booking_id: basis.booking.id },
    )?;
    for roll in &run.rolls {
        let present = rolls::one(tx, roll.roll_id)?;
        if present.state != State::HandedIn {
            return Err(Error::refused(
                "room-changed",
                format!("Ticket {} is now “{}”.", present.ticket, present.state.name()),
            ));
        }
        let by = (roll.roll_id, Some(person.id));
        rolls::set_state(tx, place.now, by, State::Planned, "In the owner's own session")?;
    }
    hold(tx, place, &run, &booking)?;
    Ok(run)
}

/// Holds tank and reels, unless they are the member's own or the booking holds them already; the
/// sink is the booking's own.
fn hold(tx: &mut Tx<'_>, place: &Place, run: &Run, booking: &Booking) -> Result<(), Error> {
    let (figures, own_tank) = (super::facts::figures(tx)?, run.steps.own_tank);
    let held = sinks::held_by_booking(tx, booking.id)?;
    let has = |kind: Kind, of: i64| held.iter().any(|(k, id, _)| *k == kind && *id == of);
    let taken = |what: &str, e: Error| match e {
        Error::Refused { .. } => Error::refused(
            "slot-taken",
            format!("{what} is taken then. Choose another tank, or another time."),
        ),
        other => other,
    };
    if !own_tank && !has(Kind::Tank, run.tank_id) {
        let span = Span { from: run.load.from, to: run.to.plus(figures.tank_gap_s) };
        sinks::hold(tx, Kind::Tank, run.tank_id, span, Why::Run(run.id))
            .map_err(|e| taken(&run.tank, e))?;
    }
    if !held.iter().any(|(k, ..)| *k == Kind::Hanging) {
        let films = i64::try_from(run.rolls.len()).unwrap_or(i64::MAX);
        let dries = Span { from: run.to, to: run.to.plus(figures.drying_s) };
        sinks::hang(tx, place.now, run.id, (films, dries))
            .map_err(|e| taken("Every hanging place", e))?;
    }
    let pools = if own_tank { Vec::new() } else { sinks::reel_kinds(tx)? };
    for (pool, count) in publishing::reels_of(run, &pools) {
        if !has(Kind::Reel, pool.id) {
            let wet = Span { from: run.load.from, to: run.to.plus(pool.drying_s) };
            let why = (wet, Why::Run(run.id));
            sinks::promise(tx, place.now, (Kind::Reel, pool.id, count), why)
                .map_err(|e| taken(&format!("A reel for {}", pool.kind), e))?;
        }
    }
    Ok(())
}

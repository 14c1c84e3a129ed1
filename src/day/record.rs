//! What is kept for ever of a run that is over: how each of its films was developed, and the baths it
//! went through as they were then.

use super::at_sink::{Seen, move_on};
use super::process::StepKind;
use super::store::{self, Run};
use super::{facts, sheet};
use crate::baths::{self, Kind};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::rolls::{self, BathThen, Move, Processed, State};

/// What a roll's way says of its run.
fn in_words(seen: &Seen) -> String {
    let run = &seen.run;
    let (time_s, at) = match &seen.live.measured {
        Some(m) => (m.time_s, m.mc),
        None => (run.time_s, run.temperature_mc),
    };
    let measured = if seen.live.measured.is_some() { "measured " } else { "" };
    let what = format!(
        "Run {} in {}: {}, {}:{:02} min at {measured}{} °C",
        run.number,
        run.tank,
        run.developer,
        time_s / 60,
        time_s % 60,
        sheet::degrees(at)
    );
    let happened = seen.live.record();
    if happened.is_empty() { what } else { format!("{what}; {happened}") }
}

/// Hangs the rolls of a run up and keeps for ever how each was developed. Before its baths' ledgers
/// take the run, so that they stand in the record as its film found them.
pub(super) fn hang_up(tx: &mut Tx<'_>, now: Moment, by: i64, seen: &Seen) -> Result<(), Error> {
    let (run, note) = (&seen.run, in_words(seen));
    for (roll, place) in run.rolls.iter().zip(1..) {
        let present = rolls::one(tx, roll.roll_id)?;
        let hung = Move {
            peg: Some(sheet::peg(run, place)).filter(|_| present.peg.is_none()),
            note: note.clone(),
            ..Move::to(State::OnTheHook)
        };
        move_on(tx, now, (roll.roll_id, Some(by)), &hung)?;
    }
    keep(tx, now, by, (seen, ""))
}

/// Keeps for ever how the films of a run were developed; a mishap that ended it is said with it.
pub(super) fn keep(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (seen, mishap): (&Seen, &str),
) -> Result<(), Error> {
    let run = &seen.run;
    let baths = baths_of(tx, now, seen)?;
    let happened = seen.live.record();
    let note = format!("{mishap} {happened}").trim().to_owned();
    for (roll, place) in run.rolls.iter().zip(1..) {
        let told = Processed {
            roll_id: roll.roll_id,
            run_id: Some(run.id),
            recipe_id: store::recipe_in(tx, run.id, roll.roll_id)?,
            developer: run.developer.clone(),
            agitation: run.agitation.clone(),
            tank: run.tank.clone(),
            place: Some(place),
            concentrate_ul: run.concentrate_ul,
            water_ul: run.water_ul,
            planned_mc: run.temperature_mc,
            measured_mc: seen.live.measured.as_ref().map(|m| m.mc),
            planned_s: run.time_s,
            actual_s: lasted(seen, StepKind::Develop),
            baths: baths.clone(),
            note: note.clone(),
        };
        rolls::record(tx, now, Some(by), &told)?;
    }
    Ok(())
}

/// How long a step really took, where that was told at the sink.
fn lasted(seen: &Seen, kind: StepKind) -> Option<i64> {
    let over = seen.live.overs().into_iter().find(|(s, _)| s.kind == kind);
    over.map(|(step, over)| step.seconds + over)
}

/// The baths that the film of a run went through, in that order. A run that was ended went through
/// all of them, whatever was told of its steps; one that was given up through those that had begun.
fn baths_of(conn: &mut Conn, now: Moment, seen: &Seen) -> Result<Vec<BathThen>, Error> {
    let run = &seen.run;
    let mut all = Vec::new();
    let went = |kind: StepKind| {
        let ended = seen.live.ended.is_some() || seen.live.has_begun(kind);
        ended && seen.live.steps.iter().any(|s| s.kind == kind)
    };
    let timed = |bath: BathThen, kind: StepKind| BathThen { seconds: lasted(seen, kind), ..bath };
    all.extend(developer(conn, now, run)?);
    if went(StepKind::Stop) {
        all.push(timed(stop(conn, now, run)?, StepKind::Stop));
    }
    if went(StepKind::Fix) {
        let fixer = match run.fixer_id {
            Some(id) => baths::then(conn, now, id)?,
            None => of_its_owner(Kind::Fixer),
        };
        all.push(timed(fixer, StepKind::Fix));
    }
    if let Some(id) = run.steps.second_fixer.filter(|_| went(StepKind::SecondFix)) {
        let second = BathThen { what: "Second fixer".to_owned(), ..baths::then(conn, now, id)? };
        all.push(timed(second, StepKind::SecondFix));
    }
    let after = [(Kind::WashAid, StepKind::WashAid), (Kind::WettingAgent, StepKind::Wet)];
    for (kind, step) in after.into_iter().filter(|(_, step)| went(*step)) {
        let bath = along(conn, now, (run, kind))?;
        all.extend(bath.map(|bath| timed(bath, step)));
    }
    Ok(all)
}

/// The bottle that the developer goes back to, or the stocks it is poured from.
fn developer(conn: &mut Conn, now: Moment, run: &Run) -> Result<Vec<BathThen>, Error> {
    match run.developer_bath {
        Some(id) => Ok(vec![baths::then(conn, now, id)?]),
        None => baths::stocks_then(conn, now, run.id),
    }
}

/// A shared bath beside developer and fixer. As in their ledgers, a run with its owner's own fixer
/// goes through none of them.
fn along(
    conn: &mut Conn,
    now: Moment,
    (run, kind): (&Run, Kind),
) -> Result<Option<BathThen>, Error> {
    if run.fixer_id.is_none() { Ok(None) } else { baths::stands_then(conn, now, kind) }
}

/// The stop bath; where none is shared, what the studio stops its film with.
fn stop(conn: &mut Conn, now: Moment, run: &Run) -> Result<BathThen, Error> {
    if run.fixer_id.is_none() {
        return Ok(of_its_owner(Kind::Stop));
    }
    if let Some(bath) = baths::stands_then(conn, now, Kind::Stop)? {
        return Ok(bath);
    }
    let label = if facts::figures(conn)?.water_stop == 1 { "Water" } else { "Mixed for the run" };
    Ok(BathThen { what: Kind::Stop.name().to_owned(), label: label.to_owned(), ..<_>::default() })
}

/// What a member brought, of which the studio keeps no ledger.
fn of_its_owner(kind: Kind) -> BathThen {
    BathThen {
        what: kind.name().to_owned(),
        label: "Not one of the studio's baths".to_owned(),
        ..BathThen::default()
    }
}

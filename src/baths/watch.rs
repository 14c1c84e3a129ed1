//! Who is told what, and how often: each lead once for a bath and a cause, in the transaction of
//! what caused it. A correction that lowers the state begins a new count.

use super::rules::Bath;
use super::{LotInDoubt, State, doubt_store, mail, reach_store, store};
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::{members, outbox, studio};

/// Writes to the leads about what the bath's state newly asks for.
pub(super) fn tell(tx: &mut Tx<'_>, now: Moment, bath: &Bath) -> Result<State, Error> {
    let state = super::state(tx, now, bath)?;
    let planned = plan_passes(tx, now, bath, &state)?;
    if state.causes.is_empty() && planned.is_none() {
        return Ok(state);
    }
    for lead in members::leads(tx)? {
        for (cause, count) in &state.causes {
            let again = if *count > 0 { format!(" {count}") } else { String::new() };
            let key = format!("bath {} {}{again} {}", bath.id, cause.word(), lead.address);
            outbox::post(tx, now, &mail::alert(now, &lead, bath, &state, (*cause, key))?)?;
        }
        if let Some(plan) = &planned {
            let key = format!("bath {} plan {} {}", bath.id, plan.day, lead.address);
            let letter = mail::plan_passes(now, &lead, bath, &state, (plan, key))?;
            outbox::post(tx, now, &letter)?;
        }
    }
    Ok(state)
}

/// A published day that would pass a bath's limit.
pub(super) struct PlanPasses {
    /// The day, in the studio's calendar.
    pub(super) day: chrono::NaiveDate,
    /// What is planned until the end of that day, in thousandths of a roll's worth.
    pub(super) milli: i64,
}

/// Whether what is published until the end of tomorrow is more than the bath can still take.
fn plan_passes(
    conn: &mut Conn,
    now: Moment,
    bath: &Bath,
    state: &State,
) -> Result<Option<PlanPasses>, Error> {
    if !state.is_usable() {
        return Ok(None);
    }
    let zone = studio::load(conn)?.zone;
    let today = zone.date(now);
    let Some(tomorrow) = today.succ_opt() else { return Ok(None) };
    let until = zone.day(tomorrow).to;
    let soon = Span { from: now.plus(-43_200), to: until };
    let planned = reach_store::planned(conn, bath.id, soon)?;
    let milli = planned.iter().fold(0_i64, |sum, p| sum.saturating_add(p.1));
    let last = planned.last().map_or(tomorrow, |p| zone.date(p.0));
    Ok((milli > state.remaining_milli).then_some(PlanPasses { day: last, milli }))
}

/// What the house looks at by itself: age, and what is published for tomorrow. To be called every
/// few minutes and when a day is published.
///
/// # Errors
/// As the database's.
pub fn watch(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    for bath in store::active(tx)? {
        tell(tx, now, &bath)?;
    }
    for lot in lots_in_doubt(tx)? {
        for lead in members::leads(tx)? {
            outbox::post(tx, now, &mail::lot_in_doubt(now, &lead, &lot)?)?;
        }
    }
    Ok(())
}

/// So many films that came out badly from one lot are no accident (common practice, no source).
const NO_ACCIDENT: usize = 3;

/// The lots that three or more films which came out thin, stained or milky have in common.
///
/// # Errors
/// As the database's.
pub fn lots_in_doubt(conn: &mut Conn) -> Result<Vec<LotInDoubt>, Error> {
    doubt_store::lots_in_doubt(conn, NO_ACCIDENT)
}

/// Whether there is anything that leads might have to be told: only then is [`watch`] worth a
/// write.
///
/// # Errors
/// As the database's.
pub fn ask_for_anything(conn: &mut Conn, now: Moment) -> Result<bool, Error> {
    for bath in store::active(conn)? {
        let state = super::state(conn, now, &bath)?;
        if !state.causes.is_empty() || plan_passes(conn, now, &bath, &state)?.is_some() {
            return Ok(true);
        }
    }
    Ok(!lots_in_doubt(conn)?.is_empty())
}

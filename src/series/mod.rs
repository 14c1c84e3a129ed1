//! A lead's recurring sessions: a rule of RFC 5545 on local times. Every occurrence is an ordinary
//! booking; what would not do is shown before anything is made, and left out by name.

mod pages;
pub mod rules;
mod store;

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use crate::bookings::{self, Place, Wish};
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets;
use crate::sessions::Person;
use crate::web::Routes;

/// A series that is to be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// What it is called on the board.
    pub title: String,
    /// The sink.
    pub sink_id: i64,
    /// The first local date.
    pub first: NaiveDate,
    /// From this wall-clock time.
    pub from: NaiveTime,
    /// Until this one; midnight is the end of the day.
    pub to: NaiveTime,
    /// The rule, as RFC 5545 writes it.
    pub rule: String,
    /// Days to leave out.
    pub except: BTreeSet<NaiveDate>,
}

/// What becomes of one occurrence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// Its original local beginning, by which it is known for ever.
    pub original: NaiveDateTime,
    /// When it is, or why there is none.
    pub made: Result<Span, String>,
}

/// A series that was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Series {
    /// Its number.
    pub id: i64,
    /// What it is called.
    pub title: String,
    /// The sink.
    pub sink_id: i64,
    /// The sink's name.
    pub sink: String,
    /// Its first local date.
    pub first: NaiveDate,
    /// From this wall-clock time, when it was made.
    pub from: String,
    /// Until this one.
    pub to: String,
    /// Its rule.
    pub rule: String,
}

/// One occurrence of a series.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Occurrence {
    /// Its number.
    pub id: i64,
    /// Its original local beginning.
    pub original: NaiveDateTime,
    /// Its booking, and when that is now; none where it was left out.
    pub booking: Option<Held>,
    /// Why it was left out.
    pub left_out: String,
}

/// The booking of an occurrence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// Its number.
    pub id: i64,
    /// When.
    pub span: Span,
    /// Whether it stands.
    pub stands: bool,
}

/// What is to become of an occurrence and those after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shift {
    /// The sink.
    pub sink_id: i64,
    /// From this wall-clock time.
    pub from: NaiveTime,
    /// Until this one; midnight is the end of the day.
    pub to: NaiveTime,
}

/// What a plan would come to. Nothing is made.
///
/// # Errors
/// A sentence beside `rule` when there is no such rule; as the database's.
pub fn foresee(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    plan: &Plan,
) -> Result<Vec<Outcome>, Error> {
    tx.as_if(|tx| book_all(tx, place, lead, plan))
        .map(|all| all.into_iter().map(|(outcome, _)| outcome).collect())
}

/// Makes a series, if it still comes to what its lead was shown; returns its number.
///
/// # Errors
/// As [`foresee`]; a refusal when something changed since it was shown, or nothing would be made.
pub fn make(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    (plan, shown): (&Plan, &str),
) -> Result<i64, Error> {
    let all = book_all(tx, place, lead, plan)?;
    let outcomes: Vec<Outcome> = all.iter().map(|(outcome, _)| outcome.clone()).collect();
    is_as_shown(&outcomes, shown)?;
    if outcomes.iter().all(|outcome| outcome.made.is_err()) {
        return Err(Error::refused("rule", "Not one of these times would do. Change the series."));
    }
    let id = store::insert(tx, place.now, lead.id, plan)?;
    for (outcome, booking) in &all {
        store::insert_occurrence(tx, id, outcome, *booking)?;
    }
    Ok(id)
}

/// A print of outcomes, by which it is known that they are still those that were shown.
#[must_use]
pub fn print(outcomes: &[Outcome]) -> String {
    let lines: Vec<String> = outcomes
        .iter()
        .map(|o| match &o.made {
            Ok(span) => format!("{} {} {}", o.original, span.from.0, span.to.0),
            Err(sentence) => format!("{} {sentence}", o.original),
        })
        .collect();
    let hash = secrets::hash(&lines.join("\n"));
    hash.iter().take(16).map(|b| format!("{b:02x}")).collect()
}

fn is_as_shown(all: &[Outcome], shown: &str) -> Result<(), Error> {
    if print(all) == shown {
        return Ok(());
    }
    Err(Error::refused(
        "changed-meanwhile",
        "Something was booked or given back meanwhile, so the list below is new. Look at it again.",
    ))
}

/// Books every occurrence that can be had.
fn book_all(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    plan: &Plan,
) -> Result<Vec<(Outcome, Option<i64>)>, Error> {
    let run = rules::run(plan.first.and_time(plan.from), &plan.rule)
        .map_err(|sentence| Error::field("rule", sentence))?;
    let mut all = Vec::new();
    for original in run.originals {
        let tried = if plan.except.contains(&original.date()) {
            Err("Left out, as you said.".to_owned())
        } else {
            match rules::place(place.zone, original, plan.to) {
                Ok(span) => book_one(tx, place, lead, (plan, span))?,
                Err(sentence) => Err(sentence),
            }
        };
        let booking = tried.as_ref().ok().map(|(id, _)| *id);
        all.push((Outcome { original, made: tried.map(|(_, span)| span) }, booking));
    }
    Ok(all)
}

/// One booking, or the sentence that refuses it. What is no refusal is handed on.
fn book_one(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    (plan, span): (&Plan, Span),
) -> Result<Result<(i64, Span), String>, Error> {
    let wish = Wish { note: plan.title.clone(), ..Wish::of(plan.sink_id, span) };
    match tx.attempt(|tx| bookings::make(tx, place, lead, &wish)) {
        Ok(id) => Ok(Ok((id, span))),
        Err(e) => refusal(e).map(Err),
    }
}

fn refusal(error: Error) -> Result<String, Error> {
    match error {
        Error::Refused { sentence, .. } => Ok(sentence),
        Error::Invalid(faults) if !faults.contains_key("sink") => {
            Ok(faults.into_values().collect::<Vec<_>>().join(" "))
        }
        other => Err(other),
    }
}

/// What moving an occurrence and those after it would come to. Nothing is moved.
///
/// # Errors
/// [`Error::NotFound`] where there is no such occurrence; as the database's.
pub fn foresee_shift(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    (series, from): (i64, i64),
    shift: &Shift,
) -> Result<Vec<Outcome>, Error> {
    tx.as_if(|tx| shift_all(tx, place, lead, (series, from), shift))
}

/// Moves an occurrence and those after it, each keeping its booking, its day and its place in the
/// series. What cannot be moved stays where it is, as it was shown.
///
/// # Errors
/// As [`foresee_shift`]; a refusal when something changed since it was shown.
pub fn shift_from(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    which: (i64, i64),
    (shift, shown): (&Shift, &str),
) -> Result<(), Error> {
    let all = shift_all(tx, place, lead, which, shift)?;
    is_as_shown(&all, shown)?;
    if all.iter().all(|o| o.made.is_err()) {
        return Err(Error::refused("rule", "None of these sessions can be moved there."));
    }
    Ok(())
}

fn shift_all(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    (series, from): (i64, i64),
    shift: &Shift,
) -> Result<Vec<Outcome>, Error> {
    let mut all = Vec::new();
    for (occurrence, held) in coming(tx, place.now, series, from)? {
        let date = place.zone.date(held.span.from);
        let made = match rules::place(place.zone, date.and_time(shift.from), shift.to) {
            Err(sentence) => Err(sentence),
            Ok(span) => {
                let moved = tx
                    .attempt(|tx| bookings::shift(tx, place, lead, (held.id, shift.sink_id, span)));
                match moved {
                    Ok(()) => Ok(span),
                    Err(e) => Err(refusal(e)?),
                }
            }
        };
        all.push(Outcome { original: occurrence.original, made });
    }
    if all.is_empty() { Err(Error::NotFound) } else { Ok(all) }
}

/// The occurrences from one on that stand and have not begun.
fn coming(
    conn: &mut Conn,
    now: Moment,
    series: i64,
    from: i64,
) -> Result<Vec<(Occurrence, Held)>, Error> {
    let all = store::occurrences(conn, series)?;
    let first = all.iter().find(|o| o.id == from).ok_or(Error::NotFound)?.original;
    let ahead = |o: Occurrence| {
        let held = o.booking.filter(|b| b.stands && b.span.from > now)?;
        Some((o, held))
    };
    Ok(all.into_iter().filter(|o| o.original >= first).filter_map(ahead).collect())
}

/// Calls off one occurrence, or that and all after it; returns how many.
///
/// # Errors
/// [`Error::NotFound`] where there is no such occurrence.
pub fn call_off(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: &Person,
    (series, from): (i64, i64),
    following: bool,
) -> Result<usize, Error> {
    let coming = coming(tx, place.now, series, from)?;
    let most = if following { usize::MAX } else { 1 };
    let mut off = 0;
    for (occurrence, held) in coming.into_iter().take(most) {
        if !following && occurrence.id != from {
            break;
        }
        bookings::cancel(tx, place, lead, held.id)?;
        off += 1;
    }
    Ok(off)
}

/// All series, the latest made first.
///
/// # Errors
/// As the database's.
pub fn all(conn: &mut Conn) -> Result<Vec<Series>, Error> {
    store::all(conn)
}

/// One series with its occurrences, by their original times.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn one(conn: &mut Conn, id: i64) -> Result<(Series, Vec<Occurrence>), Error> {
    let series = store::one(conn, id)?;
    Ok((series, store::occurrences(conn, id)?))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

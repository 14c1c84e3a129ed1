use std::collections::BTreeMap;

use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::schema::run_events;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// What can happen to a run at the sink.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::day) enum EventKind {
    /// Its film is in the tank: do not open.
    Loaded,
    /// The developer's temperature was measured; the value is in thousandths of a degree C.
    Measured,
    /// A step began.
    Step,
    /// The count was paused.
    Paused,
    /// It went on.
    WentOn,
    /// A bottle was checked; the value is the bath's id.
    Bottle,
    /// The run ended.
    Ended,
    /// The run was given up.
    Aborted,
}

impl EventKind {
    const ALL: [(EventKind, &'static str); 8] = [
        (EventKind::Loaded, "loaded"),
        (EventKind::Measured, "measured"),
        (EventKind::Step, "step"),
        (EventKind::Paused, "paused"),
        (EventKind::WentOn, "went_on"),
        (EventKind::Bottle, "bottle"),
        (EventKind::Ended, "ended"),
        (EventKind::Aborted, "aborted"),
    ];

    /// The word in the database and the API.
    #[must_use]
    pub(in crate::day) fn word(self) -> &'static str {
        EventKind::ALL.iter().find(|k| k.0 == self).map_or("step", |k| k.1)
    }

    /// The kind of that word.
    #[must_use]
    pub(in crate::day) fn from_word(word: &str) -> Option<EventKind> {
        EventKind::ALL.iter().find(|k| k.1 == word).map(|k| k.0)
    }
}

/// Something that happened to a run.
#[derive(Clone, Debug)]
pub(in crate::day) struct Event {
    /// What.
    pub(in crate::day) kind: EventKind,
    /// Which step, where it is about one.
    pub(in crate::day) step: Option<i64>,
    /// When it happened.
    pub(in crate::day) at: Moment,
    /// A figure, as its kind says.
    pub(in crate::day) value: Option<i64>,
    /// Anything noted.
    pub(in crate::day) note: String,
}

/// Writes an event down; what may happen once and has happened is left as it was. Says whether it
/// is new.
pub(in crate::day) fn add_event(
    tx: &mut Tx<'_>,
    (now, by, run): (Moment, i64, i64),
    event: &Event,
) -> Result<bool, Error> {
    if let Some(step) = event.step {
        let same = run_events::table
            .filter(run_events::run_id.eq(run))
            .filter(run_events::kind.eq(event.kind.word()))
            .filter(run_events::step.eq(step));
        if diesel::select(diesel::dsl::exists(same)).get_result(tx.conn())? {
            return Ok(false);
        }
    }
    diesel::insert_into(run_events::table)
        .values((
            run_events::run_id.eq(run),
            run_events::kind.eq(event.kind.word()),
            run_events::step.eq(event.step),
            run_events::at_s.eq(event.at.0),
            run_events::told_s.eq(now.0),
            run_events::by_id.eq(by),
            run_events::value.eq(event.value),
            run_events::note.eq(&event.note),
        ))
        .execute(tx.conn())?;
    Ok(true)
}

type Row = (i64, String, Option<i64>, i64, Option<i64>, String);

/// What happened to these runs, each in its order.
pub(in crate::day) fn events_of(
    conn: &mut Conn,
    runs: &[i64],
) -> Result<BTreeMap<i64, Vec<Event>>, Error> {
    let rows: Vec<Row> = run_events::table
        .filter(run_events::run_id.eq_any(runs))
        .order((run_events::at_s, run_events::id))
        .select((
            run_events::run_id,
            run_events::kind,
            run_events::step,
            run_events::at_s,
            run_events::value,
            run_events::note,
        ))
        .load(conn)?;
    let mut all: BTreeMap<i64, Vec<Event>> = BTreeMap::new();
    for (run, kind, step, at, value, note) in rows {
        let Some(kind) = EventKind::from_word(&kind) else { continue };
        all.entry(run).or_default().push(Event { kind, step, at: Moment(at), value, note });
    }
    Ok(all)
}

/// What happened to one run, in order.
pub(in crate::day) fn events(conn: &mut Conn, run: i64) -> Result<Vec<Event>, Error> {
    Ok(events_of(conn, &[run])?.remove(&run).unwrap_or_default())
}

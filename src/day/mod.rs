//! The day: rolls grouped into runs, published, printed as a mix sheet, and ended at the sink.

mod answer;
pub(crate) mod api;
mod at_sink;
mod bottle;
mod correction;
mod described;
mod drafting;
mod facts;
mod figures;
mod following;
mod joining;
pub(crate) mod joining_api;
mod liquids;
mod mail;
mod own;
mod pages;
mod planning;
mod process;
mod progress;
mod publishing;
mod qr;
mod question;
mod record;
mod room_form;
mod rules;
pub(crate) mod run_api;
mod sheet;
mod shifting;
mod standing;
mod store;
mod timeline;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::baths;
use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use at_sink::end_run;
pub use following::follow_baths;
pub use publishing::publish;
pub use rules::{Job, LeftOver, Outcome, Planned, Wish};
pub use shifting::write_letters;
pub use store::{Plan, Run, RunRoll};

/// Groups these waiting rolls into runs for a date and keeps them as a draft; returns its number.
/// Pages plan outside the transaction; this is for the demonstration.
///
/// # Errors
/// A refusal when the studio is closed that day or has no fixer fit for use.
pub fn plan(
    tx: &mut Tx<'_>,
    (now, zone): (Moment, Zone),
    by: i64,
    (date, only): (NaiveDate, &[i64]),
) -> Result<i64, Error> {
    let waiting = crate::rolls::waiting(tx)?;
    let others = waiting.iter().map(|r| r.id).filter(|id| !only.contains(id));
    let wish = Wish { held_back: others.collect(), ..Wish::default() };
    let basis = drafting::basis(tx, (now, zone, date), by, wish)?;
    let outcome = drafting::work_out(&basis, &mut progress::unwatched)?;
    drafting::keep(tx, (now, by), (&basis, &outcome), (None, ""))
}

/// The published runs of a date in the order of their start, and the label of each bath they use.
///
/// # Errors
/// As the database's.
pub fn published(
    conn: &mut Conn,
    date: NaiveDate,
) -> Result<(Vec<Run>, BTreeMap<i64, String>), Error> {
    let runs = store::published_runs(conn, date)?;
    let labels = labels(conn, &runs)?;
    Ok((runs, labels))
}

/// Which sink has a run of a published day when, of all that meet a stretch.
///
/// # Errors
/// As the database's.
pub fn wet(conn: &mut Conn, span: Span) -> Result<Vec<(i64, Span)>, Error> {
    store::wet(conn, span)
}

/// The label of each bath these runs use.
fn labels(conn: &mut Conn, runs: &[Run]) -> Result<BTreeMap<i64, String>, Error> {
    let mut labels = BTreeMap::new();
    for id in runs.iter().filter_map(|r| r.fixer_id) {
        if let std::collections::btree_map::Entry::Vacant(free) = labels.entry(id) {
            free.insert(baths::one(conn, id)?.of.label);
        }
    }
    Ok(labels)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
    run_api::routes(open);
    joining_api::routes(open);
}

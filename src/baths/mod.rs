//! Baths: mixed, labelled, shared bodies of working solution, each with a ledger that is only
//! ever added to. A bath's state is computed from its ledger, never stored.

pub(crate) mod api;
mod doubt_store;
mod ending;
mod entry;
mod forecast;
mod graph;
mod mail;
mod mixing;
mod pages;
mod reach_store;
mod recall;
mod rules;
mod runs;
mod state;
mod store;
mod tending;
mod then;
mod timing;
mod using;
mod watch;

use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::error::Error;
use crate::hazards::Strength;
use crate::shelf;
use crate::web::Routes;

pub use api::Described as DescribedBath;
pub use doubt_store::LotInDoubt;
pub use ending::{Fresh, Poured, retire, rotate};
pub use forecast::{Demand, RECENT_DAYS, reaches_limit, usual_day};
pub use mixing::{Mixing, mix, mix_from_shelf};
pub use recall::{Called, Recall, call_back, recall_of_bath, recall_of_bottle};
pub use rules::{
    Bath, Cause, Condition, Entry, EntryKind, Growth, Kind, Material, NewBath, Place, Replenisher,
    Way,
};
pub use runs::draw_for_run;
pub use state::{Clearing, Measures, State};
pub use tending::{
    ClipTest, correct, move_to, record_clip_test, record_scrap_test, replenish, top_up,
};
pub use then::{stands_then, stocks_then, then};
pub use timing::timing;
pub use using::{Films, Use, Used, record_films, record_use, remember};
pub use watch::{ask_for_anything, lots_in_doubt, watch};

/// The state of a bath at this moment.
///
/// # Errors
/// As the database's.
pub fn state(conn: &mut Conn, now: Moment, bath: &Bath) -> Result<State, Error> {
    let entries = store::entries(conn, bath.id)?;
    let measures = measures(conn, bath, &entries)?;
    Ok(state::state(bath, &entries, now, &measures))
}

/// What a bath is judged by beside its own ledger.
fn measures(conn: &mut Conn, bath: &Bath, entries: &[Entry]) -> Result<Measures, Error> {
    let tested = entries.iter().any(|e| e.kind == EntryKind::ClipTest);
    Ok(Measures {
        near_percent: crate::studio::load(conn)?.near_limit_percent,
        long_days: shelf::settings(conn)?.opened_long_days,
        fresh: if tested { store::earlier_clearings(conn, bath)? } else { Vec::new() },
    })
}

/// What the data sheet of a bath's product says of it at working strength, for sheets and sinks;
/// empty where nothing was typed in.
///
/// # Errors
/// As the database's.
pub fn hazards_of(conn: &mut Conn, bath: &Bath) -> Result<String, Error> {
    let Some(product) = bath.product_id else { return Ok(String::new()) };
    Ok(crate::data_sheets::of_product(conn, product)?.told(Strength::Working))
}

/// All baths that are in use, with their states. The fixing time of each is twice its clearing
/// time as measured last, where it was measured.
///
/// # Errors
/// As the database's.
pub fn on_the_shelf(conn: &mut Conn, now: Moment) -> Result<Vec<(Bath, State)>, Error> {
    let baths = store::active(conn)?;
    baths
        .into_iter()
        .map(|mut bath| {
            let state = state(conn, now, &bath)?;
            bath.of.fix_s = state.fix_s;
            Ok((bath, state))
        })
        .collect()
}

/// One bath.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn one(conn: &mut Conn, id: i64) -> Result<Bath, Error> {
    store::one(conn, id)
}

/// The baths whose label all the words fit, retired ones too, the latest mixed first.
///
/// # Errors
/// As the database's.
pub fn found(conn: &mut Conn, words: &[String], most: i64) -> Result<Vec<Bath>, Error> {
    store::labelled(conn, words, most)
}

/// What baths of each kind took in a stretch of time, in thousandths of a roll's worth, corrections
/// counted; kinds that took nothing are left out.
///
/// # Errors
/// As the database's.
pub fn took(conn: &mut Conn, span: Span) -> Result<Vec<(Kind, i64)>, Error> {
    let all = store::taken_within(conn, span)?;
    let sum = |kind| all.iter().filter(|(k, _)| *k == kind).map(|(_, milli)| milli).sum::<i64>();
    let kinds = Kind::ALL.iter().map(|(kind, ..)| (*kind, sum(*kind)));
    Ok(kinds.filter(|(_, milli)| *milli != 0).collect())
}

/// The ledger of a bath, the oldest entry first.
///
/// # Errors
/// As the database's.
pub fn ledger(conn: &mut Conn, bath: i64) -> Result<Vec<Entry>, Error> {
    store::entries(conn, bath)
}

/// How long film stays in a bath now, in seconds: twice the clearing time measured last, or what
/// its mixer said.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn fix_time(conn: &mut Conn, now: Moment, bath: i64) -> Result<i64, Error> {
    let bath = store::one(conn, bath)?;
    Ok(state(conn, now, &bath)?.fix_s)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

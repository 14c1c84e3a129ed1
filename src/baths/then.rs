//! A bath as it is at this moment, in words that outlive it: for the record of film that goes in.

use super::rules::{Bath, Kind, minutes, rolls_in_words};
use super::{State, reach_store, runs, store};
use crate::clock::Moment;
use crate::db::Conn;
use crate::error::Error;
use crate::rolls::BathThen;
use crate::web::counted;

/// The state of a bath in one line: how good it is, what it can still take, its age, what is left of
/// it, its dilution and how fast it clears film.
fn in_words(bath: &Bath, state: &State) -> String {
    let mut parts = vec![state.word().to_owned()];
    if super::using::takes_film(bath) {
        let left = rolls_in_words(state.remaining_milli.saturating_abs());
        let side = if state.remaining_milli < 0 { "past its limit" } else { "left" };
        parts.push(format!("{left} rolls' worth {side}"));
    }
    parts.push(format!("{} old", counted(state.age_days, "day", "days")));
    parts.push(format!("{} ml", rolls_in_words(state.left_ul)));
    parts.extend(bath.water_parts.filter(|n| *n > 0).map(|n| format!("1+{n}")));
    parts.extend(state.clearing_s.map(|s| format!("cleared film in {} min", minutes(s))));
    parts.join(", ")
}

fn as_it_is(bath: &Bath, state: &State) -> BathThen {
    BathThen {
        what: bath.kind.name().to_owned(),
        label: bath.label.clone(),
        state: in_words(bath, state),
        seconds: None,
    }
}

/// A bath as it is now.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn then(conn: &mut Conn, now: Moment, bath: i64) -> Result<BathThen, Error> {
    let bath = store::one(conn, bath)?;
    let state = super::state(conn, now, &bath)?;
    Ok(as_it_is(&bath, &state))
}

/// The shared bath of this kind that the film of a run goes through now, beside its developer and
/// its fixer; nothing where none stands.
///
/// # Errors
/// As the database's.
pub fn stands_then(conn: &mut Conn, now: Moment, kind: Kind) -> Result<Option<BathThen>, Error> {
    Ok(runs::stands_along(conn, now, kind)?.map(|(bath, state)| as_it_is(&bath, &state)))
}

/// The stocks mixed ahead that a run's developer is poured from, as they are before it draws on
/// them; none where it comes off the shelf.
///
/// # Errors
/// [`Error::NotFound`] where there is no such run.
pub fn stocks_then(conn: &mut Conn, now: Moment, run: i64) -> Result<Vec<BathThen>, Error> {
    let drawn = reach_store::drawn_by(conn, run)?;
    let mut stocks = Vec::new();
    for (part, mut missing) in drawn.parts {
        for id in reach_store::stocks_of(conn, (drawn.developer, part))? {
            let bath = store::one(conn, id)?;
            let state = super::state(conn, now, &bath)?;
            if missing > 0 && state.left_ul > 0 {
                missing -= state.left_ul;
                stocks.push(as_it_is(&bath, &state));
            }
        }
    }
    Ok(stocks)
}

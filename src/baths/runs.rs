//! What a run takes besides its fixer: developer from stock or off the shelf, and its turn in the
//! stop bath, the wash aid and the wetting agent.

use super::rules::{Bath, Entry, EntryKind, Kind, Material, Place};
use super::{State, Use, reach_store, store, using, watch};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::shelf::{self, Wanted};

/// The film of a run in thousandths of a roll's worth; nothing where a format is not known.
pub(super) fn film_of(conn: &mut Conn, run: i64) -> Result<Option<i64>, Error> {
    let films = reach_store::films_of(conn, &[run])?;
    let sum = films.iter().map(|f| f.milli).try_fold(0_i64, |sum, milli| milli.map(|m| sum + m));
    Ok(sum.filter(|m| *m > 0))
}

/// The first of such baths that may be used, or the first of them where none may.
fn best(
    conn: &mut Conn,
    now: Moment,
    wanted: impl Fn(&Bath) -> bool,
) -> Result<Option<(Bath, State)>, Error> {
    let mut spent = None;
    for bath in store::active(conn)?.into_iter().filter(|b| wanted(b)) {
        let state = super::state(conn, now, &bath)?;
        if state.is_usable() {
            return Ok(Some((bath, state)));
        }
        spent = spent.or(Some((bath, state)));
    }
    Ok(spent)
}

/// What film goes through beside its developer and its fixer, in the order of the process.
pub(super) const ALONG: [Kind; 3] = [Kind::Stop, Kind::WashAid, Kind::WettingAgent];

/// The shared bath of this kind that the film of a run goes through, where one stands.
pub(super) fn stands_along(
    conn: &mut Conn,
    now: Moment,
    kind: Kind,
) -> Result<Option<(Bath, State)>, Error> {
    let working = (kind, Material::Film, Place::Working);
    best(conn, now, |b| (b.kind, b.material, b.place) == working)
}

/// Writes down that a run's film went through the shared stop bath, wash aid and wetting agent as it
/// went through its fixer; each counts it once. Where the studio mixes one afresh for every run,
/// there is no such bath and nothing to write down.
pub(super) fn on_the_way(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    (run, note): (i64, &str),
) -> Result<(), Error> {
    let Some(milli) = film_of(tx, run)? else { return Ok(()) };
    for kind in ALONG {
        if let Some((bath, _)) = stands_along(tx, now, kind)? {
            let wish = Use { bath: bath.id, milli, run: Some(run), note: note.to_owned() };
            using::record_use(tx, now, by, &wish)?;
        }
    }
    Ok(())
}

/// Takes from a bath of stock mixed ahead, or from the shelf, what a run has used of a developer:
/// the oldest stock first, then concentrate, first to expire first. A run that has happened is
/// never refused; returns what the books lacked, in microlitres.
///
/// # Errors
/// [`Error::NotFound`] where there is no such run.
pub fn draw_for_run(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    run: i64,
) -> Result<i64, Error> {
    let drawn = reach_store::drawn_by(tx, run)?;
    let mut lacked = 0;
    for (part, amount_ul) in drawn.parts {
        let of = (drawn.developer, part);
        lacked += draw_part(tx, (now, by), (run, &drawn.why), of, amount_ul)?;
    }
    Ok(lacked)
}

/// The same for one part of the developer.
fn draw_part(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    (run, why): (i64, &str),
    of: (i64, i64),
    amount_ul: i64,
) -> Result<i64, Error> {
    let mut missing = amount_ul.max(0);
    for id in reach_store::stocks_of(tx, of)? {
        if missing > 0 && !store::has_run(tx, id, run)? {
            missing = draw_stock(tx, (now, by), id, (missing, Some(run), why))?;
        }
    }
    for product in reach_store::products_of(tx, of)? {
        if missing > 0 {
            let wanted =
                Wanted { amount: missing, bath: None, run: Some(run), why: why.to_owned() };
            missing = shelf::draw_what_there_is(tx, now, by, product, &wanted)?;
        }
    }
    Ok(missing)
}

/// Pours off what a stock mixed ahead still holds of an amount; returns what is missing.
pub(super) fn draw_stock(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    stock: i64,
    (wanted_ul, run, why): (i64, Option<i64>, &str),
) -> Result<i64, Error> {
    let stock = store::one(tx, stock)?;
    let left = super::state(tx, now, &stock)?.left_ul.max(0);
    let part = wanted_ul.min(left);
    if part > 0 {
        let drawn = Entry { by, volume_ul: -part, run, ..Entry::of(EntryKind::Drawn, now) };
        store::add(tx, stock.id, &drawn.noted(why))?;
        watch::tell(tx, now, &stock)?;
    }
    Ok(wanted_ul - part)
}

//! What is done to a bath between its uses: tested, topped up, replenished, corrected, moved.

use super::rules::{Bath, Entry, EntryKind, Kind, Place, Way};
use super::{State, mixing, reach_store, runs, store, using, watch};
use crate::chemistry::{Replenishment, replenish as chemistry_replenish};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::shelf::{self, Form, Wanted};
use crate::units::{Millilitres, RollEquivalents};

/// A scrap of film cleared against the clock.
#[derive(Clone, Debug, Default)]
pub struct ClipTest {
    /// Seconds until it was clear, 1 to 3600.
    pub seconds: i64,
    /// The film of the scrap; empty where nobody said.
    pub film: String,
    /// The bath's temperature in thousandths of a degree C.
    pub temperature_mc: Option<i64>,
    /// Whether the scrap was wetted first.
    pub pre_wet: bool,
}

/// Records a clip test.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath; a refusal where it is no fixer.
pub fn record_clip_test(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bath: i64,
    test: &ClipTest,
) -> Result<State, Error> {
    let bath = in_use(tx, bath)?;
    if bath.kind != Kind::Fixer {
        return Err(Error::refused("rule", "Only a fixer is tested with a scrap that clears."));
    }
    let entry = Entry {
        by: Some(by),
        seconds: Some(test.seconds),
        film: test.film.clone(),
        temperature_mc: test.temperature_mc,
        pre_wet: test.pre_wet,
        ..Entry::of(EntryKind::ClipTest, now)
    };
    store::add(tx, bath.id, &entry)?;
    watch::tell(tx, now, &bath)
}

fn in_use(conn: &mut Conn, bath: i64) -> Result<Bath, Error> {
    let bath = store::one(conn, bath)?;
    if bath.retired.is_some() {
        return Err(Error::refused(
            "retired",
            format!("“{}” is retired. Take the bath that stands in its place.", bath.label),
        ));
    }
    Ok(bath)
}

/// Records a scrap of leader tried in a developer.
///
/// # Errors
/// As [`record_clip_test`], where it is no developer.
pub fn record_scrap_test(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bath: i64,
    blackened: bool,
) -> Result<State, Error> {
    let bath = in_use(tx, bath)?;
    if bath.kind != Kind::Developer {
        return Err(Error::refused("rule", "Only a developer is tried with a scrap of leader."));
    }
    let passed = Some(blackened);
    let entry = Entry { by: Some(by), passed, ..Entry::of(EntryKind::ScrapTest, now) };
    store::add(tx, bath.id, &entry)?;
    watch::tell(tx, now, &bath)
}

/// Records working solution that was added. It fills the bottle; it restores no capacity.
///
/// # Errors
/// A sentence when the bottle would hold more than it did when it was mixed.
pub fn top_up(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bath: i64,
    volume_ul: i64,
) -> Result<State, Error> {
    let bath = in_use(tx, bath)?;
    let state = super::state(tx, now, &bath)?;
    let room = bath.volume_ul - state.left_ul;
    if volume_ul > room {
        return Err(Error::field(
            "volume_ml",
            format!(
                "It holds {} ml of the {} ml it was mixed as; there is room for {} ml.",
                shelf::figure(state.left_ul),
                shelf::figure(bath.volume_ul),
                shelf::figure(room.max(0))
            ),
        ));
    }
    let entry = Entry { by: Some(by), volume_ul, ..Entry::of(EntryKind::TopUp, now) };
    store::add(tx, bath.id, &entry.noted("A top-up restores no capacity."))?;
    watch::tell(tx, now, &bath)
}

/// The volumes of the next replenishment, by the film since the last.
///
/// # Errors
/// A sentence when the bath is not replenished, or would need more than it holds.
pub(super) fn replenishment(bath: &Bath, state: &State) -> Result<Replenishment, Error> {
    let per_roll = bath
        .replenish_ul
        .filter(|_| bath.way == Way::Replenished)
        .ok_or_else(|| Error::refused("rule", "This bath is not kept up by replenishing."))?;
    let wrong = |e: String| Error::refused("rule", format!("It cannot be replenished: {e}."));
    let volume = |ul: i64| {
        Millilitres::from_microlitres(u64::try_from(ul.max(0)).unwrap_or_default())
            .map_err(|e| wrong(e.to_string()))
    };
    let film = u64::try_from(state.used_milli.max(0)).unwrap_or_default().saturating_mul(1000);
    chemistry_replenish(
        volume(per_roll)?,
        RollEquivalents::from_millionths(film),
        volume(state.left_ul.min(bath.volume_ul))?,
        volume(bath.volume_ul)?,
    )
    .map_err(|e| wrong(e.to_string()))
}

/// Takes the replenisher off the shelf, or out of its stock mixed ahead: all of it or nothing.
fn draw_replenisher(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bath: &Bath,
    volume_ul: i64,
) -> Result<(), Error> {
    let Some(with) = bath.replenisher else { return Ok(()) };
    let why = format!("{} replenished", bath.label);
    let mut missing = volume_ul;
    for stock in reach_store::stocks_from(tx, with.product)? {
        if missing > 0 {
            missing = runs::draw_stock(tx, (now, Some(by)), stock, (missing, None, &why))?;
        }
    }
    if missing == 0 {
        return Ok(());
    }
    let product = shelf::product(tx, with.product)?;
    let amount = match product.of.form {
        // A powder is no liquid until it is mixed: its stock is a bath of its own.
        Form::Powder => {
            return Err(Error::refused(
                "rule",
                format!(
                    "It takes {} ml of replenisher; the stock of {} mixed ahead holds {} ml. Mix \
                     stock of it first.",
                    shelf::figure(volume_ul),
                    product.of.name,
                    shelf::figure(volume_ul - missing)
                ),
            ));
        }
        Form::Ready | Form::Concentrate => {
            mixing::from_the_shelf(&product, missing, with.water_parts)?
        }
    };
    let wanted = Wanted { amount, bath: Some(bath.id), run: None, why };
    shelf::draw(tx, now, Some(by), product.id, &wanted).map_err(|e| match e {
        Error::Invalid(faults) => {
            let sentences: Vec<String> = faults.into_values().collect();
            Error::refused("rule", sentences.join(" "))
        }
        other => other,
    })
}

/// Replenishes a developer for all the film since the last time, and records the volumes.
///
/// # Errors
/// As the figure it writes; a refusal when no film went through since.
pub fn replenish(tx: &mut Tx<'_>, (now, by): (Moment, i64), bath: i64) -> Result<State, Error> {
    let bath = in_use(tx, bath)?;
    let state = super::state(tx, now, &bath)?;
    let volumes = replenishment(&bath, &state)?;
    if state.used_milli <= 0 {
        return Err(Error::refused("rule", "No film went through it since it was replenished."));
    }
    let ul = |v: Millilitres| i64::try_from(v.microlitres()).unwrap_or(i64::MAX);
    draw_replenisher(tx, (now, by), &bath, ul(volumes.replenisher))?;
    let note = format!(
        "{} ml taken out, {} ml of replenisher added, {} ml put back, {} ml collected.",
        volumes.take_out.ml(),
        volumes.replenisher.ml(),
        volumes.put_back.ml(),
        volumes.discard.ml()
    );
    let entry = Entry {
        by: Some(by),
        milli: -state.used_milli,
        volume_ul: ul(volumes.replenisher) + ul(volumes.put_back) - ul(volumes.take_out),
        ..Entry::of(EntryKind::Replenish, now)
    };
    store::add(tx, bath.id, &entry.noted(&note))?;
    watch::tell(tx, now, &bath)
}

/// Corrects an entry, naming it: a use to what it really was, anything else to not having happened.
///
/// # Errors
/// A sentence when the entry is not of this bath, cannot be corrected, or was that much already.
pub fn correct(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    (bath, entry): (i64, i64),
    true_milli: i64,
    why: &str,
) -> Result<State, Error> {
    let bath = store::one(tx, bath)?;
    let ledger = store::entries(tx, bath.id)?;
    let wrong = ledger.iter().find(|e| e.id == entry).ok_or(Error::NotFound)?;
    let earlier: Vec<&Entry> = ledger.iter().filter(|e| e.corrects == Some(entry)).collect();
    let delta = difference(wrong, &earlier, true_milli)?;
    let correction = Entry {
        by: Some(by),
        corrects: Some(entry),
        note: why.to_owned(),
        milli: delta.milli,
        film_milli: delta.film_milli,
        volume_ul: delta.volume_ul,
        ..Entry::of(EntryKind::Correction, now)
    };
    store::add(tx, bath.id, &correction)?;
    watch::tell(tx, now, &bath)
}

/// By how much an entry was wrong, as a correction has it.
pub(super) fn difference(
    wrong: &Entry,
    earlier: &[&Entry],
    true_milli: i64,
) -> Result<Entry, Error> {
    let sum = |of: fn(&Entry) -> i64| of(wrong) + earlier.iter().map(|e| of(e)).sum::<i64>();
    let mut delta = Entry::of(EntryKind::Correction, wrong.at);
    match wrong.kind {
        EntryKind::Use => {
            let told = sum(|e| e.milli);
            if told == true_milli {
                return Err(Error::field("rolls", "The ledger says so already."));
            }
            delta.milli = true_milli - told;
            let part = |n: i64| {
                let share = i128::from(n) * i128::from(true_milli);
                i64::try_from(share / i128::from(wrong.milli.max(1))).unwrap_or(n)
            };
            delta.film_milli = part(wrong.film_milli) - sum(|e| e.film_milli);
            delta.volume_ul = part(wrong.volume_ul) - sum(|e| e.volume_ul);
        }
        EntryKind::ClipTest | EntryKind::ScrapTest | EntryKind::TopUp | EntryKind::Drawn => {
            if !earlier.is_empty() {
                return Err(Error::refused("rule", "That entry was taken back already."));
            }
            delta.volume_ul = -wrong.volume_ul;
        }
        _ => {
            return Err(Error::refused(
                "rule",
                "Such an entry is not corrected. Correct the use, test or top-up itself.",
            ));
        }
    }
    Ok(delta)
}

/// Moves a bath to another place.
///
/// # Errors
/// A sentence when that place of two is taken.
pub fn move_to(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bath: i64,
    place: Place,
) -> Result<(), Error> {
    let bath = in_use(tx, bath)?;
    if bath.place == place {
        return Ok(());
    }
    if let Some(there) = mixing::standing_at(tx, bath.kind, bath.material, place)? {
        return Err(Error::field("place", mixing::taken(&there)));
    }
    if using::takes_film(&bath) || place == Place::Reserve || place == Place::Working {
        store::update_place(tx, bath.id, place, bath.promotions)?;
        let note = format!("From {} to {}.", bath.place.name(), place.name());
        let entry = Entry { by: Some(by), ..Entry::of(EntryKind::Moved, now) };
        return store::add(tx, bath.id, &entry.noted(&note));
    }
    Err(Error::field("place", "Stock mixed ahead stands as a working bottle or in reserve."))
}

//! Looking back: every film since the last good test, with its owner and where it is.

use std::collections::BTreeMap;

use super::rules::{Bath, Entry, EntryKind, Kind};
use super::{mail, reach_store, state, store};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::counted;
use crate::{members, outbox, rolls, shelf};

/// A film that went through something found bad, or somebody's use that names no film.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Called {
    /// When it went through.
    pub at: Moment,
    /// Its roll, where a run recorded it.
    pub roll: Option<i64>,
    /// Its ticket, or what was written beside the use.
    pub what: String,
    /// Whose it is, or who recorded it.
    pub owner_id: Option<i64>,
    /// Their name.
    pub owner: String,
    /// Where the roll is now, as the word of its state.
    pub state: Option<String>,
}

/// What is called back, and why.
#[derive(Clone, Debug)]
pub struct Recall {
    /// What was found bad.
    pub what: String,
    /// Whether films are to be fixed again.
    pub fixer: bool,
    /// Since the last good test, or since the beginning where there was none.
    pub since: Option<Moment>,
    /// How often it was called back before.
    pub before: i64,
    /// The films, the earliest first.
    pub films: Vec<Called>,
}

/// Entries of uses since the last good test: everything after it when a test failed, everything
/// since the last good one when none did.
#[must_use]
pub(super) fn unproven<'a>(
    bath: &Bath,
    ledger: &'a [Entry],
    measures: &state::Measures,
) -> (Option<Moment>, Vec<&'a Entry>) {
    let taken_back = |e: &Entry| ledger.iter().any(|c| c.corrects == Some(e.id));
    let mut since = None;
    let mut open: Vec<&Entry> = Vec::new();
    for (place, entry) in ledger.iter().enumerate() {
        match entry.kind {
            EntryKind::Use => open.push(entry),
            EntryKind::ClipTest | EntryKind::ScrapTest if !taken_back(entry) => {
                let until = ledger.get(..=place).unwrap_or_default();
                let said = state::state(bath, until, entry.at, measures);
                if said.condition != super::Condition::FailedTest {
                    since = Some(entry.at);
                    open.clear();
                }
            }
            _ => {}
        }
    }
    let net = |e: &Entry| {
        let corrected = ledger.iter().filter(|c| c.corrects == Some(e.id));
        e.milli + corrected.map(|c| c.milli).sum::<i64>()
    };
    open.retain(|e| net(e) > 0);
    (since, open)
}

/// Every film that went through a bath since its last good test.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn recall_of_bath(conn: &mut Conn, bath: i64) -> Result<Recall, Error> {
    let bath = store::one(conn, bath)?;
    let ledger = store::entries(conn, bath.id)?;
    let measures = super::measures(conn, &bath, &ledger)?;
    // The bath as it was while in use: being retired hides what its tests said.
    let in_use = Bath { retired: None, ..bath.clone() };
    let (since, open) = unproven(&in_use, &ledger, &measures);
    let films = films(conn, &open)?;
    let before = ledger.iter().filter(|e| e.kind == EntryKind::Recalled).count();
    Ok(Recall {
        fixer: bath.kind == Kind::Fixer,
        what: bath.of.label,
        since,
        before: i64::try_from(before).unwrap_or(0),
        films,
    })
}

fn films(conn: &mut Conn, uses: &[&Entry]) -> Result<Vec<Called>, Error> {
    let runs: Vec<i64> = uses.iter().filter_map(|e| e.run).collect();
    let by: Vec<i64> = uses.iter().filter_map(|e| e.by).collect();
    let of_runs = reach_store::films_of(conn, &runs)?;
    let names = members::names(conn, &by)?;
    let mut all = Vec::new();
    for entry in uses {
        let films: Vec<_> = of_runs.iter().filter(|f| Some(f.run) == entry.run).collect();
        all.extend(films.iter().map(|f| Called {
            at: entry.at,
            roll: Some(f.roll),
            what: ticket(f),
            owner_id: Some(f.owner_id),
            owner: f.owner.clone(),
            state: Some(f.state.clone()),
        }));
        if films.is_empty() {
            let what = format!("{} rolls' worth", super::rules::rolls_in_words(entry.film_milli));
            let note = entry.note.trim();
            all.push(Called {
                at: entry.at,
                roll: None,
                what: if note.is_empty() { what } else { format!("{what}: {note}") },
                owner_id: entry.by,
                owner: entry.by.and_then(|b| names.get(&b)).cloned().unwrap_or_default(),
                state: None,
            });
        }
    }
    Ok(all)
}

/// A film as a recall names it: its ticket, and how many sheets where it is a set.
fn ticket(film: &reach_store::Film) -> String {
    match film.sheets {
        Some(1) | None => format!("ticket {}", film.ticket),
        Some(n) => format!("ticket {}, {n} sheets of {}", film.ticket, film.format),
    }
}

/// Every film that a bottle of the shelf went to: by the baths mixed from it, and by runs.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bottle.
pub fn recall_of_bottle(conn: &mut Conn, bottle: i64) -> Result<Recall, Error> {
    let (bottle, product) = shelf::bottle(conn, bottle)?;
    let went = shelf::went_to(conn, bottle.id)?;
    let mut all = Vec::new();
    let runs: Vec<i64> = went.iter().filter_map(|w| w.run).collect();
    for film in reach_store::films_of(conn, &runs)? {
        all.push(Called {
            at: bottle.received,
            roll: Some(film.roll),
            what: ticket(&film),
            owner_id: Some(film.owner_id),
            owner: film.owner,
            state: Some(film.state),
        });
    }
    for bath in went.iter().filter_map(|w| w.bath) {
        let ledger = store::entries(conn, bath)?;
        let took = |e: &&Entry| matches!(e.kind, EntryKind::Use | EntryKind::Drawn);
        all.extend(films(conn, &ledger.iter().filter(took).collect::<Vec<_>>())?);
    }
    let vessel = product.of.form.vessel();
    let before = shelf::history(conn, product.id, Some(bottle.id))?;
    let before = before.iter().filter(|d| d.why.starts_with(CALLED)).count();
    Ok(Recall {
        what: format!("{}, {vessel} {} of lot {}", product.of.name, bottle.id, bottle.lot),
        fixer: product.of.purpose == shelf::Purpose::Fixer,
        since: None,
        before: i64::try_from(before).unwrap_or(0),
        films: all,
    })
}

/// How the history of a bottle says that its films were called back.
const CALLED: &str = "Films called back";

/// What is called back.
#[derive(Clone, Copy, Debug)]
pub enum Source {
    /// A bath.
    Bath(i64),
    /// A bottle of the shelf.
    Bottle(i64),
}

/// Writes to the owner of every film that is called back, and marks the rolls of a bad fixer to be
/// fixed again, all in one act; says how many people were written to.
///
/// # Errors
/// A refusal when there is nothing to call back.
pub fn call_back(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    source: Source,
) -> Result<usize, Error> {
    let recall = match source {
        Source::Bath(id) => recall_of_bath(tx, id)?,
        Source::Bottle(id) => recall_of_bottle(tx, id)?,
    };
    if recall.films.is_empty() {
        return Err(Error::refused(
            "rule",
            "No film went through it; there is nobody to write to.",
        ));
    }
    let zone = crate::studio::load(tx)?.zone;
    let mut by_owner: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for film in &recall.films {
        if let Some(owner) = film.owner_id {
            let day = zone.date(film.at).format("%-d %B %Y");
            by_owner.entry(owner).or_default().push(format!("{}, {day}", film.what));
        }
        if let Some(roll) = film.roll.filter(|_| recall.fixer) {
            let note = format!("{} was found bad. Fix again in fresh fixer.", recall.what);
            match rolls::set_state(tx, now, (roll, Some(by)), rolls::State::ReFix, &note) {
                Ok(()) | Err(Error::Refused { .. }) => {}
                Err(e) => return Err(e),
            }
        }
    }
    let mut told = 0;
    for (owner, films) in &by_owner {
        let Some(to) = members::reader(tx, *owner)? else { continue };
        let key = format!("recall {source:?} {} {owner}", recall.before);
        let letter = mail::call_back(now, &to, (&recall.what, recall.fixer), films, key)?;
        told += usize::from(outbox::post(tx, now, &letter)?);
    }
    let (films, people) =
        (counted(recall.films.len(), "film", "films"), counted(told, "person", "people"));
    let note = format!("{CALLED}: {films}, {people} written to.");
    match source {
        Source::Bath(id) => {
            let entry = Entry { by: Some(by), ..Entry::of(EntryKind::Recalled, now) };
            store::add(tx, id, &entry.noted(&note))?;
        }
        Source::Bottle(id) => shelf::write_down(tx, (now, by), id, &note)?,
    }
    Ok(told)
}

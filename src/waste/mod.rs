//! Waste: named containers that take one kind each, a log that is only added to, pick-ups, and the
//! local rule a lead typed, without which every line reads "collect, do not pour".

mod pages;
mod rules;
mod store;

use std::collections::BTreeMap;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::safety::{self, Filling};
use crate::shelf::figure;
use crate::web::Routes;

pub use rules::{Contents, Rule, Waste, disposal, gas, refusal, silver_range};

/// What a lead says of a container.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewContainer {
    /// Its name; no other container's.
    pub name: String,
    /// The one kind it takes.
    pub accepts: Waste,
    /// What it takes up to its head space, in microlitres.
    pub holds_ul: i64,
    /// Whom to ask about it.
    pub contact: String,
    /// What to know about it.
    pub note: String,
}

/// A container for waste.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Container {
    /// Its id.
    pub id: i64,
    /// What was said of it.
    pub of: NewContainer,
    /// Counts its changes.
    pub version: i64,
}

/// One line of the log about to be written.
#[derive(Clone, Debug, Default)]
pub struct Pour {
    /// Where it goes.
    pub container: i64,
    /// What it is; nothing for a pick-up.
    pub waste: Option<Waste>,
    /// Where it came from, in words.
    pub what: String,
    /// The bath it was.
    pub bath: Option<i64>,
    /// How much, in microlitres.
    pub volume_ul: i64,
    /// Least and most silver estimated in it, in milligrams.
    pub silver_mg: (i64, i64),
    /// What that estimate rests on.
    pub assumed: String,
    /// Anything to remember.
    pub note: String,
}

/// One line of the log.
#[derive(Clone, Debug)]
pub struct LogLine {
    /// When.
    pub at: Moment,
    /// The container's name.
    pub container: String,
    /// What went in; nothing for a pick-up.
    pub waste: Option<Waste>,
    /// Where it came from.
    pub what: String,
    /// How much went in, in microlitres; negative for a pick-up.
    pub volume_ul: i64,
    /// Least and most silver estimated in it, in milligrams.
    pub silver_mg: (i64, i64),
    /// What that estimate rests on.
    pub assumed: String,
    /// Who.
    pub by: Option<String>,
    /// Anything noted.
    pub note: String,
    /// The bath it was.
    pub bath: Option<i64>,
}

/// Starts a container.
///
/// # Errors
/// A sentence when one has that name.
pub fn add_container(tx: &mut Tx<'_>, new: &NewContainer) -> Result<i64, Error> {
    store::insert(tx, new)
}

/// Pours something into a container of its kind, and writes it into the log.
///
/// # Errors
/// A sentence beside `container` when it takes another kind (with the gas that would be released),
/// or beside `volume_ml` when it would be too full.
pub fn pour(
    tx: &mut Tx<'_>,
    at: (Moment, Option<i64>),
    waste: Waste,
    wish: &Pour,
) -> Result<(), Error> {
    let container = store::one(tx, wish.container).map_err(|e| match e {
        Error::NotFound => Error::field("container", "Choose a container."),
        other => other,
    })?;
    if let Some(sentence) = rules::refusal(&container.of.name, container.of.accepts, waste) {
        return Err(Error::field("container", sentence));
    }
    let contents = rules::contents(&store::poured(tx, container.id)?);
    let room = container.of.holds_ul - contents.volume_ul;
    if wish.volume_ul > room {
        return Err(Error::field(
            "volume_ml",
            format!(
                "“{}” has room for {} ml up to its head space. Have it picked up, or start \
                 another container.",
                container.of.name,
                figure(room.max(0))
            ),
        ));
    }
    store::add(tx, at, &Pour { waste: Some(waste), ..wish.clone() })
}

/// Records that a container was picked up: it is empty from now on.
///
/// # Errors
/// A refusal when there is nothing in it.
pub fn pick_up(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    container: i64,
    (who, note): (&str, &str),
) -> Result<(), Error> {
    let container = store::one(tx, container)?;
    let contents = rules::contents(&store::poured(tx, container.id)?);
    if contents.volume_ul == 0 {
        return Err(Error::refused("rule", "There is nothing in it to be picked up."));
    }
    let line = Pour {
        container: container.id,
        what: format!("Picked up by {who}"),
        volume_ul: -contents.volume_ul,
        silver_mg: (contents.silver_least_mg, contents.silver_most_mg),
        note: note.to_owned(),
        ..Pour::default()
    };
    store::add(tx, (now, Some(by)), &line)
}

/// Keeps the local rule for a kind of waste, in the safety notes too where they have a place for
/// it; the one before it stays in the record.
///
/// # Errors
/// As the database's.
pub fn set_rule(tx: &mut Tx<'_>, at: (Moment, i64), rule: &Rule) -> Result<(), Error> {
    store::insert_rule(tx, at, rule)?;
    let Some(key) = rule.waste.blank() else { return Ok(()) };
    let filling = Filling {
        value: rule.rule.clone(),
        authority: rule.authority.clone(),
        ruled_on: Some(rule.dated),
    };
    let (now, by) = at;
    safety::fill_blanks(tx, now, by, &BTreeMap::from([(key, filling)]))
}

/// The rule that holds for each kind of waste. Where the safety notes have a place for it, that is
/// where it stands, so that notes, labels and sheets never say two things; an empty place closes it.
///
/// # Errors
/// As the database's.
pub fn rules(conn: &mut Conn) -> Result<Vec<Rule>, Error> {
    let mut all = store::rules(conn)?;
    all.retain(|r| r.waste.blank().is_none());
    for (waste, ..) in Waste::ALL {
        let Some(key) = waste.blank() else { continue };
        let Some(filled) = safety::filling(conn, key)? else { continue };
        if let Some(dated) = filled.ruled_on {
            let (rule, authority) = (filled.value, filled.authority);
            all.push(Rule { waste, rule, authority, dated });
        }
    }
    Ok(all)
}

/// All containers with what is in them.
///
/// # Errors
/// As the database's.
pub fn containers(conn: &mut Conn) -> Result<Vec<(Container, Contents)>, Error> {
    let all = store::all(conn)?;
    all.into_iter()
        .map(|c| {
            let contents = rules::contents(&store::poured(conn, c.id)?);
            Ok((c, contents))
        })
        .collect()
}

/// What may be said about getting rid of a kind of waste: the typed rule, or "collect, do not pour".
///
/// # Errors
/// As the database's.
pub fn disposal_of(conn: &mut Conn, waste: Waste) -> Result<String, Error> {
    let rules = self::rules(conn)?;
    Ok(disposal(rules.iter().find(|r| r.waste == waste)))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

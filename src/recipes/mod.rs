//! The time chart: films, developers, and the recipes that bring them together. A recipe is kept
//! in versions: what stands on the chart is the approved one, and a roll remembers the version it
//! was developed by.

pub(crate) mod api;
mod bring_in;
mod cells;
mod csv;
mod mail;
mod pages;
mod parts;
mod rules;
mod store;
mod timing;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members;
use crate::outbox;
use crate::sessions::{Person, Role};
use crate::web::Routes;

pub use parts::DeveloperPart;
pub use rules::{
    Handling, Standing, agitation_in_words, agitation_kept, agitation_scheme, clock_of, decimal,
    seconds_of, thousandths_of,
};
pub use store::{
    Developer, Film, GrowthRow, NewDeveloper, NewFilm, NewRecipe, Place, Recipe, Search,
};
pub use timing::{TimeWish, time_for};

/// Enters a film.
///
/// # Errors
/// When there is one of that name.
pub fn add_film(tx: &mut Tx<'_>, new: &NewFilm) -> Result<i64, Error> {
    if store::film_named(tx, &new.name)?.is_some() {
        return Err(Error::field("name", format!("“{}” is on the chart already.", new.name)));
    }
    store::insert_film(tx, new)
}

/// Enters a developer at one dilution.
///
/// # Errors
/// When there is one of that name.
pub fn add_developer(tx: &mut Tx<'_>, new: &NewDeveloper) -> Result<i64, Error> {
    if store::developer_named(tx, &new.name)?.is_some() {
        return Err(Error::field("name", format!("“{}” is on the chart already.", new.name)));
    }
    store::insert_developer(tx, new)
}

/// Changes a developer that somebody read in this version.
///
/// # Errors
/// When another has that name, or somebody changed it meanwhile.
pub fn change_developer(
    tx: &mut Tx<'_>,
    id: i64,
    version: i64,
    new: &NewDeveloper,
) -> Result<(), Error> {
    if store::developer_named(tx, &new.name)?.is_some_and(|other| other != id) {
        return Err(Error::field("name", format!("“{}” is another one's name.", new.name)));
    }
    if store::update_developer(tx, id, version, new)? {
        return Ok(());
    }
    store::developer(tx, id)?;
    Err(Error::refused(
        "changed-meanwhile",
        "Somebody changed this developer meanwhile. Open it afresh and enter your change again.",
    ))
}

/// Says whether the bottle of a product stands on the shelf; returns how many dilutions it makes.
///
/// # Errors
/// As the database's.
pub fn set_on_hand(tx: &mut Tx<'_>, product: &str, on_hand: bool) -> Result<usize, Error> {
    store::set_on_hand(tx, product, on_hand)
}

/// Enters a recipe on the chart, as a lead does.
///
/// # Errors
/// A refusal when the chart has one for just the same.
pub fn add_recipe(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    new: &NewRecipe,
) -> Result<i64, Error> {
    check(tx, new)?;
    check_one_of_a_kind(tx, None, new)?;
    store::insert_recipe(tx, (now, by), (None, Standing::Approved), new)
}

/// Enters a recipe, or the next version of one. A lead's stands at once and takes the place of the
/// version before; a member's is a proposal.
///
/// # Errors
/// A sentence beside the field, or a refusal when the chart has one for just the same.
pub fn enter(
    tx: &mut Tx<'_>,
    now: Moment,
    person: &Person,
    line: Option<i64>,
    new: &NewRecipe,
) -> Result<i64, Error> {
    check(tx, new)?;
    let by = (now, Some(person.id));
    if person.role != Role::Lead {
        return store::insert_recipe(tx, by, (line, Standing::Proposed), new);
    }
    check_one_of_a_kind(tx, line, new)?;
    replace(tx, line)?;
    store::insert_recipe(tx, by, (line, Standing::Approved), new)
}

/// Takes the version that stands on the chart out of the way of the next.
fn replace(tx: &mut Tx<'_>, line: Option<i64>) -> Result<(), Error> {
    let Some(line) = line else { return Ok(()) };
    for old in store::rows_of_line(tx, line)? {
        store::set_standing(tx, old.id, Standing::Approved, Standing::Replaced)?;
    }
    Ok(())
}

fn check(tx: &mut Tx<'_>, new: &NewRecipe) -> Result<(), Error> {
    store::film(tx, new.film_id)
        .map_err(|_e| Error::field("film", "That film is not on the chart; enter it first."))?;
    store::developer(tx, new.developer_id)
        .map_err(|_e| Error::field("developer", "That developer is not here; enter it first."))?;
    rules::fitting_table(&new.table, new.temperature_mc, new.time_s)?;
    Ok(())
}

fn check_one_of_a_kind(tx: &mut Tx<'_>, line: Option<i64>, new: &NewRecipe) -> Result<(), Error> {
    match store::one_of_a_kind(tx, new)? {
        Some(other) if Some(other.line_id) != line => Err(Error::refused(
            "recipe-known",
            format!(
                "The chart has {} at EI {} in {} at this temperature, agitation and contrast \
                 already: recipe {}. Change that one.",
                other.film.name, other.ei, other.developer.name, other.line_id
            ),
        )),
        _ => Ok(()),
    }
}

/// Decides about a proposal: it takes its place on the chart, or is declined with a reason. Its
/// author is written to.
///
/// # Errors
/// A refusal when it was decided already, or the chart has one for just the same.
pub fn decide(
    tx: &mut Tx<'_>,
    (now, lead): (Moment, i64),
    id: i64,
    approve: bool,
    why: &str,
) -> Result<Recipe, Error> {
    let recipe = store::by_id(tx, id)?;
    let to = if approve { Standing::Approved } else { Standing::Declined };
    if recipe.standing == to {
        return Ok(recipe);
    }
    if recipe.standing != Standing::Proposed {
        return Err(Error::refused(
            "already-decided",
            format!("This proposal is “{}” by now.", recipe.standing.name()),
        ));
    }
    if approve {
        check_one_of_a_kind(tx, Some(recipe.line_id), &recipe.again())?;
        replace(tx, Some(recipe.line_id))?;
    }
    store::set_standing(tx, id, Standing::Proposed, to)?;
    store::decide(tx, (now, lead), id, why)?;
    if let Some(author) = recipe.entered_by
        && let Ok(to) = members::recipient(tx, author)
    {
        outbox::post(tx, now, &mail::decided(now, &to, &recipe, approve, why)?)?;
    }
    store::by_id(tx, id)
}

/// Takes a recipe off the chart; rolls that were developed by it keep it.
///
/// # Errors
/// A refusal when it is not on the chart.
pub fn withdraw(
    tx: &mut Tx<'_>,
    (now, lead): (Moment, i64),
    id: i64,
    why: &str,
) -> Result<(), Error> {
    let recipe = store::by_id(tx, id)?;
    if recipe.standing == Standing::Withdrawn {
        return Ok(());
    }
    if !store::set_standing(tx, id, Standing::Approved, Standing::Withdrawn)? {
        return Err(Error::refused(
            "not-on-the-chart",
            format!("This version is “{}”, not on the chart.", recipe.standing.name()),
        ));
    }
    store::decide(tx, (now, lead), id, why)
}

impl Recipe {
    /// The same recipe as something to be entered, such as for its next version.
    #[must_use]
    pub fn again(&self) -> NewRecipe {
        NewRecipe {
            film_id: self.film.id,
            ei: self.ei,
            developer_id: self.developer.id,
            temperature_mc: self.temperature_mc,
            agitation: self.agitation.clone(),
            pre_soak_s: self.pre_soak_s,
            time_s: self.time_s,
            contrast: self.contrast.clone(),
            source: self.source.clone(),
            table: self.table.clone(),
            why: String::new(),
        }
    }
}

/// One version of a recipe.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn by_id(conn: &mut Conn, id: i64) -> Result<Recipe, Error> {
    store::by_id(conn, id)
}

/// The version that stands on the chart today in the line of this one; this one where none does.
/// What waits for a run is developed by it.
///
/// # Errors
/// [`Error::NotFound`] where there is no such version.
pub fn today_of(conn: &mut Conn, id: i64) -> Result<Recipe, Error> {
    let asked = store::by_id(conn, id)?;
    if asked.standing == Standing::Approved {
        return Ok(asked);
    }
    let mut line = store::rows_of_line(conn, asked.line_id)?;
    match line.iter().position(|r| r.standing == Standing::Approved) {
        Some(at) => Ok(line.swap_remove(at)),
        None => Ok(asked),
    }
}

/// The recipes on the chart for a film at an exposure index, the latest entered first.
///
/// # Errors
/// As the database's.
pub fn for_film(conn: &mut Conn, film: i64, ei: i64) -> Result<Vec<Recipe>, Error> {
    let mut found =
        store::found(conn, &Search { film: Some(film), ei: Some(ei), ..Search::default() })?;
    found.reverse();
    Ok(found)
}

/// What is possible for a film at an exposure index with what stands on the shelf.
///
/// # Errors
/// As the database's.
pub fn possible(conn: &mut Conn, film: i64, ei: i64) -> Result<Vec<Recipe>, Error> {
    let on_hand = true;
    let search = Search { film: Some(film), ei: Some(ei), on_hand, ..Search::default() };
    store::found(conn, &search)
}

/// Every recipe on the chart, by film and exposure index.
///
/// # Errors
/// As the database's.
pub fn all(conn: &mut Conn) -> Result<Vec<Recipe>, Error> {
    store::found(conn, &Search::default())
}

/// The recipes that fit, by film, exposure index and age.
///
/// # Errors
/// As the database's.
pub fn found(conn: &mut Conn, search: &Search) -> Result<Vec<Recipe>, Error> {
    store::found(conn, search)
}

/// All films by name.
///
/// # Errors
/// As the database's.
pub fn films(conn: &mut Conn) -> Result<Vec<Film>, Error> {
    store::films(conn)
}

/// One film.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn film(conn: &mut Conn, id: i64) -> Result<Film, Error> {
    store::film(conn, id)
}

/// All developers by name.
///
/// # Errors
/// As the database's.
pub fn developers(conn: &mut Conn) -> Result<Vec<Developer>, Error> {
    store::developers(conn)
}

/// One developer.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn developer(conn: &mut Conn, id: i64) -> Result<Developer, Error> {
    store::developer(conn, id)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

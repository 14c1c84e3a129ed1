//! The time chart: films, developers, and the recipes that bring them together.

pub(crate) mod api;
mod pages;
mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use store::{Developer, Film, NewDeveloper, NewRecipe, Recipe};

/// Enters a film.
///
/// # Errors
/// When there is one of that name.
pub fn add_film(tx: &mut Tx<'_>, name: &str, speed: i64, tabular: bool) -> Result<i64, Error> {
    if store::film_named(tx, name)?.is_some() {
        return Err(Error::field("name", format!("“{name}” is on the chart already.")));
    }
    store::insert_film(tx, name, speed, tabular)
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

/// Enters a recipe.
///
/// # Errors
/// As the database's.
pub fn add_recipe(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    new: &NewRecipe,
) -> Result<i64, Error> {
    store::insert_recipe(tx, now, by, new)
}

/// One recipe.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn by_id(conn: &mut Conn, id: i64) -> Result<Recipe, Error> {
    store::recipes(conn, &store::Wanted { id: Some(id), ..Default::default() })?
        .into_iter()
        .next()
        .ok_or(Error::NotFound)
}

/// The recipes for a film at an exposure index, the latest entered first.
///
/// # Errors
/// As the database's.
pub fn for_film(conn: &mut Conn, film: i64, ei: i64) -> Result<Vec<Recipe>, Error> {
    let wanted = store::Wanted { film: Some(film), ei: Some(ei), ..Default::default() };
    store::recipes(conn, &wanted)
}

/// All recipes, by film and exposure index.
///
/// # Errors
/// As the database's.
pub fn all(conn: &mut Conn) -> Result<Vec<Recipe>, Error> {
    store::recipes(conn, &store::Wanted::default())
}

/// All films by name.
///
/// # Errors
/// As the database's.
pub fn films(conn: &mut Conn) -> Result<Vec<Film>, Error> {
    store::films(conn)
}

/// All developers by name.
///
/// # Errors
/// As the database's.
pub fn developers(conn: &mut Conn) -> Result<Vec<Developer>, Error> {
    store::developers(conn)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

//! Taking a file of recipes in: all of it or nothing.

use std::collections::BTreeMap;

use super::csv::{Known, Row};
use super::rules::Standing;
use super::store::{self, NewFilm, NewRecipe, Recipe, Search};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// What a file does, or would do, to the chart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub(super) struct Outcome {
    /// Recipes that are new.
    pub(super) new: usize,
    /// Recipes that get another version.
    pub(super) changed: usize,
    /// Recipes that stand there just so.
    pub(super) same: usize,
    /// Films that are new.
    pub(super) films: usize,
}

/// The films and developers of the chart by their names.
pub(super) fn known(conn: &mut Conn) -> Result<Known, Error> {
    let films = store::films(conn)?.into_iter().map(|f| (f.name, (f.id, f.speed))).collect();
    let developers = store::developers(conn)?.into_iter().map(|d| (d.name, d.id)).collect();
    Ok(Known { films, developers })
}

/// What a recipe is for: two of one kind do not stand on the chart.
type Kind = (i64, i64, i64, i64, String, String);

fn kind(r: &NewRecipe) -> Kind {
    (r.film_id, r.ei, r.developer_id, r.temperature_mc, r.agitation.clone(), r.contrast.clone())
}

fn chart(conn: &mut Conn) -> Result<BTreeMap<Kind, Recipe>, Error> {
    let all = store::found(conn, &Search::default())?;
    Ok(all.into_iter().map(|r| (kind(&r.again()), r)).collect())
}

fn says_the_same(old: &Recipe, new: &NewRecipe) -> bool {
    old.time_s == new.time_s
        && old.pre_soak_s == new.pre_soak_s
        && old.source == new.source
        && old.table == new.table
}

/// What taking these rows in would do.
pub(super) fn foresee(conn: &mut Conn, rows: &[Row]) -> Result<Outcome, Error> {
    let chart = chart(conn)?;
    let mut outcome = Outcome::default();
    let mut films: Vec<&str> = Vec::new();
    for row in rows {
        if let Some((name, _)) = &row.new_film
            && !films.contains(&name.as_str())
        {
            films.push(name);
        }
        match chart.get(&kind(&row.recipe)) {
            None => outcome.new += 1,
            Some(old) if says_the_same(old, &row.recipe) => outcome.same += 1,
            Some(_) => outcome.changed += 1,
        }
    }
    outcome.films = films.len();
    Ok(outcome)
}

/// Takes the rows in. What stands there just so is left alone, what differs gets another version.
///
/// # Errors
/// A refusal when two rows give one new film two speeds; as the database's.
pub(super) fn bring_in(
    tx: &mut Tx<'_>,
    now: Moment,
    lead: i64,
    rows: &[Row],
) -> Result<Outcome, Error> {
    let chart = chart(tx)?;
    let mut outcome = Outcome::default();
    let mut films: BTreeMap<String, (i64, i64)> = BTreeMap::new();
    for row in rows {
        let mut new = row.recipe.clone();
        if let Some((name, speed)) = &row.new_film {
            new.film_id = film(tx, &mut films, (name, *speed), row.number)?;
        }
        let line = match chart.get(&kind(&new)) {
            Some(old) if says_the_same(old, &new) => {
                outcome.same += 1;
                continue;
            }
            Some(old) => {
                outcome.changed += 1;
                store::set_standing(tx, old.id, Standing::Approved, Standing::Replaced)?;
                Some(old.line_id)
            }
            None => {
                outcome.new += 1;
                Some(-i64::try_from(row.number).unwrap_or(i64::MAX))
            }
        };
        store::insert_recipe(tx, (now, Some(lead)), (line, Standing::Approved), &new)?;
    }
    store::begin_lines(tx)?;
    outcome.films = films.len();
    Ok(outcome)
}

/// The id of a film that is new to the chart, entered with its first row.
fn film(
    tx: &mut Tx<'_>,
    films: &mut BTreeMap<String, (i64, i64)>,
    (name, speed): (&str, i64),
    row: usize,
) -> Result<i64, Error> {
    if let Some((id, first)) = films.get(name) {
        if *first == speed {
            return Ok(*id);
        }
        return Err(Error::refused(
            "film-twice",
            format!(
                "Row {row} gives {name} speed {speed}, an earlier row {first}. Nothing was taken in."
            ),
        ));
    }
    let new = NewFilm { name: name.to_owned(), speed, tabular: false, formats: String::new() };
    let id = store::insert_film(tx, &new)?;
    films.insert(name.to_owned(), (id, speed));
    Ok(id)
}

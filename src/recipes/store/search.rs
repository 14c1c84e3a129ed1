//! The search over the chart: words first become films and developers, of which there are few, and
//! then recipes are found by their keys.

use diesel::prelude::*;

use super::recipes::{Full, full, nouns};
use super::{Developer, Film, Recipe};
use crate::db::Conn;
use crate::db::like::{lower, pattern};
use crate::db::schema::{developers, films, recipes};
use crate::error::Error;
use crate::recipes::rules::Standing;

/// Where a page of the chart ended: film, exposure index, id.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The last film's name.
    pub film: String,
    /// The last exposure index.
    pub ei: i64,
    /// The last id.
    pub id: i64,
}

/// What is looked for on the chart.
#[derive(Clone, Debug)]
pub struct Search {
    /// Words that all must fit a film, a developer or an exposure index.
    pub words: Vec<String>,
    /// Only this film.
    pub film: Option<i64>,
    /// Only this exposure index.
    pub ei: Option<i64>,
    /// Only this developer.
    pub developer: Option<i64>,
    /// Only what stands on the shelf.
    pub on_hand: bool,
    /// Only versions of this standing.
    pub standing: Standing,
    /// Only what comes after this.
    pub after: Option<Place>,
    /// At most so many.
    pub limit: i64,
}

impl Default for Search {
    fn default() -> Search {
        Search {
            words: Vec::new(),
            film: None,
            ei: None,
            developer: None,
            on_hand: false,
            standing: Standing::Approved,
            after: None,
            limit: i64::MAX,
        }
    }
}

fn films_like(conn: &mut Conn, word: &str) -> Result<Vec<i64>, Error> {
    Ok(films::table
        .filter(lower(films::name).like(pattern(word)).escape('\\'))
        .select(films::id)
        .load(conn)?)
}

fn developers_like(conn: &mut Conn, word: &str) -> Result<Vec<i64>, Error> {
    Ok(developers::table
        .filter(lower(developers::name).like(pattern(word)).escape('\\'))
        .select(developers::id)
        .load(conn)?)
}

/// The recipes that fit, by film, exposure index and age.
pub(crate) fn found(conn: &mut Conn, search: &Search) -> Result<Vec<Recipe>, Error> {
    let mut query = full!()
        .filter(recipes::state.eq(search.standing.word()))
        .order((films::name, recipes::ei, recipes::id))
        .into_boxed();
    for word in &search.words {
        let ei: i64 = word.parse().unwrap_or(-1);
        query = query.filter(
            recipes::film_id
                .eq_any(films_like(conn, word)?)
                .or(recipes::developer_id.eq_any(developers_like(conn, word)?))
                .or(recipes::ei.eq(ei)),
        );
    }
    if let Some(film) = search.film {
        query = query.filter(recipes::film_id.eq(film));
    }
    if let Some(ei) = search.ei {
        query = query.filter(recipes::ei.eq(ei));
    }
    if let Some(developer) = search.developer {
        query = query.filter(recipes::developer_id.eq(developer));
    }
    if search.on_hand {
        query = query.filter(developers::on_hand.eq(true));
    }
    if let Some(p) = search.after.clone() {
        let later = recipes::ei.gt(p.ei).or(recipes::ei.eq(p.ei).and(recipes::id.gt(p.id)));
        query =
            query.filter(films::name.ge(p.film.clone())).filter(films::name.gt(p.film).or(later));
    }
    let rows: Vec<Full> = query.limit(search.limit).load(conn)?;
    nouns(conn, rows)
}

/// How many proposals wait for a lead.
pub(crate) fn count_proposed(conn: &mut Conn) -> Result<i64, Error> {
    let waiting = recipes::table.filter(recipes::state.eq(Standing::Proposed.word()));
    Ok(waiting.count().get_result(conn)?)
}

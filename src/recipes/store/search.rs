//! The search over the chart: the rarest words lead it, by keys; the others only say what does not
//! fit.

use diesel::prelude::*;

use super::recipes::{Full, full, nouns};
use super::{Developer, Film, Recipe};
use crate::db::Conn;
use crate::db::like::{lower, pattern, thought_of_anew};
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

/// So many recipes are found faster by the keys of what a word means than by going through the
/// chart in its order.
const FEW: usize = 300;

/// What one word may mean: part of a film's name, part of a developer's, an exposure index.
struct Word {
    like: String,
    ei: Option<i64>,
}

impl Word {
    fn of(word: &str) -> Word {
        Word { like: pattern(word), ei: word.parse().ok() }
    }

    /// All recipes of this standing that fit, unless they are many. Questions each with a key of its
    /// own: as one with "or" between, SQLite would go through all recipes, and so would PostgreSQL
    /// where one question stands within another.
    fn few(&self, conn: &mut Conn, standing: Standing) -> Result<Option<Vec<i64>>, Error> {
        let most = i64::try_from(FEW).unwrap_or(i64::MAX).saturating_add(1);
        let films: Vec<i64> = films::table
            .filter(lower(films::name).like(&self.like).escape('\\'))
            .select(films::id)
            .load(conn)?;
        let developers: Vec<i64> = developers::table
            .filter(lower(developers::name).like(&self.like).escape('\\'))
            .select(developers::id)
            .load(conn)?;
        let standing = recipes::state.eq(standing.word());
        let recipes = recipes::table.filter(standing).filter(thought_of_anew());
        let recipes = recipes.select(recipes::id).limit(most);
        let mut ids: Vec<i64> =
            recipes.clone().filter(recipes::film_id.eq_any(films)).load(conn)?;
        if ids.len() <= FEW {
            let of = recipes.clone().filter(recipes::developer_id.eq_any(developers));
            ids.extend(of.load::<i64>(conn)?);
        }
        if let Some(ei) = self.ei.filter(|_| ids.len() <= FEW) {
            ids.extend(recipes.filter(recipes::ei.eq(ei)).load::<i64>(conn)?);
        }
        Ok((ids.len() <= FEW).then_some(ids))
    }
}

/// The recipes that fit, by film, exposure index and age.
pub(crate) fn found(conn: &mut Conn, search: &Search) -> Result<Vec<Recipe>, Error> {
    let mut query = full!()
        .filter(recipes::state.eq(search.standing.word()))
        .order((films::name, recipes::ei, recipes::id))
        .into_boxed();
    for word in &search.words {
        let word = Word::of(word);
        query = match word.few(conn, search.standing)? {
            Some(ids) => query.filter(recipes::id.eq_any(ids)),
            None => query.filter(
                lower(films::name)
                    .like(word.like.clone())
                    .escape('\\')
                    .or(lower(developers::name).like(word.like).escape('\\'))
                    // No recipe has -1.
                    .or(recipes::ei.eq(word.ei.unwrap_or(-1))),
            ),
        };
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
    // From its first film on, which leaves none out, the chart is gone through in its order; without
    // a beginning SQLite reads and sorts all of it.
    let from = search.after.as_ref().map(|p| p.film.clone()).unwrap_or_default();
    query = query.filter(films::name.ge(from));
    if let Some(p) = search.after.clone() {
        let later = recipes::ei.gt(p.ei).or(recipes::ei.eq(p.ei).and(recipes::id.gt(p.id)));
        query = query.filter(films::name.gt(p.film).or(later));
    }
    let rows: Vec<Full> = query.limit(search.limit).load(conn)?;
    nouns(conn, rows)
}

/// How many proposals wait for a lead.
pub(crate) fn count_proposed(conn: &mut Conn) -> Result<i64, Error> {
    let waiting = recipes::table.filter(recipes::state.eq(Standing::Proposed.word()));
    Ok(waiting.count().get_result(conn)?)
}

//! Versions of recipes.

use std::collections::BTreeMap;

use diesel::prelude::*;

use super::{Developer, Film};
use crate::clock::Moment;
use crate::db::schema::{developers, films, recipe_times, recipes};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::recipes::rules::Standing;

/// One version of a recipe, with the film and developer it names.
#[derive(Clone, Debug)]
pub struct Recipe {
    /// The id of this version.
    pub id: i64,
    /// The film.
    pub film: Film,
    /// The exposure index it is for.
    pub ei: i64,
    /// The developer.
    pub developer: Developer,
    /// Working temperature in thousandths of a degree C.
    pub temperature_mc: i64,
    /// How the tank is moved.
    pub agitation: String,
    /// Pre-soak in seconds.
    pub pre_soak_s: i64,
    /// Developing time in seconds.
    pub time_s: i64,
    /// What it is made for: an enlarger, a contrast, a paper.
    pub contrast: String,
    /// Where the time comes from.
    pub source: String,
    /// What versions of one recipe share.
    pub line_id: i64,
    /// Which version it is, from 1 on.
    pub number: i64,
    /// Where it stands.
    pub standing: Standing,
    /// Why it was changed, declined or taken off.
    pub why: String,
    /// Who entered it.
    pub entered_by: Option<i64>,
    /// When it was entered.
    pub entered: Moment,
    /// Which lead decided.
    pub decided_by: Option<i64>,
    /// When.
    pub decided: Option<Moment>,
    /// Its own time-temperature table as thousandths of a degree and seconds; may be empty.
    pub table: Vec<(i64, i64)>,
}

/// A recipe to be entered.
#[derive(Clone, Debug)]
pub struct NewRecipe {
    /// The film.
    pub film_id: i64,
    /// The exposure index.
    pub ei: i64,
    /// The developer.
    pub developer_id: i64,
    /// Working temperature in thousandths of a degree C.
    pub temperature_mc: i64,
    /// How the tank is moved.
    pub agitation: String,
    /// Pre-soak in seconds.
    pub pre_soak_s: i64,
    /// Developing time in seconds.
    pub time_s: i64,
    /// What it is made for.
    pub contrast: String,
    /// Where the time comes from.
    pub source: String,
    /// Its own time-temperature table; may be empty.
    pub table: Vec<(i64, i64)>,
    /// Why it differs from the version before.
    pub why: String,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = recipes)]
pub(super) struct Row {
    id: i64,
    ei: i64,
    temperature_mc: i64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    source: String,
    entered_by: Option<i64>,
    entered_s: i64,
    line_id: i64,
    number: i64,
    state: String,
    contrast: String,
    why: String,
    decided_by: Option<i64>,
    decided_s: Option<i64>,
}

pub(super) type Full = (Row, Film, Developer);

macro_rules! full {
    () => {
        recipes::table
            .inner_join(films::table.on(films::id.eq(recipes::film_id)))
            .inner_join(developers::table.on(developers::id.eq(recipes::developer_id)))
            .select((
                $crate::recipes::store::recipes::Row::as_select(),
                Film::as_select(),
                Developer::as_select(),
            ))
    };
}
pub(super) use full;

/// Rows with their tables, as nouns.
pub(super) fn nouns(conn: &mut Conn, rows: Vec<Full>) -> Result<Vec<Recipe>, Error> {
    let ids: Vec<i64> = rows.iter().map(|r| r.0.id).collect();
    let mut tables: BTreeMap<i64, Vec<(i64, i64)>> = BTreeMap::new();
    for some in ids.chunks(500) {
        let times: Vec<(i64, i64, i64)> = recipe_times::table
            .filter(recipe_times::recipe_id.eq_any(some))
            .order((recipe_times::recipe_id, recipe_times::temperature_mc))
            .load(conn)?;
        for (recipe, at, time) in times {
            tables.entry(recipe).or_default().push((at, time));
        }
    }
    rows.into_iter()
        .map(|(row, film, developer)| {
            let standing = Standing::from_word(&row.state)
                .ok_or_else(|| Error::broken("reading a recipe", "state"))?;
            Ok(Recipe {
                table: tables.remove(&row.id).unwrap_or_default(),
                id: row.id,
                film,
                ei: row.ei,
                developer,
                temperature_mc: row.temperature_mc,
                agitation: row.agitation,
                pre_soak_s: row.pre_soak_s,
                time_s: row.time_s,
                contrast: row.contrast,
                source: row.source,
                line_id: row.line_id,
                number: row.number,
                standing,
                why: row.why,
                entered_by: row.entered_by,
                entered: Moment(row.entered_s),
                decided_by: row.decided_by,
                decided: row.decided_s.map(Moment),
            })
        })
        .collect()
}

pub(crate) fn by_id(conn: &mut Conn, id: i64) -> Result<Recipe, Error> {
    by_ids(conn, &[id])?.pop().ok_or(Error::NotFound)
}

pub(crate) fn by_ids(conn: &mut Conn, ids: &[i64]) -> Result<Vec<Recipe>, Error> {
    let rows = full!().filter(recipes::id.eq_any(ids)).order(recipes::id).load(conn)?;
    nouns(conn, rows)
}

/// All versions of one recipe, the latest first.
pub(crate) fn rows_of_line(conn: &mut Conn, line: i64) -> Result<Vec<Recipe>, Error> {
    let of_line = full!().filter(recipes::line_id.eq(line));
    let rows = of_line.order(recipes::number.desc()).load(conn)?;
    nouns(conn, rows)
}

/// The version on the chart that is for just the same, if there is one.
pub(crate) fn one_of_a_kind(conn: &mut Conn, new: &NewRecipe) -> Result<Option<Recipe>, Error> {
    let rows = full!()
        .filter(recipes::film_id.eq(new.film_id))
        .filter(recipes::state.eq(Standing::Approved.word()))
        .filter(recipes::ei.eq(new.ei))
        .filter(recipes::developer_id.eq(new.developer_id))
        .filter(recipes::temperature_mc.eq(new.temperature_mc))
        .filter(recipes::agitation.eq(&new.agitation))
        .filter(recipes::contrast.eq(&new.contrast))
        .load(conn)?;
    Ok(nouns(conn, rows)?.pop())
}

/// The number the next version of a recipe gets.
pub(crate) fn next_number(conn: &mut Conn, line: i64) -> Result<i64, Error> {
    let of_line = recipes::table.filter(recipes::line_id.eq(line));
    let last: Option<i64> = of_line.select(diesel::dsl::max(recipes::number)).get_result(conn)?;
    Ok(last.unwrap_or(0) + 1)
}

/// Keeps a version; without a line it begins one of its own. A line below nought stands for one
/// that [`begin_lines`] begins when many have been kept.
pub(crate) fn insert_recipe(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    (line, standing): (Option<i64>, Standing),
    new: &NewRecipe,
) -> Result<i64, Error> {
    let number = match line {
        Some(line) if line > 0 => next_number(tx, line)?,
        _ => 1,
    };
    let decided = (standing == Standing::Approved).then_some(now.0);
    let id: i64 = diesel::insert_into(recipes::table)
        .values((
            recipes::film_id.eq(new.film_id),
            recipes::ei.eq(new.ei),
            recipes::developer_id.eq(new.developer_id),
            recipes::temperature_mc.eq(new.temperature_mc),
            recipes::agitation.eq(&new.agitation),
            recipes::pre_soak_s.eq(new.pre_soak_s),
            recipes::time_s.eq(new.time_s),
            recipes::contrast.eq(&new.contrast),
            recipes::source.eq(&new.source),
            recipes::entered_by.eq(by),
            recipes::entered_s.eq(now.0),
            recipes::line_id.eq(line.unwrap_or(0)),
            recipes::number.eq(number),
            recipes::state.eq(standing.word()),
            recipes::why.eq(&new.why),
            recipes::decided_by.eq(decided.and(by)),
            recipes::decided_s.eq(decided),
        ))
        .returning(recipes::id)
        .get_result(tx.conn())?;
    if line.is_none() {
        diesel::update(recipes::table.find(id)).set(recipes::line_id.eq(id)).execute(tx.conn())?;
    }
    for (at, time) in &new.table {
        diesel::insert_into(recipe_times::table)
            .values((
                recipe_times::recipe_id.eq(id),
                recipe_times::temperature_mc.eq(at),
                recipe_times::time_s.eq(time),
            ))
            .execute(tx.conn())?;
    }
    Ok(id)
}

/// Gives every version whose line stands below nought a line of its own.
pub(crate) fn begin_lines(tx: &mut Tx<'_>) -> Result<(), Error> {
    diesel::update(recipes::table.filter(recipes::line_id.lt(0)))
        .set(recipes::line_id.eq(recipes::id))
        .execute(tx.conn())?;
    Ok(())
}

/// Moves a version from one standing to another; says whether it was in the first.
pub(crate) fn set_standing(
    tx: &mut Tx<'_>,
    id: i64,
    from: Standing,
    to: Standing,
) -> Result<bool, Error> {
    let there = recipes::table.filter(recipes::id.eq(id).and(recipes::state.eq(from.word())));
    let changed = diesel::update(there).set(recipes::state.eq(to.word())).execute(tx.conn())?;
    Ok(changed == 1)
}

/// Notes who decided, when and why.
pub(crate) fn decide(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    id: i64,
    why: &str,
) -> Result<(), Error> {
    diesel::update(recipes::table.find(id))
        .set((recipes::decided_by.eq(by), recipes::decided_s.eq(now.0)))
        .execute(tx.conn())?;
    if !why.is_empty() {
        diesel::update(recipes::table.find(id)).set(recipes::why.eq(why)).execute(tx.conn())?;
    }
    Ok(())
}

use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::schema::{developers, films, recipes};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A film on the chart.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = films)]
pub struct Film {
    /// Its id.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Its speed, as ISO counts arithmetically.
    pub speed: i64,
    /// Tabular-grain film loads a fixer more.
    pub tabular: bool,
}

/// A developer at one dilution.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = developers)]
pub struct Developer {
    /// Its id.
    pub id: i64,
    /// Its name with its dilution.
    pub name: String,
    /// Parts of water to one of concentrate; 0 is used as it is.
    pub water_parts: i64,
    /// Least concentrate for one roll's worth, in microlitres, from the maker's sheet.
    pub least_ul_per_roll: i64,
    /// Factor of the time per 10 degrees C, in thousandths, if known.
    pub factor_milli: Option<i64>,
    /// Hazard lines from its data sheet.
    pub hazards: String,
}

/// A developer to be entered.
#[derive(Clone, Debug)]
pub struct NewDeveloper {
    /// Its name with its dilution.
    pub name: String,
    /// Parts of water to one of concentrate.
    pub water_parts: i64,
    /// Least concentrate for one roll's worth, in microlitres.
    pub least_ul_per_roll: i64,
    /// Factor of the time per 10 degrees C, in thousandths, if known.
    pub factor_milli: Option<i64>,
    /// Hazard lines from its data sheet.
    pub hazards: String,
}

/// A recipe with the film and developer it names.
#[derive(Clone, Debug)]
pub struct Recipe {
    /// Its id.
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
    /// Where the time comes from.
    pub source: String,
    /// When it was entered.
    pub entered: Moment,
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
    /// Where the time comes from.
    pub source: String,
}

pub(super) fn film_named(conn: &mut Conn, name: &str) -> Result<Option<i64>, Error> {
    Ok(films::table.filter(films::name.eq(name)).select(films::id).first(conn).optional()?)
}

pub(super) fn developer_named(conn: &mut Conn, name: &str) -> Result<Option<i64>, Error> {
    let named = developers::table.filter(developers::name.eq(name));
    Ok(named.select(developers::id).first(conn).optional()?)
}

pub(super) fn insert_film(
    tx: &mut Tx<'_>,
    name: &str,
    speed: i64,
    tabular: bool,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(films::table)
        .values((films::name.eq(name), films::speed.eq(speed), films::tabular.eq(tabular)))
        .returning(films::id)
        .get_result(tx.conn())?)
}

pub(super) fn insert_developer(tx: &mut Tx<'_>, new: &NewDeveloper) -> Result<i64, Error> {
    Ok(diesel::insert_into(developers::table)
        .values((
            developers::name.eq(&new.name),
            developers::water_parts.eq(new.water_parts),
            developers::least_ul_per_roll.eq(new.least_ul_per_roll),
            developers::factor_milli.eq(new.factor_milli),
            developers::hazards.eq(&new.hazards),
        ))
        .returning(developers::id)
        .get_result(tx.conn())?)
}

pub(super) fn insert_recipe(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    new: &NewRecipe,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(recipes::table)
        .values((
            recipes::film_id.eq(new.film_id),
            recipes::ei.eq(new.ei),
            recipes::developer_id.eq(new.developer_id),
            recipes::temperature_mc.eq(new.temperature_mc),
            recipes::agitation.eq(&new.agitation),
            recipes::pre_soak_s.eq(new.pre_soak_s),
            recipes::time_s.eq(new.time_s),
            recipes::source.eq(&new.source),
            recipes::entered_by.eq(by),
            recipes::entered_s.eq(now.0),
        ))
        .returning(recipes::id)
        .get_result(tx.conn())?)
}

pub(super) fn films(conn: &mut Conn) -> Result<Vec<Film>, Error> {
    Ok(films::table.order(films::name).select(Film::as_select()).load(conn)?)
}

pub(super) fn developers(conn: &mut Conn) -> Result<Vec<Developer>, Error> {
    let sorted = developers::table.order(developers::name);
    Ok(sorted.select(Developer::as_select()).load(conn)?)
}

/// Which recipes are asked for.
#[derive(Clone, Debug, Default)]
pub(super) struct Wanted {
    pub(super) id: Option<i64>,
    pub(super) film: Option<i64>,
    pub(super) ei: Option<i64>,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = recipes)]
struct Row {
    id: i64,
    ei: i64,
    temperature_mc: i64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    source: String,
    entered_s: i64,
}

pub(super) fn recipes(conn: &mut Conn, wanted: &Wanted) -> Result<Vec<Recipe>, Error> {
    let mut query = recipes::table
        .inner_join(films::table.on(films::id.eq(recipes::film_id)))
        .inner_join(developers::table.on(developers::id.eq(recipes::developer_id)))
        .order((films::name, recipes::ei, developers::name, recipes::id.desc()))
        .select((Row::as_select(), Film::as_select(), Developer::as_select()))
        .into_boxed();
    if let Some(id) = wanted.id {
        query = query.filter(recipes::id.eq(id));
    }
    if let Some(film) = wanted.film {
        query = query.filter(recipes::film_id.eq(film));
    }
    if let Some(ei) = wanted.ei {
        query = query.filter(recipes::ei.eq(ei));
    }
    let rows: Vec<(Row, Film, Developer)> = query.load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(row, film, developer)| Recipe {
            id: row.id,
            film,
            ei: row.ei,
            developer,
            temperature_mc: row.temperature_mc,
            agitation: row.agitation,
            pre_soak_s: row.pre_soak_s,
            time_s: row.time_s,
            source: row.source,
            entered: Moment(row.entered_s),
        })
        .collect())
}

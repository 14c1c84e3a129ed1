//! Films and developers; recipes and the search over them stand beside.

mod recipes;
mod search;

use diesel::prelude::*;

use super::parts::{self, DeveloperPart};
use super::rules::Handling;
use crate::db::schema::{chart_files, developers, films};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub use recipes::{NewRecipe, Recipe};
pub(super) use recipes::{
    begin_lines, by_id, decide, insert_recipe, one_of_a_kind, rows_of_line, set_standing,
};
pub use search::{Place, Search};
pub(super) use search::{count_proposed, found};

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
    /// The formats it is made in, split by blanks; empty where nobody noted them.
    pub formats: String,
}

impl Film {
    /// Whether it is made in this format, as far as anybody noted.
    #[must_use]
    pub fn is_made_in(&self, format: &str) -> bool {
        self.formats.is_empty() || self.formats.split(' ').any(|f| f == format)
    }
}

/// A film to be entered.
#[derive(Clone, Debug)]
pub struct NewFilm {
    /// Its name.
    pub name: String,
    /// Its speed.
    pub speed: i64,
    /// Whether its grain is tabular.
    pub tabular: bool,
    /// The formats it is made in, split by blanks.
    pub formats: String,
}

/// How a developer's time grows with use, as it is kept. All empty where it is not used again.
#[derive(Clone, Debug, Default, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = developers)]
pub struct GrowthRow {
    /// More time, in thousandths of a per cent, ...
    pub growth_percent_milli: Option<i64>,
    /// ... for each of this much film, in thousandths of a roll's worth.
    pub growth_every_milli: Option<i64>,
    /// `whole_steps` or `in_proportion`.
    pub growth_counted: Option<String>,
    /// `first_time` or `last_time`.
    pub growth_on: Option<String>,
    /// The most film it takes, in thousandths of a roll's worth.
    pub takes_milli: Option<i64>,
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
    /// The product whose bottle it is poured from.
    pub product: String,
    handling: String,
    /// How its time grows with use.
    #[diesel(embed)]
    pub growth: GrowthRow,
    /// Whether it stands on the shelf.
    pub on_hand: bool,
    /// The version an edit form is made from.
    pub version: i64,
    /// Its parts as they are written down; empty where it is poured from one bottle.
    pub(in crate::recipes) parts: String,
}

impl Developer {
    /// How it is used.
    #[must_use]
    pub fn handling(&self) -> Handling {
        Handling::from_word(&self.handling).unwrap_or(Handling::OneShot)
    }
}

/// A developer to be entered or changed.
#[derive(Clone, Debug)]
pub struct NewDeveloper {
    /// Its name with its dilution.
    pub name: String,
    /// The product whose bottle it is poured from.
    pub product: String,
    /// Parts of water to one of concentrate.
    pub water_parts: i64,
    /// Least concentrate for one roll's worth, in microlitres.
    pub least_ul_per_roll: i64,
    /// Factor of the time per 10 degrees C, in thousandths, if known.
    pub factor_milli: Option<i64>,
    /// How it is used.
    pub handling: Handling,
    /// How its time grows with use.
    pub growth: GrowthRow,
    /// Whether it stands on the shelf.
    pub on_hand: bool,
    /// Its parts, where it is mixed from several; empty otherwise.
    pub parts: Vec<DeveloperPart>,
}

pub(super) fn film_named(conn: &mut Conn, name: &str) -> Result<Option<i64>, Error> {
    Ok(films::table.filter(films::name.eq(name)).select(films::id).first(conn).optional()?)
}

pub(super) fn developer_named(conn: &mut Conn, name: &str) -> Result<Option<i64>, Error> {
    let named = developers::table.filter(developers::name.eq(name));
    Ok(named.select(developers::id).first(conn).optional()?)
}

pub(super) fn insert_film(tx: &mut Tx<'_>, new: &NewFilm) -> Result<i64, Error> {
    Ok(diesel::insert_into(films::table)
        .values((
            films::name.eq(&new.name),
            films::speed.eq(new.speed),
            films::tabular.eq(new.tabular),
            films::formats.eq(&new.formats),
        ))
        .returning(films::id)
        .get_result(tx.conn())?)
}

macro_rules! fields {
    ($new:expr) => {
        (
            developers::name.eq(&$new.name),
            developers::product.eq(&$new.product),
            developers::water_parts.eq($new.water_parts),
            developers::least_ul_per_roll.eq($new.least_ul_per_roll),
            developers::factor_milli.eq($new.factor_milli),
            developers::handling.eq($new.handling.word()),
            developers::growth_percent_milli.eq($new.growth.growth_percent_milli),
            developers::growth_every_milli.eq($new.growth.growth_every_milli),
            developers::growth_counted.eq($new.growth.growth_counted.as_deref()),
            developers::growth_on.eq($new.growth.growth_on.as_deref()),
            developers::takes_milli.eq($new.growth.takes_milli),
            developers::on_hand.eq($new.on_hand),
            developers::parts.eq(parts::written(&$new.parts)),
        )
    };
}

pub(super) fn insert_developer(tx: &mut Tx<'_>, new: &NewDeveloper) -> Result<i64, Error> {
    Ok(diesel::insert_into(developers::table)
        .values((fields!(new), developers::version.eq(1)))
        .returning(developers::id)
        .get_result(tx.conn())?)
}

/// Changes a developer if it still is of this version.
pub(super) fn update_developer(
    tx: &mut Tx<'_>,
    id: i64,
    version: i64,
    new: &NewDeveloper,
) -> Result<bool, Error> {
    let same = developers::table.filter(developers::id.eq(id).and(developers::version.eq(version)));
    let changed = diesel::update(same)
        .set((fields!(new), developers::version.eq(developers::version + 1)))
        .execute(tx.conn())?;
    Ok(changed == 1)
}

pub(super) fn set_on_hand(tx: &mut Tx<'_>, product: &str, on_hand: bool) -> Result<usize, Error> {
    let of_product = developers::table.filter(developers::product.eq(product));
    Ok(diesel::update(of_product).set(developers::on_hand.eq(on_hand)).execute(tx.conn())?)
}

pub(super) fn films(conn: &mut Conn) -> Result<Vec<Film>, Error> {
    Ok(films::table.order(films::name).select(Film::as_select()).load(conn)?)
}

pub(super) fn film(conn: &mut Conn, id: i64) -> Result<Film, Error> {
    Ok(films::table.find(id).select(Film::as_select()).get_result(conn)?)
}

pub(super) fn developers(conn: &mut Conn) -> Result<Vec<Developer>, Error> {
    let sorted = developers::table.order(developers::name);
    Ok(sorted.select(Developer::as_select()).load(conn)?)
}

pub(super) fn developer(conn: &mut Conn, id: i64) -> Result<Developer, Error> {
    Ok(developers::table.find(id).select(Developer::as_select()).get_result(conn)?)
}

pub(super) fn keep_file(
    tx: &mut Tx<'_>,
    now: crate::clock::Moment,
    by: i64,
    body: &str,
) -> Result<i64, Error> {
    // What nobody took in within a day is forgotten.
    diesel::delete(chart_files::table.filter(chart_files::made_s.lt(now.0 - 86_400)))
        .execute(tx.conn())?;
    Ok(diesel::insert_into(chart_files::table)
        .values((
            chart_files::member_id.eq(by),
            chart_files::body.eq(body),
            chart_files::made_s.eq(now.0),
        ))
        .returning(chart_files::id)
        .get_result(tx.conn())?)
}

/// The kept file, for the one who brought it.
pub(super) fn kept_file(conn: &mut Conn, id: i64, by: i64) -> Result<String, Error> {
    let own = chart_files::table.filter(chart_files::member_id.eq(by)).find(id);
    Ok(own.select(chart_files::body).first(conn)?)
}

//! What this room reads of the rooms around it: runs, the films in them, and published days.

use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::db::schema::{
    bath_entries, baths, day_plans, developers, members, products, rolls, run_parts, run_rolls,
    runs,
};
use crate::error::Error;
use crate::rolls::Format;

/// A film that went through something, with its owner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Film {
    /// The roll's id.
    pub roll: i64,
    /// Its ticket.
    pub ticket: String,
    /// Its owner's id.
    pub owner_id: i64,
    /// Its owner's name.
    pub owner: String,
    /// The word of the state it is in.
    pub state: String,
    /// Its format, all sheets of a set counted together.
    pub format: String,
    /// How many sheets, where it is a set of them.
    pub sheets: Option<i64>,
    /// All of it in thousandths of a roll's worth; nothing where the format is not known.
    pub milli: Option<i64>,
    /// The run it was in.
    pub run: i64,
}

/// The films of these runs.
pub(super) fn films_of(conn: &mut Conn, of: &[i64]) -> Result<Vec<Film>, Error> {
    type Row = (i64, String, i64, String, String, String, Option<i64>, i64);
    let rows: Vec<Row> = run_rolls::table
        .inner_join(rolls::table.on(rolls::id.eq(run_rolls::roll_id)))
        .inner_join(members::table.on(members::id.eq(rolls::member_id)))
        .filter(run_rolls::run_id.eq_any(of))
        .order((run_rolls::run_id, run_rolls::place))
        .select((
            rolls::id,
            rolls::ticket,
            rolls::member_id,
            members::name,
            rolls::state,
            rolls::format,
            rolls::sheets,
            run_rolls::run_id,
        ))
        .load(conn)?;
    let film = |(roll, ticket, owner_id, owner, state, format, sheets, run): Row| Film {
        roll,
        ticket,
        owner_id,
        owner,
        state,
        milli: Format::named(&format).map(|f| f.of_sheets(sheets).milli),
        format,
        sheets,
        run,
    };
    Ok(rows.into_iter().map(film).collect())
}

/// What published runs not yet ended will put through a bath: when, and how much.
pub(super) fn planned(
    conn: &mut Conn,
    bath: i64,
    within: Span,
) -> Result<Vec<(Moment, i64)>, Error> {
    let rows: Vec<(i64, i64)> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(day_plans::state.eq("published"))
        .filter(runs::ended_s.is_null())
        .filter(runs::fixer_id.eq(bath))
        .filter(runs::from_s.ge(within.from.0))
        .filter(runs::from_s.lt(within.to.0))
        .order(runs::from_s)
        .select((runs::from_s, runs::fixer_milli))
        .load(conn)?;
    Ok(rows.into_iter().map(|(at, milli)| (Moment(at), milli)).collect())
}

/// What a run draws.
pub(super) struct DrawnBy {
    /// The developer of the time chart.
    pub(super) developer: i64,
    /// Which of its parts, from 1, and how much of each in microlitres.
    pub(super) parts: Vec<(i64, i64)>,
    /// How it is written down.
    pub(super) why: String,
}

/// What a run draws of which developer of the time chart, by part, and how its draw is written down.
pub(super) fn drawn_by(conn: &mut Conn, run: i64) -> Result<DrawnBy, Error> {
    let (developer, ul, number): (i64, i64, i64) = runs::table
        .find(run)
        .select((runs::developer_id, runs::shelf_ul, runs::number))
        .get_result(conn)?;
    let mut parts = vec![(1, ul)];
    // Where a member brings their own, nothing is drawn of any part.
    if ul > 0 {
        let named: Vec<(i64, i64)> = run_parts::table
            .filter(run_parts::run_id.eq(run))
            .order(run_parts::place)
            .select((run_parts::place, run_parts::ul))
            .load(conn)?;
        if !named.is_empty() {
            parts = named;
        }
    }
    Ok(DrawnBy { developer, parts, why: format!("Run {number}") })
}

/// What went through baths of this kind and material since then, in thousandths of a roll's worth.
pub(super) fn used_since(
    conn: &mut Conn,
    (kind, material): (&str, &str),
    since: Moment,
) -> Result<i64, Error> {
    let loads: Vec<i64> = bath_entries::table
        .inner_join(baths::table.on(baths::id.eq(bath_entries::bath_id)))
        .filter(baths::kind.eq(kind))
        .filter(baths::material.eq(material))
        .filter(baths::place.ne("bath_2"))
        .filter(bath_entries::kind.eq_any(["use", "correction"]))
        .filter(bath_entries::at_s.ge(since.0))
        .select(bath_entries::milli)
        .load(conn)?;
    Ok(loads.into_iter().fold(0_i64, i64::saturating_add).max(0))
}

/// When film first went through a bath of this kind and material.
pub(super) fn first_use(
    conn: &mut Conn,
    (kind, material): (&str, &str),
) -> Result<Option<Moment>, Error> {
    let first: Option<i64> = bath_entries::table
        .inner_join(baths::table.on(baths::id.eq(bath_entries::bath_id)))
        .filter(baths::kind.eq(kind))
        .filter(baths::material.eq(material))
        .filter(bath_entries::kind.eq("use"))
        .select(diesel::dsl::min(bath_entries::at_s))
        .get_result(conn)?;
    Ok(first.map(Moment))
}

/// The dilutions on the time chart that are poured from the same bottle, this one among them.
fn of_one_bottle(conn: &mut Conn, developer: i64) -> Result<Vec<i64>, Error> {
    let bottle: String =
        developers::table.find(developer).select(developers::product).get_result(conn)?;
    if bottle.is_empty() {
        return Ok(vec![developer]);
    }
    let same = developers::table.filter(developers::product.eq(bottle));
    Ok(same.select(developers::id).load(conn)?)
}

/// The stocks mixed ahead of a part of a developer of the time chart, the oldest first.
pub(super) fn stocks_of(conn: &mut Conn, (developer, part): (i64, i64)) -> Result<Vec<i64>, Error> {
    let same = of_one_bottle(conn, developer)?;
    Ok(baths::table
        .inner_join(products::table.on(products::id.nullable().eq(baths::product_id)))
        .filter(products::developer_id.eq_any(same))
        .filter(products::developer_part.eq(part))
        .filter(baths::way.eq("stock"))
        .filter(baths::retired_s.is_null())
        .order((baths::mixed_s, baths::id))
        .select(baths::id)
        .load(conn)?)
}

/// The stocks mixed ahead of a product, the oldest first.
pub(super) fn stocks_from(conn: &mut Conn, product: i64) -> Result<Vec<i64>, Error> {
    Ok(baths::table
        .filter(baths::product_id.eq(product))
        .filter(baths::way.eq("stock"))
        .filter(baths::retired_s.is_null())
        .order((baths::mixed_s, baths::id))
        .select(baths::id)
        .load(conn)?)
}

/// The liquids on the shelf that are a part of a developer of the time chart and used as they are or
/// diluted at once.
pub(super) fn products_of(
    conn: &mut Conn,
    (developer, part): (i64, i64),
) -> Result<Vec<i64>, Error> {
    let same = of_one_bottle(conn, developer)?;
    Ok(products::table
        .filter(products::developer_id.eq_any(same))
        .filter(products::developer_part.eq(part))
        .filter(products::form.ne("powder"))
        .order(products::id)
        .select(products::id)
        .load(conn)?)
}

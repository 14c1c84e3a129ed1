use chrono::NaiveDate;
use diesel::dsl::exists;
use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::Conn;
use crate::db::schema::{
    baths, day_plans, developers, duties, films, members, opening_hours, products, recipes,
    reel_kinds, rolls, runs, sinks, stations, tanks, waste_containers,
};
use crate::error::Error;

/// Whether there is any: hours, sinks, tanks, reels, stations; then films, developers, recipes,
/// products, baths, waste containers, hours on the rota, people who are no leads.
pub(super) type Begun =
    ((bool, bool, bool, bool, bool), (bool, bool, bool, bool, bool, bool, bool, bool));

/// What of a studio is begun, in one question.
pub(super) fn begun(conn: &mut Conn) -> Result<Begun, Error> {
    let room = (
        exists(opening_hours::table.select(opening_hours::id)),
        exists(sinks::table.select(sinks::id)),
        exists(tanks::table.select(tanks::id)),
        exists(reel_kinds::table.select(reel_kinds::id)),
        exists(stations::table.select(stations::id)),
    );
    let rest = (
        exists(films::table.select(films::id)),
        exists(developers::table.select(developers::id)),
        exists(recipes::table.select(recipes::id)),
        exists(products::table.select(products::id)),
        exists(baths::table.select(baths::id)),
        exists(waste_containers::table.select(waste_containers::id)),
        exists(duties::table.select(duties::id)),
        exists(members::table.filter(members::role.ne("lead")).select(members::id)),
    );
    Ok(diesel::select((room, rest)).get_result(conn)?)
}

/// How much film of a member lies on the pick-up shelf.
pub(super) fn ready_of(conn: &mut Conn, member: i64) -> Result<i64, Error> {
    let ready = rolls::table.filter(rolls::member_id.eq(member)).filter(rolls::state.eq("ready"));
    Ok(ready.count().get_result(conn)?)
}

/// When each published run of a date begins that has not ended, the next first.
pub(super) fn runs_ahead(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Moment>, Error> {
    let rows: Vec<i64> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(day_plans::date.eq(date))
        .filter(day_plans::state.eq("published"))
        .filter(runs::withdrawn_s.is_null())
        .filter(runs::ended_s.is_null())
        .order((runs::from_s, runs::id))
        .select(runs::from_s)
        .load(conn)?;
    Ok(rows.into_iter().map(Moment).collect())
}

/// How many films hang since before a moment.
pub(super) fn hanging_since(conn: &mut Conn, before: Moment) -> Result<i64, Error> {
    let hanging =
        rolls::table.filter(rolls::state.eq("on_the_hook")).filter(rolls::state_s.le(before.0));
    Ok(hanging.count().get_result(conn)?)
}

/// How many applications wait for a lead.
pub(super) fn applications(conn: &mut Conn) -> Result<i64, Error> {
    Ok(members::table.filter(members::state.eq("applied")).count().get_result(conn)?)
}

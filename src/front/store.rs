use diesel::dsl::exists;
use diesel::prelude::*;

use crate::db::Conn;
use crate::db::schema::{
    baths, developers, films, members, opening_hours, products, recipes, reel_kinds, sinks,
    stations, tanks,
};
use crate::error::Error;

/// Whether there is any: hours, sinks, tanks, reels, stations; then films, developers, recipes,
/// products, baths, people who are no leads.
pub(super) type Begun = ((bool, bool, bool, bool, bool), (bool, bool, bool, bool, bool, bool));

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
        exists(members::table.filter(members::role.ne("lead")).select(members::id)),
    );
    Ok(diesel::select((room, rest)).get_result(conn)?)
}

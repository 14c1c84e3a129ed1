//! What the house keeps about one person, read across all rooms, for them to take along.
//!
//! Names of others, passwords and secrets are never in it. Times carry the studio's offset.

mod store;

use serde_json::{Value, json};

use crate::clock::{Moment, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::studio;

/// Everything about a member but their own entry, which the members' room tells itself.
///
/// # Errors
/// As the database's.
pub fn of(conn: &mut Conn, member: i64) -> Result<Value, Error> {
    let zone = studio::load(conn)?.zone;
    Ok(json!({
        "bookings": store::room::bookings(conn, zone, member)?,
        "not_come_to": store::room::no_shows(conn, zone, member)?,
        "waiting_for": store::room::wishes(conn, zone, member)?,
        "duties": store::room::duties(conn, zone, member)?,
        "recurring_sessions": store::room::series(conn, zone, member)?,
        "visits": store::room::visits(conn, zone, member)?,
        "rooms_left_in_order": store::room::closings(conn, zone, member)?,
        "name_on_the_wall": store::room::wall_name(conn, member)?,
        "calendar_address_made": store::room::feed(conn, zone, member)?,
        "rolls": store::work::rolls(conn, zone, member)?,
        "drop_off_terms_accepted": store::work::terms(conn, zone, member)?,
        "own_sessions": store::work::own_runs(conn, zone, member)?,
        "recipes_entered": store::work::recipes(conn, zone, member)?,
        "baths_used": store::work::bath_entries(conn, zone, member)?,
        "safety": crate::safety::belongings(conn, member)?,
        "incidents": crate::incidents::belongings(conn, member)?,
    }))
}

/// A moment that may not have come.
fn at(zone: Zone, seconds: Option<i64>) -> Option<String> {
    seconds.map(|s| zone.rfc3339(Moment(s)))
}

//! One's own data: how things are written, letters, sessions, tokens, and all of it as a file.

mod pages;

use serde_json::{Value, json};

use crate::clock::{Moment, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members::store;
use crate::outbox;
use crate::sessions::{self, Taste};
use crate::studio;
use crate::web::Routes;

pub(in crate::members) use pages::{Part, shown};

/// Changes one's name and how one likes things written.
pub(super) fn change(
    tx: &mut Tx<'_>,
    (id, version): (i64, i64),
    (name, taste): (&str, &Taste),
) -> Result<(), Error> {
    if store::set_own(tx, id, version, (name, taste))? {
        Ok(())
    } else {
        Err(studio::changed_meanwhile("Your entry"))
    }
}

/// Everything this room keeps about a member, for them to take along.
pub(super) fn export(conn: &mut Conn, zone: Zone, id: i64) -> Result<Value, Error> {
    let at = |s: i64| zone.rfc3339(Moment(s));
    let member = store::by_id(conn, id)?;
    let sessions: Vec<Value> = sessions::of_member(conn, id)?
        .into_iter()
        .map(|s| {
            json!({"browser": s.agent, "network_address": s.address, "opened": at(s.created_s),
                "last_used": at(s.seen_s)})
        })
        .collect();
    let tokens: Vec<Value> = sessions::tokens_of_member(conn, id)?
        .into_iter()
        .map(|t| json!({"label": t.label, "issued": at(t.created_s), "ends": at(t.expires_s)}))
        .collect();
    Ok(json!({
        "name": member.name,
        "email": member.email,
        "role": member.role,
        "state": member.state,
        "address_proven": member.verified.map(|m| zone.rfc3339(m)),
        "since": zone.rfc3339(member.created),
        "application": member.note,
        "time_zone": member.taste.zone.map(|z| z.name()),
        "date_order": member.taste.day_order,
        "hours_24": member.taste.hours_24,
        "us_units": member.taste.us_units,
        "letters_not_wanted": outbox::unwanted(conn, id)?,
        "sessions": sessions,
        "api_tokens": tokens,
    }))
}

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}

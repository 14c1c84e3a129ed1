//! The letters of this room. They say that something is there to read, not who was hurt and how.

use serde_json::{Value, json};

use super::{Here, NewIncident};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::outbox::{self, Letter, Recipient};

fn post(
    tx: &mut Tx<'_>,
    now: Moment,
    (kind, to, cause): (&'static str, Recipient, String),
    about: &Value,
) -> Result<(), Error> {
    let (subject, body) = outbox::write(kind, about)?;
    let dedupe_key = format!("{kind} {cause} to {}", to.member_id.unwrap_or_default());
    let letter = Letter {
        kind,
        to,
        subject,
        body,
        optional: false,
        link: None,
        dedupe_key,
        send_after: now,
    };
    outbox::post(tx, now, &letter)?;
    Ok(())
}

pub(super) fn filed(
    tx: &mut Tx<'_>,
    here: &Here,
    to: Recipient,
    (id, studio, new): (i64, &str, &NewIncident),
) -> Result<(), Error> {
    let about = json!({"name": to.name, "studio": studio, "when": new.happened,
        "place": new.place, "address": format!("{}/incidents/{id}", here.address)});
    post(tx, here.now, ("incident_filed", to, format!("incident {id}")), &about)
}

pub(super) fn eyewash_broken(
    tx: &mut Tx<'_>,
    here: &Here,
    to: Recipient,
    (studio, note): (&str, &str),
) -> Result<(), Error> {
    let about = json!({"name": to.name, "studio": studio, "note": note});
    post(tx, here.now, ("eyewash_broken", to, format!("at {}", here.now.0)), &about)
}

pub(super) fn eyewash_due(
    tx: &mut Tx<'_>,
    here: &Here,
    to: Recipient,
    (studio, never, cause): (&str, bool, &str),
) -> Result<(), Error> {
    let about = json!({"name": to.name, "studio": studio, "never": never,
        "address": format!("{}/safety/eyewash", here.address)});
    post(tx, here.now, ("eyewash_due", to, cause.to_owned()), &about)
}

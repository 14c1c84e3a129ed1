use serde::Serialize;

use super::rules::{Bath, State, rolls_in_words};
use crate::clock::Moment;
use crate::error::Error;
use crate::outbox::{Letter, Recipient, write};

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    bath: &'a str,
    used: String,
    capacity: String,
    remaining: String,
    cause: &'a str,
    age_days: i64,
}

/// Tells a lead what a bath needs; once for each bath and cause.
pub(super) fn alert(
    now: Moment,
    lead: &Recipient,
    bath: &Bath,
    state: &State,
    cause: &'static str,
) -> Result<Letter, Error> {
    let about = About {
        name: &lead.name,
        bath: &bath.label,
        used: rolls_in_words(state.used_milli),
        capacity: rolls_in_words(bath.capacity_milli),
        remaining: rolls_in_words(state.remaining_milli),
        cause,
        age_days: state.age_days,
    };
    let (subject, body) = write("bath_alert", &about)?;
    Ok(Letter {
        kind: "bath_alert",
        to: lead.clone(),
        subject,
        body,
        optional: false,
        link: None,
        dedupe_key: format!("bath {} {cause} {}", bath.id, lead.address),
        send_after: now,
    })
}

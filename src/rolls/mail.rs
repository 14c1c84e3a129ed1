use serde::Serialize;

use super::Roll;
use crate::clock::Moment;
use crate::error::Error;
use crate::outbox::{Letter, Recipient, write};

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    ticket: &'a str,
    film: &'a str,
}

fn letter(
    now: Moment,
    kind: &'static str,
    to: &Recipient,
    about: &About<'_>,
) -> Result<Letter, Error> {
    let (subject, body) = write(kind, about)?;
    Ok(Letter {
        kind,
        to: to.clone(),
        subject,
        body,
        optional: true,
        link: None,
        dedupe_key: format!("{kind} {} {}", about.ticket, now.0),
        send_after: now,
    })
}

pub(super) fn handed_in(now: Moment, to: &Recipient, ticket: &str) -> Result<Letter, Error> {
    letter(now, "roll_handed_in", to, &About { name: &to.name, ticket, film: "" })
}

pub(super) fn ready(now: Moment, to: &Recipient, roll: &Roll) -> Result<Letter, Error> {
    let about = About { name: &to.name, ticket: &roll.ticket, film: &roll.film };
    letter(now, "roll_ready", to, &about)
}

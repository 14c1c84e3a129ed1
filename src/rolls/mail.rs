use serde::Serialize;

use super::Roll;
use crate::clock::{Moment, Zone};
use crate::error::Error;
use crate::outbox::{Letter, Recipient, write};
use crate::sessions::Taste;
use crate::web::Words;

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    ticket: &'a str,
    tickets: &'a [&'a str],
    film: &'a str,
    when: &'a str,
    why: &'a str,
    days: i64,
}

impl<'a> About<'a> {
    fn of(to: &'a Recipient, roll: &'a Roll) -> About<'a> {
        About {
            name: &to.name,
            ticket: &roll.ticket,
            tickets: &[],
            film: &roll.film,
            when: "",
            why: "",
            days: 0,
        }
    }
}

fn letter(
    now: Moment,
    (kind, cause): (&'static str, String),
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
        dedupe_key: format!("{kind} {} {cause}", about.ticket),
        send_after: now,
    })
}

/// A moment on the studio's wall clock.
fn in_words(zone: Zone, at: Moment) -> String {
    Words::in_studio(zone, &Taste::default()).moment(at)
}

pub(super) fn handed_in(now: Moment, to: &Recipient, tickets: &[&str]) -> Result<Letter, Error> {
    let ticket = tickets.first().copied().unwrap_or_default();
    let about = About { name: &to.name, ticket, tickets, film: "", when: "", why: "", days: 0 };
    letter(now, ("roll_handed_in", now.0.to_string()), to, &about)
}

pub(super) fn waiting(
    (now, zone): (Moment, Zone),
    to: &Recipient,
    roll: &Roll,
    (why, until): (&str, Option<Moment>),
) -> Result<Letter, Error> {
    let when = until.map(|at| in_words(zone, at)).unwrap_or_default();
    let about = About { when: &when, why, ..About::of(to, roll) };
    letter(now, ("roll_waiting", zone.date(now).to_string()), to, &about)
}

pub(super) fn ready(now: Moment, to: &Recipient, roll: &Roll) -> Result<Letter, Error> {
    letter(now, ("roll_ready", now.0.to_string()), to, &About::of(to, roll))
}

pub(super) fn kept(now: Moment, to: &Recipient, roll: &Roll, days: i64) -> Result<Letter, Error> {
    let about = About { days, ..About::of(to, roll) };
    // Once for every so many days on the shelf.
    let time = days / super::KEPT_DAYS;
    letter(now, ("roll_kept", format!("{} {time}", roll.since.0)), to, &about)
}

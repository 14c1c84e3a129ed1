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
    late: bool,
    rolls: Vec<String>,
    days: i64,
}

impl<'a> About<'a> {
    fn of(to: &'a Recipient, roll: &'a Roll) -> About<'a> {
        About { ticket: &roll.ticket, film: &roll.film, ..About::to(to) }
    }

    fn to(to: &'a Recipient) -> About<'a> {
        About {
            name: &to.name,
            ticket: "",
            tickets: &[],
            film: "",
            when: "",
            why: "",
            late: false,
            rolls: Vec::new(),
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
    let about = About { ticket, tickets, ..About::to(to) };
    letter(now, ("roll_handed_in", now.0.to_string()), to, &about)
}

pub(super) fn waiting(
    (now, zone): (Moment, Zone),
    to: &Recipient,
    roll: &Roll,
    (why, until): (&str, Moment),
) -> Result<Letter, Error> {
    let when = in_words(zone, until);
    let about = About { when: &when, why, late: until < now, ..About::of(to, roll) };
    letter(now, ("roll_waiting", zone.date(now).to_string()), to, &about)
}

pub(super) fn ready(now: Moment, to: &Recipient, roll: &Roll) -> Result<Letter, Error> {
    letter(now, ("roll_ready", now.0.to_string()), to, &About::of(to, roll))
}

/// To the owner of negatives that lie on the shelf for so many days; `time` counts the letters.
pub(super) fn kept(
    now: Moment,
    to: &Recipient,
    roll: &Roll,
    (days, time): (i64, i64),
) -> Result<Letter, Error> {
    let about = About { days, ..About::of(to, roll) };
    letter(now, ("roll_kept", format!("{} {time}", roll.since.0)), to, &about)
}

/// To a lead: film that waits longer than the studio wants it to. Once a day.
pub(super) fn overdue(now: Moment, to: &Recipient, late: &[Roll]) -> Result<Letter, Error> {
    let rolls = late.iter().map(|r| {
        let days = now.since(r.handed_in) / 86_400;
        format!("{}, {} at EI {}, of {}: {days} days", r.ticket, r.film, r.ei, r.member_name)
    });
    let about = About { rolls: rolls.collect(), ..About::to(to) };
    let cause = format!("{} {}", to.member_id.unwrap_or(0), now.0.div_euclid(86_400));
    letter(now, ("rolls_overdue", cause), to, &about)
}

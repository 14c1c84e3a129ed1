use serde::Serialize;

use super::rules::State;
use super::{Roll, spoken};
use crate::clock::{Moment, Zone};
use crate::error::Error;
use crate::outbox::{Letter, Recipient, write};
use crate::sessions::Taste;
use crate::web::{Words, counted};

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    /// As it is read aloud and written on film.
    ticket: String,
    /// As it stands in an address.
    bare: &'a str,
    tickets: Vec<String>,
    film: &'a str,
    when: &'a str,
    why: &'a str,
    late: bool,
    lost: bool,
    rolls: Vec<String>,
    days: i64,
}

impl<'a> About<'a> {
    fn of(to: &'a Recipient, roll: &'a Roll) -> About<'a> {
        let ticket = spoken(&roll.ticket);
        About { ticket, bare: &roll.ticket, film: &roll.film, ..About::to(to) }
    }

    fn to(to: &'a Recipient) -> About<'a> {
        About {
            name: &to.name,
            ticket: String::new(),
            bare: "",
            tickets: Vec::new(),
            film: "",
            when: "",
            why: "",
            late: false,
            lost: false,
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
        dedupe_key: format!("{kind} {} {cause}", about.bare),
        send_after: now,
    })
}

/// A moment on the studio's wall clock.
fn in_words(zone: Zone, at: Moment) -> String {
    Words::in_studio(zone, &Taste::default()).moment(at)
}

pub(super) fn handed_in(now: Moment, to: &Recipient, tickets: &[&str]) -> Result<Letter, Error> {
    let bare = tickets.first().copied().unwrap_or_default();
    let ticket = spoken(bare);
    let tickets = tickets.iter().map(|t| spoken(t)).collect();
    let about = About { ticket, bare, tickets, ..About::to(to) };
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

/// To the owner of rolls whose negatives are on the shelf; one letter for all of them.
pub(super) fn ready(now: Moment, to: &Recipient, rolls: &[&Roll]) -> Result<Letter, Error> {
    let Some(first) = rolls.first() else { return Err(Error::NotFound) };
    let in_words = |r: &&Roll| format!("{}, {} at EI {}", spoken(&r.ticket), r.film, r.ei);
    let about = About { rolls: rolls.iter().map(in_words).collect(), ..About::of(to, first) };
    letter(now, ("roll_ready", now.0.to_string()), to, &about)
}

/// To the owner of a roll that is lost or spoiled, with what is known about it. Nobody does without
/// this letter.
pub(super) fn mishap(
    now: Moment,
    to: &Recipient,
    roll: &Roll,
    (state, why): (State, &str),
) -> Result<Letter, Error> {
    let about = About { lost: state == State::Lost, why, ..About::of(to, roll) };
    let cause = format!("{} {}", state.word(), now.0);
    Ok(Letter { optional: false, ..letter(now, ("roll_lost", cause), to, &about)? })
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
        let days = counted(now.since(r.handed_in) / 86_400, "day", "days");
        let ticket = spoken(&r.ticket);
        format!("{ticket}, {} at EI {}, of {}: {days}", r.film, r.ei, r.member_name)
    });
    let about = About { rolls: rolls.collect(), ..About::to(to) };
    let cause = format!("{} {}", to.member_id.unwrap_or(0), now.0.div_euclid(86_400));
    letter(now, ("rolls_overdue", cause), to, &about)
}

use serde::Serialize;

use super::LotInDoubt;
use super::rules::{Bath, Cause, minutes, rolls_in_words};
use super::state::State;
use super::watch::PlanPasses;
use crate::clock::Moment;
use crate::error::Error;
use crate::outbox::{Letter, Recipient, write};
use crate::shelf::figure;

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    id: i64,
    bath: &'a str,
    kind: &'a str,
    fixer: bool,
    used: String,
    capacity: String,
    remaining: String,
    cause: &'a str,
    age_days: i64,
    left: String,
    clearing: String,
    planned: String,
    day: String,
}

fn about<'a>(lead: &'a Recipient, bath: &'a Bath, state: &State, cause: Cause) -> About<'a> {
    About {
        name: &lead.name,
        id: bath.id,
        bath: &bath.label,
        kind: bath.kind.word(),
        fixer: bath.is_fixer(),
        used: rolls_in_words(state.used_milli),
        capacity: rolls_in_words(bath.capacity_milli),
        remaining: rolls_in_words(state.remaining_milli),
        cause: cause.word(),
        age_days: state.age_days,
        left: figure(state.left_ul),
        clearing: state.clearing_s.map(minutes).unwrap_or_default(),
        planned: String::new(),
        day: String::new(),
    }
}

fn letter(
    now: Moment,
    to: &Recipient,
    about: &About<'_>,
    dedupe_key: String,
) -> Result<Letter, Error> {
    let (subject, body) = write("bath_alert", about)?;
    Ok(Letter {
        kind: "bath_alert",
        to: to.clone(),
        subject,
        body,
        optional: false,
        link: None,
        dedupe_key,
        send_after: now,
    })
}

/// Tells a lead what a bath needs.
pub(super) fn alert(
    now: Moment,
    lead: &Recipient,
    bath: &Bath,
    state: &State,
    (cause, key): (Cause, String),
) -> Result<Letter, Error> {
    letter(now, lead, &about(lead, bath, state, cause), key)
}

/// Tells a lead that a published day would pass a bath's limit.
pub(super) fn plan_passes(
    now: Moment,
    lead: &Recipient,
    bath: &Bath,
    state: &State,
    (plan, key): (&PlanPasses, String),
) -> Result<Letter, Error> {
    let planned = rolls_in_words(plan.milli);
    let day = plan.day.format("%A %-d %B").to_string();
    let about = About { planned, day, ..about(lead, bath, state, Cause::Plan) };
    letter(now, lead, &about, key)
}

#[derive(Serialize)]
struct Back<'a> {
    name: &'a str,
    what: &'a str,
    fixer: bool,
    films: &'a [String],
}

/// Tells an owner which of their films went through something that was found bad.
pub(super) fn call_back(
    now: Moment,
    owner: &Recipient,
    (what, fixer): (&str, bool),
    films: &[String],
    dedupe_key: String,
) -> Result<Letter, Error> {
    let (subject, body) = write("bath_recall", &Back { name: &owner.name, what, fixer, films })?;
    Ok(Letter {
        kind: "bath_recall",
        to: owner.clone(),
        subject,
        body,
        optional: false,
        link: None,
        dedupe_key,
        send_after: now,
    })
}

#[derive(Serialize)]
struct Doubt<'a> {
    name: &'a str,
    lot: &'a str,
    product: &'a str,
    films: usize,
}

/// Tells a lead that several films which came out badly have a lot in common; once for a lot.
pub(super) fn lot_in_doubt(
    now: Moment,
    lead: &Recipient,
    lot: &LotInDoubt,
) -> Result<Letter, Error> {
    let about =
        Doubt { name: &lead.name, lot: &lot.number, product: &lot.product, films: lot.films };
    let (subject, body) = write("lot_in_doubt", &about)?;
    Ok(Letter {
        kind: "lot_in_doubt",
        to: lead.clone(),
        subject,
        body,
        optional: false,
        link: None,
        dedupe_key: format!("lot {} in doubt {}", lot.lot, lead.address),
        send_after: now,
    })
}

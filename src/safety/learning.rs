//! The way in: reading, answering, acknowledging; the induction, signed in person by a lead.

use std::collections::BTreeMap;

use super::rules::{self, Check, Missing};
use super::store::{self, Note, Question};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members;
use crate::sessions::{Person, Role};
use crate::studio;

/// What somebody must still do before they may book, the most urgent first.
///
/// # Errors
/// As the database's.
pub fn missing_before_booking(conn: &mut Conn, person: &Person) -> Result<Vec<Missing>, Error> {
    let mut missing = Vec::new();
    if person.paused {
        missing.push(Missing::EndOfBreak);
    }
    let unread = unread(conn, person.id)?;
    if !unread.is_empty() {
        missing.push(Missing::Notes(unread.into_iter().map(|n| (n.slug, n.title)).collect()));
    }
    if person.role == Role::Newcomer {
        missing.push(Missing::Induction(open_items(conn, person.id)?));
    }
    Ok(missing)
}

/// Refuses a booking to somebody to whom something is missing that bars every booking.
///
/// # Errors
/// The rule, in a sentence that says what to do.
pub fn refuse_unready(conn: &mut Conn, person: &Person) -> Result<(), Error> {
    match missing_before_booking(conn, person)?.iter().find(|m| m.bars_every_booking()) {
        Some(missing) => Err(Error::refused("rule", missing.sentence())),
        None => Ok(()),
    }
}

/// Refuses a booking that a lead makes for somebody who has essential notes still to read.
///
/// # Errors
/// The notes, in a sentence that says what to do.
pub fn refuse_unread_of(conn: &mut Conn, member: i64) -> Result<(), Error> {
    let unread = unread(conn, member)?;
    if unread.is_empty() {
        return Ok(());
    }
    let name = members::names(conn, &[member])?.remove(&member).unwrap_or_default();
    let titles: Vec<String> = unread.into_iter().map(|n| n.title).collect();
    Err(Error::field(
        "member",
        format!(
            "{name} has not acknowledged these safety notes in their present version: {}. They \
             read them under “Your way in”; then the booking can be made.",
            titles.join("; ")
        ),
    ))
}

/// The essential notes whose present version this member has not acknowledged.
pub(super) fn unread(conn: &mut Conn, member: i64) -> Result<Vec<Note>, Error> {
    let read = store::acknowledged(conn, member)?;
    let heads = store::heads(conn)?;
    let is_read = |slug: &str, number| read.get(slug).is_some_and(|(seen, _)| *seen == number);
    let open = heads.iter().filter(|(slug, h)| h.essential && !is_read(slug, h.number));
    store::whole(conn, open.map(|(_, head)| head))
}

/// What of the induction no lead has signed for this member.
fn open_items(conn: &mut Conn, member: i64) -> Result<Vec<String>, Error> {
    let signed = store::signatures(conn, member)?;
    let items = store::items(conn)?;
    Ok(items.into_iter().filter(|i| !signed.contains_key(&i.id)).map(|i| i.text).collect())
}

/// Acknowledges the version of a note that somebody has read, when every question is answered
/// right.
pub(super) fn acknowledge(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    (slug, number): (&str, i64),
    answers: &BTreeMap<i64, String>,
) -> Result<(), Error> {
    let note = store::latest(tx, slug)?;
    if note.withdrawn {
        return Err(Error::NotFound);
    }
    if note.number != number {
        return Err(Error::refused(
            "changed-meanwhile",
            format!(
                "This note has a newer version, {}, since you opened it. Please read that one.",
                note.number
            ),
        ));
    }
    let questions = store::questions(tx, slug)?;
    let checks: Vec<Check<'_>> =
        questions.iter().map(|q| Check { id: q.id, right: &q.right_answer, why: &q.why }).collect();
    let faults = rules::check_answers(&checks, answers);
    if !faults.is_empty() {
        return Err(Error::Invalid(faults));
    }
    let count = i64::try_from(questions.len()).unwrap_or(i64::MAX);
    store::acknowledge(tx, now, member, (slug, number, count))
}

/// Signs points of somebody's induction; the last one makes a newcomer a member. Says whether it
/// was the last.
pub(super) fn sign(
    tx: &mut Tx<'_>,
    now: Moment,
    lead: &Person,
    (member, items): (i64, &[i64]),
) -> Result<bool, Error> {
    if lead.id == member {
        return Err(Error::refused(
            "own-induction",
            "Nobody signs their own induction. Ask another lead.",
        ));
    }
    let signed = store::signatures(tx, member)?;
    let all = store::items(tx)?;
    for item in items {
        if !all.iter().any(|i| i.id == *item) {
            return Err(Error::refused(
                "changed-meanwhile",
                "The induction list changed while this form was open. Open the page afresh.",
            ));
        }
        if !signed.contains_key(item) {
            store::sign(tx, now, (*item, member, lead.id))?;
        }
    }
    if all.is_empty() || !open_items(tx, member)?.is_empty() {
        return Ok(false);
    }
    members::finish_induction(tx, now, member)
}

/// A question as a lead typed it, new (`id` 0) or reworded.
pub(super) fn keep_question(tx: &mut Tx<'_>, question: &Question) -> Result<(), Error> {
    store::latest(tx, &question.slug)?;
    if question.right_answer == question.wrong_answer
        || question.right_answer == question.second_wrong
    {
        return Err(Error::field("wrong", "A wrong answer must differ from the right one."));
    }
    if question.id == 0 {
        return store::ask(tx, question);
    }
    if store::reword(tx, question)? {
        Ok(())
    } else {
        Err(studio::changed_meanwhile("This question"))
    }
}

//! Posting notes: new ones, new versions, taking down, filling blanks in.

use super::blanks::{self, Filling, Kind};
use super::store::{self, Note, Question};
use super::{markdown, rules, starting};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::{Error, Faults};
use crate::studio;

/// A note as a lead typed it.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    pub(super) title: String,
    pub(super) summary: String,
    pub(super) body: String,
    pub(super) position: i64,
    pub(super) essential: bool,
    pub(super) change_note: String,
}

/// Refuses a body that cannot be posted, beside its field.
pub(super) fn check_body(body: &str) -> Result<(), Error> {
    match markdown::fault(body) {
        Some(sentence) => Err(Error::field("body", sentence)),
        None => Ok(()),
    }
}

/// Posts a new note; returns the last part of its address.
pub(super) fn post(tx: &mut Tx<'_>, now: Moment, by: i64, draft: &Draft) -> Result<String, Error> {
    check_body(&draft.body)?;
    let mut taken = Vec::new();
    // A few tries are enough to find a free address: each asks about one more.
    let slug = loop {
        let slug = rules::slug_of(&draft.title, |s| taken.iter().any(|t| t == s));
        if !store::is_posted(tx, &slug)? {
            break slug;
        }
        taken.push(slug);
    };
    store::insert(tx, &noted(&slug, 1, now, by, draft))?;
    store::acknowledge(tx, now, by, (&slug, 1, 0))?;
    Ok(slug)
}

/// Posts a new version of a note, if `based_on` is still its latest. Whoever posts it has read it.
pub(super) fn post_version(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (slug, based_on): (&str, i64),
    draft: &Draft,
) -> Result<i64, Error> {
    check_body(&draft.body)?;
    let last = latest_is(tx, slug, based_on)?;
    let unchanged = last.body == draft.body
        && last.title == draft.title
        && last.summary == draft.summary
        && last.essential == draft.essential
        && last.position == draft.position
        && !last.withdrawn;
    if unchanged {
        return Err(Error::refused(
            "unchanged",
            "Nothing was changed, so there is no new version.",
        ));
    }
    if draft.change_note.is_empty() {
        return Err(Error::field(
            "change_note",
            "Please say in a sentence what changed; everybody who reads the note again sees it.",
        ));
    }
    let number = last.number + 1;
    store::insert(tx, &noted(slug, number, now, by, draft))?;
    store::acknowledge(tx, now, by, (slug, number, 0))?;
    Ok(number)
}

/// Takes a note down; its versions stay on record.
pub(super) fn take_down(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (slug, based_on): (&str, i64),
) -> Result<(), Error> {
    let last = latest_is(tx, slug, based_on)?;
    if last.withdrawn {
        return Ok(());
    }
    store::insert(
        tx,
        &Note {
            number: last.number + 1,
            published_s: now.0,
            published_by: Some(by),
            change_note: "Taken down".to_owned(),
            withdrawn: true,
            ..last
        },
    )
}

fn latest_is(tx: &mut Tx<'_>, slug: &str, based_on: i64) -> Result<Note, Error> {
    let last = store::latest(tx, slug)?;
    if last.number == based_on { Ok(last) } else { Err(studio::changed_meanwhile("This note")) }
}

fn noted(slug: &str, number: i64, now: Moment, by: i64, draft: &Draft) -> Note {
    Note {
        slug: slug.to_owned(),
        number,
        position: draft.position,
        title: draft.title.clone(),
        summary: draft.summary.clone(),
        body: draft.body.clone(),
        essential: draft.essential,
        published_s: now.0,
        published_by: Some(by),
        change_note: draft.change_note.clone(),
        withdrawn: false,
    }
}

/// Fills blanks in; those that stay as they are make no row. A rule needs its authority and date.
pub(super) fn fill_in(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    wished: &[(&'static str, Filling)],
) -> Result<usize, Error> {
    let mut faults = Faults::new();
    for (key, filling) in wished {
        let is_rule = blanks::of(key).is_some_and(|b| b.kind == Kind::Rule);
        if !is_rule || filling.value.is_empty() {
            continue;
        }
        if filling.authority.is_empty() {
            faults.insert(
                format!("{key}-authority"),
                "Please name the authority that made this rule. Without it the note goes on \
                 saying: collect, do not pour."
                    .to_owned(),
            );
        }
        if filling.ruled_on.is_none() {
            faults.insert(
                format!("{key}-date"),
                "Please give the rule's date, such as 2026-03-01.".to_owned(),
            );
        }
    }
    if !faults.is_empty() {
        return Err(Error::Invalid(faults));
    }
    let present = store::fillings(tx)?;
    let mut changed = 0;
    for (key, filling) in wished {
        let was = present.get(*key).cloned().unwrap_or_default();
        if was != *filling {
            store::fill(tx, (now, by), key, filling)?;
            changed += 1;
        }
    }
    Ok(changed)
}

/// Posts the starting set with its questions and a first induction list where no note was ever
/// posted; a lead changes all of it later.
///
/// # Errors
/// As the database's.
pub fn post_starting_set(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    if store::any_posted(tx)? {
        return Ok(());
    }
    for (note, place) in starting::NOTES.iter().zip(1..) {
        store::insert(
            tx,
            &Note {
                slug: note.slug.to_owned(),
                number: 1,
                position: place * 10,
                title: note.title.to_owned(),
                summary: note.summary.to_owned(),
                body: note.body(),
                essential: note.essential,
                published_s: now.0,
                published_by: None,
                change_note: String::new(),
                withdrawn: false,
            },
        )?;
        for starting::Asked(question, right, [wrong, second], why) in note.questions {
            store::ask(
                tx,
                &Question {
                    id: 0,
                    slug: note.slug.to_owned(),
                    question: (*question).to_owned(),
                    right_answer: (*right).to_owned(),
                    wrong_answer: (*wrong).to_owned(),
                    second_wrong: (*second).to_owned(),
                    why: (*why).to_owned(),
                    version: 1,
                },
            )?;
        }
    }
    for (text, place) in starting::INDUCTION.iter().zip(1..) {
        store::add_item(tx, place * 10, text)?;
    }
    Ok(())
}

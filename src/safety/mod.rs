//! Safety and disposal notes: posted pages that anyone may read, in numbered versions; and the way
//! in for newcomers, who read, answer, acknowledge, and are shown the room.

pub(crate) mod api;
mod blanks;
mod changes;
mod learning;
mod markdown;
mod pages;
mod posting;
mod rules;
mod sources;
mod starting;
mod store;

use std::collections::BTreeMap;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use blanks::Filling;
pub use learning::{missing_before_booking, refuse_unread_of, refuse_unready};
pub use posting::post_starting_set;
pub use rules::Missing;
pub use store::Note;

/// The notes in their current versions, in their posted order.
///
/// # Errors
/// As the database's.
pub fn current(conn: &mut Conn) -> Result<Vec<Note>, Error> {
    store::current(conn)
}

/// Marks every essential note as read by a member, in its present version, without asking: for
/// studios that are filled by hand, such as the demonstration.
///
/// # Errors
/// As the database's.
pub fn take_as_read(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    for note in learning::unread(tx, member)? {
        let questions = i64::try_from(store::questions(tx, &note.slug)?.len()).unwrap_or(0);
        store::acknowledge(tx, now, member, (&note.slug, note.number, questions))?;
    }
    Ok(())
}

/// Posts a new version of a note with one more line above its sources.
///
/// # Errors
/// [`Error::NotFound`] where there is no such note.
pub fn add_line(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    (slug, line, changed): (&str, &str, &str),
) -> Result<(), Error> {
    let note = store::latest(tx, slug)?;
    let (main, foot) = note.body.split_once("\n## Sources").unwrap_or((&note.body, ""));
    let foot = if foot.is_empty() { String::new() } else { format!("\n## Sources{foot}") };
    let draft = posting::Draft {
        body: format!("{}\n{line}\n{foot}", main.trim_end()),
        title: note.title.clone(),
        summary: note.summary.clone(),
        position: note.position,
        essential: note.essential,
        change_note: changed.to_owned(),
    };
    posting::post_version(tx, now, by, (slug, note.number), &draft).map(|_| ())
}

/// Fills blanks of the notes in by their keys, as their form does.
///
/// # Errors
/// A sentence beside the blank; [`Error::NotFound`] where there is no such blank.
pub fn fill_blanks(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    wished: &BTreeMap<&str, Filling>,
) -> Result<(), Error> {
    let mut known = Vec::new();
    for (key, filling) in wished {
        let blank = blanks::of(key).ok_or(Error::NotFound)?;
        known.push((blank.key, filling.clone()));
    }
    posting::fill_in(tx, now, Some(by), &known).map(|_| ())
}

/// What a blank of the notes is filled with; nothing while it is empty.
///
/// # Errors
/// As the database's.
pub fn filling(conn: &mut Conn, key: &str) -> Result<Option<Filling>, Error> {
    let filled = store::fillings(conn)?.remove(key);
    Ok(filled.filter(|f| !f.value.trim().is_empty()))
}

/// Whether the notes say what number calls help, and where the eyewash and the first-aid kit are.
///
/// # Errors
/// As the database's.
pub fn is_help_named(conn: &mut Conn) -> Result<bool, Error> {
    let filled = store::fillings(conn)?;
    let is_named = |key: &&str| filled.get(*key).is_some_and(|f| !f.value.trim().is_empty());
    Ok(["emergency-number", "eyewash-place", "first-aid-place"].iter().all(is_named))
}

/// Signs the first points of somebody's induction, so many of them, as a lead would.
///
/// # Errors
/// As the form's.
pub fn sign_first_points(
    tx: &mut Tx<'_>,
    now: Moment,
    lead: &crate::sessions::Person,
    (member, points): (i64, usize),
) -> Result<(), Error> {
    let items: Vec<i64> = store::items(tx)?.into_iter().take(points).map(|i| i.id).collect();
    learning::sign(tx, now, lead, (member, &items)).map(|_| ())
}

/// What a member has read and what was signed for them, for them to take along: title or text,
/// version, when.
///
/// # Errors
/// As the database's.
pub fn belongings(conn: &mut Conn, member: i64) -> Result<serde_json::Value, Error> {
    let read = store::acknowledged(conn, member)?;
    let notes: Vec<serde_json::Value> = read
        .into_iter()
        .map(|(slug, (number, at))| {
            serde_json::json!({"note": slug, "version": number, "acknowledged": at.utc().to_rfc3339()})
        })
        .collect();
    let signed = store::signatures(conn, member)?;
    let items = store::items(conn)?;
    let points: Vec<serde_json::Value> = items
        .into_iter()
        .filter_map(|item| {
            let (_, at) = signed.get(&item.id)?;
            Some(serde_json::json!({"point": item.text, "signed": at.utc().to_rfc3339()}))
        })
        .collect();
    Ok(serde_json::json!({"notes": notes, "induction": points}))
}

/// The names of what is on the shelf with statements that call for an eyewash (H314, H318).
///
/// # Errors
/// As the database's.
pub fn calling_for_eyewash(conn: &mut Conn) -> Result<Vec<String>, Error> {
    let shelf = store::shelf(conn)?;
    Ok(shelf
        .into_iter()
        .filter(|(_, sheet)| sheet.calls_for_eyewash())
        .map(|(name, _)| name)
        .collect())
}

/// The hazard lines of everything on the shelf as harmless HTML, where one of the notes shows them.
fn shelf_lines(conn: &mut Conn, body: &str) -> Result<String, Error> {
    if !body.contains(&format!("[[{}]]", blanks::SHELF)) {
        return Ok(String::new());
    }
    store::shelf(conn).map(|lines| blanks::shelf_table(&lines))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}

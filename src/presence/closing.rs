//! The list that the last one out signs.

use std::collections::BTreeSet;

use super::store;
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// One thing to look after before the door is locked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Where it stands in the list, from 1.
    pub position: i64,
    /// What to look after.
    pub text: String,
}

/// What somebody signs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Signing {
    /// The positions that are done.
    pub done: BTreeSet<i64>,
    /// Why something is not, or whatever else the next one should know.
    pub note: String,
}

/// One line of a signed list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What was to be looked after.
    pub text: String,
    /// Whether it was.
    pub done: bool,
}

/// A list somebody signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignedList {
    /// Its number.
    pub id: i64,
    /// Who signed.
    pub name: String,
    /// When.
    pub at: Moment,
    /// What they wrote.
    pub note: String,
    /// The lines as they were.
    pub lines: Vec<Line>,
}

/// The list as it stands.
///
/// # Errors
/// As the database's.
pub fn items(conn: &mut Conn) -> Result<Vec<Item>, Error> {
    store::items(conn)
}

/// Replaces the list. What was signed before keeps its own words.
///
/// # Errors
/// A sentence beside `items` when there are too many or one is too long.
pub fn set_items(tx: &mut Tx<'_>, texts: &[String]) -> Result<(), Error> {
    if texts.len() > 30 {
        return Err(Error::field("items", "The list may have 30 lines; put some together."));
    }
    if let Some(long) = texts.iter().find(|t| t.chars().count() > 200) {
        let start: String = long.chars().take(40).collect();
        return Err(Error::field(
            "items",
            format!("A line may have 200 characters; the one that begins “{start}” has more."),
        ));
    }
    store::replace_items(tx, texts)
}

/// Keeps the signed list, or says that one is wanted.
pub(super) fn sign(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    signing: Option<&Signing>,
) -> Result<(), Error> {
    let items = store::items(tx)?;
    if items.is_empty() {
        return Ok(());
    }
    let signing = signing.ok_or_else(|| {
        Error::refused(
            "last-one-out",
            "You are the last one in the building. Go through the list below and sign it; then \
             you are out.",
        )
    })?;
    let left: Vec<&str> = items
        .iter()
        .filter(|i| !signing.done.contains(&i.position))
        .map(|i| i.text.as_str())
        .collect();
    if !left.is_empty() && signing.note.trim().is_empty() {
        return Err(Error::field(
            "note",
            format!("Tick what is done, or say why it is left: {}.", left.join("; ")),
        ));
    }
    store::insert_signed(tx, now, by, (&items, signing))
}

/// The lists signed last, the latest first.
///
/// # Errors
/// As the database's.
pub fn signed_lists(conn: &mut Conn, most: i64) -> Result<Vec<SignedList>, Error> {
    store::signed(conn, most)
}

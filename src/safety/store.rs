use diesel::prelude::*;

use super::starting::Starting;
use crate::clock::Moment;
use crate::db::schema::safety_notes;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A posted note in one version.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = safety_notes)]
pub struct Note {
    /// The last part of its address.
    pub slug: String,
    /// Its version, from 1.
    pub number: i64,
    /// Its place in the posted order.
    pub position: i64,
    /// Its title.
    pub title: String,
    /// What it is about, in a sentence.
    pub summary: String,
    /// Its text in Markdown.
    pub body: String,
    /// Everyone must have read it.
    pub essential: bool,
    /// When it was posted, UTC seconds.
    pub published_s: i64,
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    note: &Starting,
    position: i64,
) -> Result<(), Error> {
    diesel::insert_into(safety_notes::table)
        .values((
            safety_notes::slug.eq(note.slug),
            safety_notes::number.eq(1),
            safety_notes::position.eq(position),
            safety_notes::title.eq(note.title),
            safety_notes::summary.eq(note.summary),
            safety_notes::body.eq(note.body),
            safety_notes::essential.eq(note.essential),
            safety_notes::published_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn current(conn: &mut Conn) -> Result<Vec<Note>, Error> {
    let all: Vec<Note> = safety_notes::table
        .order((safety_notes::position, safety_notes::slug, safety_notes::number.desc()))
        .select(Note::as_select())
        .load(conn)?;
    let mut latest: Vec<Note> = Vec::new();
    for note in all {
        if latest.last().is_none_or(|n| n.slug != note.slug) {
            latest.push(note);
        }
    }
    Ok(latest)
}

pub(super) fn by_slug(conn: &mut Conn, slug: &str) -> Result<Note, Error> {
    Ok(safety_notes::table
        .filter(safety_notes::slug.eq(slug))
        .order(safety_notes::number.desc())
        .select(Note::as_select())
        .first(conn)?)
}

use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;

use crate::clock::Moment;
use crate::data_sheets;
use crate::db::schema::{developers, note_fillings, products, safety_notes};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::hazards::Sheet;
use crate::safety::blanks::{Filling, Fillings};

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
    /// Who posted it; nobody's where it came with the program.
    pub published_by: Option<i64>,
    /// What this version changed, in a sentence.
    pub change_note: String,
    /// Whether this version takes the note down.
    pub withdrawn: bool,
}

pub(in crate::safety) fn insert(tx: &mut Tx<'_>, note: &Note) -> Result<(), Error> {
    diesel::insert_into(safety_notes::table)
        .values((
            safety_notes::slug.eq(&note.slug),
            safety_notes::number.eq(note.number),
            safety_notes::position.eq(note.position),
            safety_notes::title.eq(&note.title),
            safety_notes::summary.eq(&note.summary),
            safety_notes::body.eq(&note.body),
            safety_notes::essential.eq(note.essential),
            safety_notes::published_s.eq(note.published_s),
            safety_notes::published_by.eq(note.published_by),
            safety_notes::change_note.eq(&note.change_note),
            safety_notes::withdrawn.eq(note.withdrawn),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// What of a note's latest version is known without reading it.
pub(in crate::safety) struct Head {
    id: i64,
    pub(in crate::safety) number: i64,
    pub(in crate::safety) essential: bool,
}

/// The notes in their latest versions by their addresses, those taken down left out. Old versions
/// are counted, not read.
pub(in crate::safety) fn heads(conn: &mut Conn) -> Result<BTreeMap<String, Head>, Error> {
    let all: Vec<(String, i64, i64, bool, bool)> = safety_notes::table
        .order((safety_notes::slug, safety_notes::number))
        .select((
            safety_notes::slug,
            safety_notes::id,
            safety_notes::number,
            safety_notes::essential,
            safety_notes::withdrawn,
        ))
        .load(conn)?;
    let mut latest = BTreeMap::new();
    for (slug, id, number, essential, withdrawn) in all {
        if withdrawn {
            latest.remove(&slug);
        } else {
            latest.insert(slug, Head { id, number, essential });
        }
    }
    Ok(latest)
}

/// These notes whole, in their posted order.
pub(in crate::safety) fn whole<'a>(
    conn: &mut Conn,
    heads: impl Iterator<Item = &'a Head>,
) -> Result<Vec<Note>, Error> {
    let ids: Vec<i64> = heads.map(|h| h.id).collect();
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    Ok(safety_notes::table
        .filter(safety_notes::id.eq_any(ids))
        .order((safety_notes::position, safety_notes::slug))
        .select(Note::as_select())
        .load(conn)?)
}

/// The notes in their latest versions, those taken down left out, in their posted order.
pub(in crate::safety) fn current(conn: &mut Conn) -> Result<Vec<Note>, Error> {
    let heads = heads(conn)?;
    whole(conn, heads.values())
}

/// A note's latest version, taken down or not.
pub(in crate::safety) fn latest(conn: &mut Conn, slug: &str) -> Result<Note, Error> {
    Ok(safety_notes::table
        .filter(safety_notes::slug.eq(slug))
        .order(safety_notes::number.desc())
        .select(Note::as_select())
        .first(conn)?)
}

pub(in crate::safety) fn version(conn: &mut Conn, slug: &str, number: i64) -> Result<Note, Error> {
    Ok(safety_notes::table
        .filter(safety_notes::slug.eq(slug))
        .filter(safety_notes::number.eq(number))
        .select(Note::as_select())
        .first(conn)?)
}

/// All versions of a note, the latest first.
pub(in crate::safety) fn versions(conn: &mut Conn, slug: &str) -> Result<Vec<Note>, Error> {
    Ok(safety_notes::table
        .filter(safety_notes::slug.eq(slug))
        .order(safety_notes::number.desc())
        .select(Note::as_select())
        .load(conn)?)
}

pub(in crate::safety) fn is_posted(conn: &mut Conn, slug: &str) -> Result<bool, Error> {
    let of = safety_notes::table.filter(safety_notes::slug.eq(slug)).select(safety_notes::id);
    Ok(diesel::select(diesel::dsl::exists(of)).get_result(conn)?)
}

pub(in crate::safety) fn any_posted(conn: &mut Conn) -> Result<bool, Error> {
    let any = diesel::dsl::exists(safety_notes::table.select(safety_notes::id));
    Ok(diesel::select(any).get_result(conn)?)
}

/// What every blank is filled with now.
pub(in crate::safety) fn fillings(conn: &mut Conn) -> Result<Fillings, Error> {
    type Row = (String, String, String, Option<NaiveDate>);
    let rows: Vec<Row> = note_fillings::table
        .order(note_fillings::id)
        .select((
            note_fillings::blank,
            note_fillings::value,
            note_fillings::authority,
            note_fillings::ruled_on,
        ))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(blank, value, authority, ruled_on)| (blank, Filling { value, authority, ruled_on }))
        .collect())
}

/// The hazard lines of what is on the shelf: name and lines, by name.
pub(in crate::safety) fn shelf(conn: &mut Conn) -> Result<Vec<(String, Sheet)>, Error> {
    let products: Vec<(i64, String, Option<i64>)> = products::table
        .order(products::name)
        .select((products::id, products::name, products::developer_id))
        .load(conn)?;
    let stocked: Vec<i64> = products.iter().filter_map(|(_, _, developer)| *developer).collect();
    let mut sheets = data_sheets::all(conn)?;
    let shelf = products.into_iter().map(|(id, name, _)| {
        let sheet = sheets.remove(&id).unwrap_or_default();
        (name, sheet)
    });
    // What stands on the time chart only, and is poured from no bottle of the shelf.
    let from: Vec<String> = developers::table
        .filter(developers::id.eq_any(&stocked))
        .filter(developers::product.ne(""))
        .select(developers::product)
        .load(conn)?;
    let others: Vec<String> = developers::table
        .filter(developers::id.ne_all(stocked))
        .filter(developers::product.ne_all(from))
        .order(developers::name)
        .select(developers::name)
        .load(conn)?;
    let others = others.into_iter().map(|name| (name, Sheet::default()));
    Ok(shelf.chain(others).collect())
}

pub(in crate::safety) fn fill(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    blank: &str,
    filling: &Filling,
) -> Result<(), Error> {
    diesel::insert_into(note_fillings::table)
        .values((
            note_fillings::blank.eq(blank),
            note_fillings::value.eq(&filling.value),
            note_fillings::authority.eq(&filling.authority),
            note_fillings::ruled_on.eq(filling.ruled_on),
            note_fillings::filled_s.eq(now.0),
            note_fillings::filled_by.eq(by),
        ))
        .execute(tx.conn())?;
    Ok(())
}

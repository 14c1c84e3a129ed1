use diesel::prelude::*;

use super::rules::{Bath, Entry, EntryKind, Kind};
use crate::clock::Moment;
use crate::db::schema::{bath_entries, baths};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A bath about to be mixed.
#[derive(Clone, Debug)]
pub struct NewBath {
    /// What it is for.
    pub kind: Kind,
    /// What its label says; no other bath's does.
    pub label: String,
    /// Its volume in microlitres.
    pub volume_ul: i64,
    /// What it can take, in thousandths of a roll's worth.
    pub capacity_milli: i64,
    /// How long film stays in it, in seconds.
    pub fix_s: i64,
    /// When it is mixed.
    pub mixed: Moment,
    /// How many days it keeps.
    pub keeps_days: i64,
}

type Row = (i64, String, String, i64, i64, i64, i64, i64, Option<i64>);

fn columns() -> (
    baths::id,
    baths::kind,
    baths::label,
    baths::volume_ul,
    baths::capacity_milli,
    baths::fix_s,
    baths::mixed_s,
    baths::keeps_days,
    baths::retired_s,
) {
    (
        baths::id,
        baths::kind,
        baths::label,
        baths::volume_ul,
        baths::capacity_milli,
        baths::fix_s,
        baths::mixed_s,
        baths::keeps_days,
        baths::retired_s,
    )
}

fn noun(row: Row) -> Result<Bath, Error> {
    let (id, kind, label, volume_ul, capacity_milli, fix_s, mixed, keeps_days, retired) = row;
    let kind = Kind::from_word(&kind).ok_or_else(|| Error::broken("reading a bath", "its kind"))?;
    let (mixed, retired) = (Moment(mixed), retired.map(Moment));
    Ok(Bath { id, kind, label, volume_ul, capacity_milli, fix_s, mixed, keeps_days, retired })
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &NewBath) -> Result<i64, Error> {
    Ok(diesel::insert_into(baths::table)
        .values((
            baths::kind.eq(new.kind.word()),
            baths::label.eq(&new.label),
            baths::volume_ul.eq(new.volume_ul),
            baths::capacity_milli.eq(new.capacity_milli),
            baths::fix_s.eq(new.fix_s),
            baths::mixed_s.eq(new.mixed.0),
            baths::keeps_days.eq(new.keeps_days),
        ))
        .returning(baths::id)
        .get_result(tx.conn())?)
}

pub(super) fn has_label(conn: &mut Conn, label: &str) -> Result<bool, Error> {
    let same = baths::table.filter(baths::label.eq(label));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Bath, Error> {
    noun(baths::table.find(id).select(columns()).first(conn)?)
}

pub(super) fn active(conn: &mut Conn) -> Result<Vec<Bath>, Error> {
    let rows: Vec<Row> = baths::table
        .filter(baths::retired_s.is_null())
        .order(baths::id)
        .select(columns())
        .load(conn)?;
    rows.into_iter().map(noun).collect()
}

pub(super) fn has_run(conn: &mut Conn, bath: i64, run: i64) -> Result<bool, Error> {
    let same = bath_entries::table
        .filter(bath_entries::bath_id.eq(bath))
        .filter(bath_entries::run_id.eq(run));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(super) fn add(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    bath: &Bath,
    entry: &Entry,
) -> Result<(), Error> {
    diesel::insert_into(bath_entries::table)
        .values((
            bath_entries::bath_id.eq(bath.id),
            bath_entries::at_s.eq(now.0),
            bath_entries::by_id.eq(by),
            bath_entries::kind.eq(entry.kind.word()),
            bath_entries::milli.eq(entry.milli),
            bath_entries::seconds.eq(entry.seconds),
            bath_entries::run_id.eq(entry.run),
            bath_entries::note.eq(&entry.note),
        ))
        .execute(tx.conn())?;
    Ok(())
}

type Line = (i64, String, i64, Option<i64>, Option<i64>, String);

pub(super) fn entries(conn: &mut Conn, bath: i64) -> Result<Vec<Entry>, Error> {
    let lines: Vec<Line> = bath_entries::table
        .filter(bath_entries::bath_id.eq(bath))
        .order((bath_entries::at_s, bath_entries::id))
        .select((
            bath_entries::at_s,
            bath_entries::kind,
            bath_entries::milli,
            bath_entries::seconds,
            bath_entries::run_id,
            bath_entries::note,
        ))
        .load(conn)?;
    Ok(lines
        .into_iter()
        .map(|(at, kind, milli, seconds, run, note)| {
            let kind = match kind.as_str() {
                "clip_test" => EntryKind::ClipTest,
                "correction" => EntryKind::Correction,
                _ => EntryKind::Use,
            };
            Entry { at: Moment(at), kind, milli, seconds, run, note }
        })
        .collect())
}

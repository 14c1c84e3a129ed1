use diesel::prelude::*;

use super::rules::{
    Bath, Entry, EntryKind, Growth, Kind, Material, NewBath, Place, Replenisher, Way,
};
use super::state::Clearing;
use crate::clock::{Moment, Span};
use crate::db::like::{lower, pattern};
use crate::db::schema::{bath_entries, baths};
use crate::db::{Conn, Tx};
use crate::error::Error;

#[derive(Queryable, Selectable)]
#[diesel(table_name = baths)]
struct Row {
    id: i64,
    number: i64,
    kind: String,
    label: String,
    place: String,
    material: String,
    way: String,
    product_id: Option<i64>,
    water_parts: Option<i64>,
    volume_ul: i64,
    least_ul: i64,
    capacity_milli: i64,
    fix_s: i64,
    mixed_s: i64,
    mixed_by: Option<i64>,
    keeps_days: i64,
    half_keeps_days: Option<i64>,
    growth_permille: Option<i64>,
    growth_every_milli: Option<i64>,
    replenish_ul: Option<i64>,
    promotions: i64,
    replenisher_id: Option<i64>,
    replenisher_water: Option<i64>,
    retired_s: Option<i64>,
}

fn noun(row: Row) -> Result<Bath, Error> {
    let broken = || Error::broken("reading a bath", "a word of its row");
    let growth = row.growth_permille.zip(row.growth_every_milli);
    let of = NewBath {
        kind: Kind::from_word(&row.kind).ok_or_else(broken)?,
        label: row.label,
        place: Place::from_word(&row.place).ok_or_else(broken)?,
        material: Material::from_word(&row.material).ok_or_else(broken)?,
        way: Way::from_word(&row.way).ok_or_else(broken)?,
        product_id: row.product_id,
        water_parts: row.water_parts,
        volume_ul: row.volume_ul,
        least_ul: row.least_ul,
        capacity_milli: row.capacity_milli,
        fix_s: row.fix_s,
        mixed: Moment(row.mixed_s),
        mixed_by: row.mixed_by,
        keeps_days: row.keeps_days,
        half_keeps_days: row.half_keeps_days,
        growth: growth.map(|(permille, every_milli)| Growth { permille, every_milli }),
        replenish_ul: row.replenish_ul,
        promotions: row.promotions,
        replenisher: row.replenisher_id.map(|product| Replenisher {
            product,
            water_parts: row.replenisher_water.unwrap_or(0),
        }),
    };
    Ok(Bath { id: row.id, number: row.number, of, retired: row.retired_s.map(Moment) })
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &NewBath, number: i64) -> Result<i64, Error> {
    Ok(diesel::insert_into(baths::table)
        .values((
            (
                baths::kind.eq(new.kind.word()),
                baths::label.eq(&new.label),
                baths::volume_ul.eq(new.volume_ul),
                baths::capacity_milli.eq(new.capacity_milli),
                baths::fix_s.eq(new.fix_s),
                baths::mixed_s.eq(new.mixed.0),
                baths::keeps_days.eq(new.keeps_days),
                baths::number.eq(number),
                baths::place.eq(new.place.word()),
                baths::material.eq(new.material.word()),
                baths::way.eq(new.way.word()),
            ),
            (
                baths::product_id.eq(new.product_id),
                baths::water_parts.eq(new.water_parts),
                baths::least_ul.eq(new.least_ul),
                baths::half_keeps_days.eq(new.half_keeps_days),
                baths::growth_permille.eq(new.growth.map(|g| g.permille)),
                baths::growth_every_milli.eq(new.growth.map(|g| g.every_milli)),
                baths::replenish_ul.eq(new.replenish_ul),
                baths::promotions.eq(new.promotions),
                baths::replenisher_id.eq(new.replenisher.map(|r| r.product)),
                baths::replenisher_water.eq(new.replenisher.map(|r| r.water_parts)),
                baths::mixed_by.eq(new.mixed_by),
            ),
        ))
        .returning(baths::id)
        .get_result(tx.conn())?)
}

/// The number the next bath gets.
pub(super) fn next_number(conn: &mut Conn) -> Result<i64, Error> {
    let last: Option<i64> =
        baths::table.select(diesel::dsl::max(baths::number)).get_result(conn)?;
    Ok(last.unwrap_or(0) + 1)
}

pub(super) fn has_label(conn: &mut Conn, label: &str) -> Result<bool, Error> {
    let same = baths::table.filter(baths::label.eq(label));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Bath, Error> {
    noun(baths::table.find(id).select(Row::as_select()).get_result(conn)?)
}

pub(super) fn active(conn: &mut Conn) -> Result<Vec<Bath>, Error> {
    let rows: Vec<Row> = baths::table
        .filter(baths::retired_s.is_null())
        .order(baths::id)
        .select(Row::as_select())
        .load(conn)?;
    rows.into_iter().map(noun).collect()
}

/// The baths retired last, a page of them.
pub(super) fn retired(conn: &mut Conn, skip: i64, take: i64) -> Result<Vec<Bath>, Error> {
    let rows: Vec<Row> = baths::table
        .filter(baths::retired_s.is_not_null())
        .order((baths::retired_s.desc(), baths::id.desc()))
        .offset(skip)
        .limit(take)
        .select(Row::as_select())
        .load(conn)?;
    rows.into_iter().map(noun).collect()
}

/// What baths took of film in a stretch of time, entry by entry.
pub(super) fn taken_within(conn: &mut Conn, span: Span) -> Result<Vec<(Kind, i64)>, Error> {
    let rows: Vec<(String, i64)> = bath_entries::table
        .inner_join(baths::table.on(baths::id.eq(bath_entries::bath_id)))
        .filter(bath_entries::at_s.ge(span.from.0))
        .filter(bath_entries::at_s.lt(span.to.0))
        .filter(
            bath_entries::kind
                .eq(EntryKind::Use.word())
                .or(bath_entries::kind.eq(EntryKind::Correction.word())),
        )
        .select((baths::kind, bath_entries::milli))
        .load(conn)?;
    let broken = || Error::broken("reading a bath's ledger", "its kind");
    rows.into_iter()
        .map(|(kind, milli)| Ok((Kind::from_word(&kind).ok_or_else(broken)?, milli)))
        .collect()
}

/// The baths with all these words in their label, the latest first.
pub(super) fn labelled(conn: &mut Conn, words: &[String], most: i64) -> Result<Vec<Bath>, Error> {
    let mut query = baths::table.order(baths::id.desc()).select(Row::as_select()).into_boxed();
    for word in words {
        query = query.filter(lower(baths::label).like(pattern(word)).escape('\\'));
    }
    query.limit(most).load::<Row>(conn)?.into_iter().map(noun).collect()
}

pub(super) fn update_place(
    tx: &mut Tx<'_>,
    bath: i64,
    place: Place,
    promotions: i64,
) -> Result<(), Error> {
    diesel::update(baths::table.find(bath))
        .set((baths::place.eq(place.word()), baths::promotions.eq(promotions)))
        .execute(tx.conn())?;
    Ok(())
}

/// Whether it was still in use.
pub(super) fn mark_retired(tx: &mut Tx<'_>, now: Moment, bath: i64) -> Result<bool, Error> {
    let active = baths::table.filter(baths::id.eq(bath)).filter(baths::retired_s.is_null());
    let rows = diesel::update(active).set(baths::retired_s.eq(now.0)).execute(tx.conn())?;
    Ok(rows == 1)
}

pub(super) fn has_run(conn: &mut Conn, bath: i64, run: i64) -> Result<bool, Error> {
    let same = bath_entries::table
        .filter(bath_entries::bath_id.eq(bath))
        .filter(bath_entries::run_id.eq(run));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(super) fn add(tx: &mut Tx<'_>, bath: i64, entry: &Entry) -> Result<(), Error> {
    diesel::insert_into(bath_entries::table)
        .values((
            bath_entries::bath_id.eq(bath),
            bath_entries::at_s.eq(entry.at.0),
            bath_entries::by_id.eq(entry.by),
            bath_entries::kind.eq(entry.kind.word()),
            bath_entries::milli.eq(entry.milli),
            bath_entries::film_milli.eq(entry.film_milli),
            bath_entries::volume_ul.eq(entry.volume_ul),
            bath_entries::seconds.eq(entry.seconds),
            bath_entries::film.eq(&entry.film),
            bath_entries::temperature_mc.eq(entry.temperature_mc),
            bath_entries::pre_wet.eq(entry.pre_wet),
            bath_entries::passed.eq(entry.passed),
            bath_entries::run_id.eq(entry.run),
            bath_entries::corrects_id.eq(entry.corrects),
            bath_entries::note.eq(&entry.note),
        ))
        .execute(tx.conn())?;
    Ok(())
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = bath_entries)]
struct Line {
    id: i64,
    at_s: i64,
    by_id: Option<i64>,
    kind: String,
    milli: i64,
    film_milli: i64,
    volume_ul: i64,
    seconds: Option<i64>,
    film: String,
    temperature_mc: Option<i64>,
    pre_wet: bool,
    passed: Option<bool>,
    run_id: Option<i64>,
    corrects_id: Option<i64>,
    note: String,
}

fn entry(line: Line) -> Result<Entry, Error> {
    Ok(Entry {
        id: line.id,
        at: Moment(line.at_s),
        by: line.by_id,
        kind: EntryKind::from_word(&line.kind)
            .ok_or_else(|| Error::broken("reading a ledger", "the kind of an entry"))?,
        milli: line.milli,
        film_milli: line.film_milli,
        volume_ul: line.volume_ul,
        seconds: line.seconds,
        film: line.film,
        temperature_mc: line.temperature_mc,
        pre_wet: line.pre_wet,
        passed: line.passed,
        run: line.run_id,
        corrects: line.corrects_id,
        note: line.note,
    })
}

/// The ledger of a bath in the order in which it was written.
pub(super) fn entries(conn: &mut Conn, bath: i64) -> Result<Vec<Entry>, Error> {
    let lines: Vec<Line> = bath_entries::table
        .filter(bath_entries::bath_id.eq(bath))
        .order(bath_entries::id)
        .select(Line::as_select())
        .load(conn)?;
    lines.into_iter().map(entry).collect()
}

/// Clearing times measured on earlier baths of the same product at the same dilution; tests that
/// were corrected are left out.
pub(super) fn earlier_clearings(conn: &mut Conn, bath: &Bath) -> Result<Vec<Clearing>, Error> {
    let Some(product) = bath.product_id else { return Ok(Vec::new()) };
    let lines: Vec<(Line, Option<i64>)> = bath_entries::table
        .inner_join(baths::table.on(baths::id.eq(bath_entries::bath_id)))
        .filter(baths::product_id.eq(product))
        .filter(baths::id.lt(bath.id))
        .filter(
            bath_entries::kind.eq_any([EntryKind::ClipTest.word(), EntryKind::Correction.word()]),
        )
        .order(bath_entries::id.desc())
        .limit(200)
        .select((Line::as_select(), baths::water_parts))
        .load(conn)?;
    let alike = lines.into_iter().filter(|(_, water)| *water == bath.water_parts);
    let all: Vec<Entry> = alike.map(|(line, _)| entry(line)).collect::<Result<_, _>>()?;
    let kept = all.iter().filter(|e| !all.iter().any(|c| c.corrects == Some(e.id)));
    Ok(kept.filter_map(Clearing::of).collect())
}

//! How each film was developed, and how it came out.

use std::collections::BTreeMap;

use diesel::prelude::*;
use serde::{Deserialize, Serialize};

use super::words;
use crate::clock::Moment;
use crate::db::schema::{films, members, processing_records, result_notes, result_words, rolls};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::rolls::record::Processed;
use crate::rolls::rules::Look;

/// A bath as it was then, before this film went through it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct BathThen {
    /// What it is for, such as `Stop bath`; old records do not say.
    #[serde(default)]
    pub what: String,
    /// Its label, or in words what stood in its place, such as `Water`.
    pub label: String,
    /// Its state in words, such as `Good, 11.5 rolls' worth left`; empty where it has no ledger.
    pub state: String,
    /// How long film was in it, in seconds, where that is known.
    #[serde(default)]
    pub seconds: Option<i64>,
}

impl BathThen {
    /// Label, time and state in one line.
    #[must_use]
    pub fn in_words(&self) -> String {
        let time = self.seconds.map(|s| format!("{} min", crate::recipes::clock_of(s)));
        let state = Some(self.state.clone()).filter(|s| !s.is_empty());
        let after: Vec<String> = time.into_iter().chain(state).collect();
        if after.is_empty() {
            return self.label.clone();
        }
        format!("{}: {}", self.label, after.join("; "))
    }
}

/// What somebody noted of how it came out.
#[derive(Clone, Debug)]
pub struct ResultNote {
    /// When.
    pub at: Moment,
    /// Who.
    pub by: Option<String>,
    /// How it looks.
    pub look: Look,
    /// In words.
    pub note: String,
}

/// How a film was developed.
#[derive(Clone, Debug)]
pub struct Record {
    /// Its id.
    pub id: i64,
    /// The roll.
    pub roll_id: i64,
    /// Its ticket.
    pub ticket: String,
    /// Whose it is.
    pub member_id: i64,
    /// The film.
    pub film: String,
    /// The exposure index.
    pub ei: i64,
    /// Who did it.
    pub by: Option<String>,
    /// When.
    pub at: Moment,
    /// The rest, as it was told.
    pub told: Processed,
    /// How it came out.
    pub results: Vec<ResultNote>,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = processing_records)]
struct Row {
    id: i64,
    roll_id: i64,
    run_id: Option<i64>,
    recipe_id: Option<i64>,
    at_s: i64,
    ei: i64,
    developer: String,
    agitation: String,
    tank: String,
    place: Option<i64>,
    concentrate_ul: i64,
    water_ul: i64,
    planned_mc: i64,
    measured_mc: Option<i64>,
    planned_s: i64,
    actual_s: Option<i64>,
    baths: String,
    note: String,
}

type Full = (Row, String, i64, String, Option<String>);

fn noun((row, ticket, member_id, film, by): Full) -> Record {
    Record {
        id: row.id,
        roll_id: row.roll_id,
        ticket,
        member_id,
        film,
        ei: row.ei,
        by,
        at: Moment(row.at_s),
        told: Processed {
            roll_id: row.roll_id,
            run_id: row.run_id,
            recipe_id: row.recipe_id,
            developer: row.developer,
            agitation: row.agitation,
            tank: row.tank,
            place: row.place,
            concentrate_ul: row.concentrate_ul,
            water_ul: row.water_ul,
            planned_mc: row.planned_mc,
            measured_mc: row.measured_mc,
            planned_s: row.planned_s,
            actual_s: row.actual_s,
            // Written by us from the same type; an unreadable one is shown as none.
            baths: serde_json::from_str(&row.baths).unwrap_or_default(),
            note: row.note,
        },
        results: Vec::new(),
    }
}

pub(crate) fn is_recorded(conn: &mut Conn, roll: i64, run: i64) -> Result<bool, Error> {
    let same = processing_records::table
        .filter(processing_records::roll_id.eq(roll).and(processing_records::run_id.eq(run)));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(crate) fn insert_record(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    told: &Processed,
) -> Result<(), Error> {
    let (film, ei, format): (i64, i64, String) = rolls::table
        .find(told.roll_id)
        .select((rolls::film_id, rolls::ei, rolls::format))
        .get_result(tx.conn())?;
    let baths = serde_json::to_string(&told.baths).map_err(|e| Error::broken("baths", e))?;
    diesel::insert_into(processing_records::table)
        .values((
            processing_records::roll_id.eq(told.roll_id),
            processing_records::run_id.eq(told.run_id),
            processing_records::recipe_id.eq(told.recipe_id),
            processing_records::at_s.eq(now.0),
            processing_records::by_id.eq(by),
            processing_records::film_id.eq(film),
            processing_records::ei.eq(ei),
            processing_records::format.eq(format),
            processing_records::developer.eq(&told.developer),
            processing_records::agitation.eq(&told.agitation),
            processing_records::tank.eq(&told.tank),
            processing_records::place.eq(told.place),
            processing_records::concentrate_ul.eq(told.concentrate_ul),
            processing_records::water_ul.eq(told.water_ul),
            processing_records::planned_mc.eq(told.planned_mc),
            processing_records::measured_mc.eq(told.measured_mc),
            processing_records::planned_s.eq(told.planned_s),
            processing_records::actual_s.eq(told.actual_s),
            processing_records::baths.eq(baths),
            processing_records::note.eq(&told.note),
        ))
        .execute(tx.conn())?;
    words::keep(tx, told.roll_id, &told.developer)
}

/// What is looked for among the records.
#[derive(Clone, Debug, Default)]
pub(crate) struct Looked {
    pub(crate) film: Option<i64>,
    pub(crate) ei: Option<i64>,
    /// Words of the developer or of what was noted of the result, from their beginning.
    pub(crate) word: String,
    pub(crate) look: Option<Look>,
    /// Only what comes after this place: when, and its id.
    pub(crate) after: Option<(i64, i64)>,
    pub(crate) limit: i64,
}

macro_rules! full {
    () => {
        processing_records::table
            .inner_join(rolls::table.on(rolls::id.eq(processing_records::roll_id)))
            .inner_join(films::table.on(films::id.eq(processing_records::film_id)))
            .left_join(members::table.on(members::id.nullable().eq(processing_records::by_id)))
            .select((
                Row::as_select(),
                rolls::ticket,
                rolls::member_id,
                films::name,
                members::name.nullable(),
            ))
    };
}

/// The records that fit, the latest first.
pub(crate) fn records(conn: &mut Conn, looked: &Looked) -> Result<Vec<Record>, Error> {
    let latest_first = (processing_records::at_s.desc(), processing_records::id.desc());
    let mut query =
        processing_records::table.select(processing_records::id).order(latest_first).into_boxed();
    if let Some(film) = looked.film {
        query = query.filter(processing_records::film_id.eq(film));
    }
    if let Some(ei) = looked.ei {
        query = query.filter(processing_records::ei.eq(ei));
    }
    if let Some((at, id)) = looked.after {
        let earlier = processing_records::at_s
            .lt(at)
            .or(processing_records::at_s.eq(at).and(processing_records::id.lt(id)));
        query = query.filter(processing_records::at_s.le(at)).filter(earlier);
    }
    // Asked of each record in turn ("exists" would have PostgreSQL read all that was ever noted).
    let mut common = false;
    for word in words::beginnings(&looked.word) {
        let of_word = result_words::table
            .filter(result_words::roll_id.eq(processing_records::roll_id))
            .filter(result_words::word.ge(word.from.clone()))
            .filter(result_words::word.lt(word.to.clone()));
        query = match word.rolls(conn, FEW)? {
            Some(ids) => query.filter(processing_records::roll_id.eq_any(ids)),
            None => {
                common = true;
                query.filter(of_word.select(result_words::roll_id).single_value().is_not_null())
            }
        };
    }
    if let Some(look) = looked.look {
        let of_look = result_notes::table.filter(result_notes::look.eq(look.word()));
        // In the order of the index, so that PostgreSQL does not read all there is for the few.
        let by_key = of_look.order(result_notes::roll_id).select(result_notes::roll_id);
        let ids: Vec<i64> = by_key.limit(MOST_OF_FEW).load(conn)?;
        query = if ids.len() <= FEW {
            query.filter(processing_records::roll_id.eq_any(ids))
        } else {
            common = true;
            let here = result_notes::roll_id.eq(processing_records::roll_id);
            let of_look = of_look.filter(here).select(result_notes::roll_id);
            query.filter(of_look.single_value().is_not_null())
        };
    }
    if common && looked.film.is_none() {
        query = query.filter(processing_records::at_s.ge(latest_since(conn)?));
    }
    // Found by themselves first: what belongs to a record would only make the question longer to
    // think about.
    let ids: Vec<i64> = query.limit(looked.limit).load(conn)?;
    let rows: Vec<Full> =
        full!().filter(processing_records::id.eq_any(ids)).order(latest_first).load(conn)?;
    with_results(conn, rows)
}

/// What was written or noted of so many rolls only is found by keys, however long ago.
const FEW: usize = 500;
/// One more, which shows that there are more.
const MOST_OF_FEW: i64 = 501;

/// So many of the latest records are looked through for what is common, where no film is chosen;
/// all of a film's are, where one is.
const LATEST: i64 = 2000;

/// When the first of the latest records was written.
fn latest_since(conn: &mut Conn) -> Result<i64, Error> {
    let sorted = processing_records::table.order(processing_records::at_s.desc());
    let first = sorted.select(processing_records::at_s).offset(LATEST).first(conn).optional()?;
    Ok(first.unwrap_or(i64::MIN))
}

/// The records of one roll, the first first.
pub(crate) fn records_of(conn: &mut Conn, roll: i64) -> Result<Vec<Record>, Error> {
    let rows: Vec<Full> = full!()
        .filter(processing_records::roll_id.eq(roll))
        .order((processing_records::at_s, processing_records::id))
        .load(conn)?;
    with_results(conn, rows)
}

fn with_results(conn: &mut Conn, rows: Vec<Full>) -> Result<Vec<Record>, Error> {
    let mut records: Vec<Record> = rows.into_iter().map(noun).collect();
    let ids: Vec<i64> = records.iter().map(|r| r.roll_id).collect();
    let mut noted = notes(conn, &ids)?;
    for record in &mut records {
        record.results = noted.remove(&record.roll_id).unwrap_or_default();
    }
    Ok(records)
}

/// What was noted of these rolls, by roll.
pub(crate) fn notes(conn: &mut Conn, ids: &[i64]) -> Result<BTreeMap<i64, Vec<ResultNote>>, Error> {
    let rows: Vec<(i64, i64, String, String, Option<String>)> = result_notes::table
        .left_join(members::table.on(members::id.nullable().eq(result_notes::by_id)))
        .filter(result_notes::roll_id.eq_any(ids))
        .order((result_notes::at_s, result_notes::id))
        .select((
            result_notes::roll_id,
            result_notes::at_s,
            result_notes::look,
            result_notes::note,
            members::name.nullable(),
        ))
        .load(conn)?;
    let mut by_roll: BTreeMap<i64, Vec<ResultNote>> = BTreeMap::new();
    for (roll, at, look, note, by) in rows {
        let look = Look::from_word(&look).unwrap_or(Look::Other);
        by_roll.entry(roll).or_default().push(ResultNote { at: Moment(at), by, look, note });
    }
    Ok(by_roll)
}

pub(crate) fn insert_note(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    roll: i64,
    (look, note): (Look, &str),
) -> Result<(), Error> {
    diesel::insert_into(result_notes::table)
        .values((
            result_notes::roll_id.eq(roll),
            result_notes::at_s.eq(now.0),
            result_notes::by_id.eq(by),
            result_notes::look.eq(look.word()),
            result_notes::note.eq(note),
        ))
        .execute(tx.conn())?;
    words::keep(tx, roll, note)
}

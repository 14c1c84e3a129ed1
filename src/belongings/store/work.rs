//! A person's work at the sink: rolls and their way, own sessions, recipes, baths used.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;
use serde_json::{Value, json};

use crate::belongings::at;
use crate::clock::Zone;
use crate::db::Conn;
use crate::db::schema::{
    accepted_terms, bath_entries as used, day_plans, developers, drop_off_terms, films,
    own_runs as own, processing_records as records, recipes as chart, result_notes, roll_events,
    rolls as handed, runs,
};
use crate::error::Error;

type ByRoll = BTreeMap<i64, Vec<Value>>;

pub(in crate::belongings) fn rolls(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    type Row = (i64, String, String, String, i64, String, String, i64, Option<i64>);
    let rows: Vec<Row> = handed::table
        .inner_join(films::table.on(films::id.eq(handed::film_id)))
        .filter(handed::member_id.eq(member))
        .order((handed::handed_in_s, handed::id))
        .select((
            handed::id,
            handed::ticket,
            films::name,
            handed::format,
            handed::ei,
            handed::state,
            handed::note,
            handed::handed_in_s,
            handed::due_s,
        ))
        .load(conn)?;
    let mut way = steps(conn, zone, member)?;
    let mut seen = results(conn, zone, member)?;
    let mut done = developed(conn, zone, member)?;
    let told = |(id, ticket, film, format, ei, state, note, came, due): Row| {
        json!({"ticket": ticket, "film": film, "format": format, "exposure_index": ei, "state": state,
            "note": note, "handed_in": at(zone, Some(came)), "due": at(zone, due),
            "way": way.remove(&id).unwrap_or_default(), "developed": done.remove(&id).unwrap_or_default(),
            "results": seen.remove(&id).unwrap_or_default()})
    };
    Ok(rows.into_iter().map(told).collect())
}

fn steps(conn: &mut Conn, zone: Zone, member: i64) -> Result<ByRoll, Error> {
    let rows: Vec<(i64, i64, String, String)> = roll_events::table
        .inner_join(handed::table.on(handed::id.eq(roll_events::roll_id)))
        .filter(handed::member_id.eq(member))
        .order((roll_events::at_s, roll_events::id))
        .select((roll_events::roll_id, roll_events::at_s, roll_events::state, roll_events::note))
        .load(conn)?;
    let mut all = ByRoll::new();
    for (roll, s, state, note) in rows {
        let step = json!({"at": at(zone, Some(s)), "state": state, "note": note});
        all.entry(roll).or_default().push(step);
    }
    Ok(all)
}

/// How each film was developed.
fn developed(conn: &mut Conn, zone: Zone, member: i64) -> Result<ByRoll, Error> {
    type Words = (String, String, String, String, String);
    type Figures = (i64, i64, i64, Option<i64>, i64, Option<i64>);
    type Row = (i64, i64, Option<i64>, Option<i64>, Words, Figures);
    let rows: Vec<Row> = records::table
        .inner_join(handed::table.on(handed::id.eq(records::roll_id)))
        .filter(handed::member_id.eq(member))
        .order((records::at_s, records::id))
        .select((
            records::roll_id,
            records::at_s,
            records::recipe_id,
            records::place,
            (records::developer, records::agitation, records::tank, records::baths, records::note),
            (
                records::concentrate_ul,
                records::water_ul,
                records::planned_mc,
                records::measured_mc,
                records::planned_s,
                records::actual_s,
            ),
        ))
        .load(conn)?;
    let mut all = ByRoll::new();
    for (roll, s, recipe, place, words, figures) in rows {
        let (developer, agitation, tank, baths, note) = words;
        let (concentrate, water, planned_mc, measured_mc, planned_s, actual_s) = figures;
        let baths: Value = serde_json::from_str(&baths).unwrap_or_default();
        let record = json!({"at": at(zone, Some(s)), "recipe": recipe, "developer": developer,
            "agitation": agitation, "tank": tank, "place_from_the_bottom": place,
            "concentrate_microlitres": concentrate, "water_microlitres": water,
            "planned_thousandths_c": planned_mc, "measured_thousandths_c": measured_mc,
            "planned_seconds": planned_s, "seconds": actual_s, "baths": baths, "note": note});
        all.entry(roll).or_default().push(record);
    }
    Ok(all)
}

fn results(conn: &mut Conn, zone: Zone, member: i64) -> Result<ByRoll, Error> {
    let rows: Vec<(i64, i64, String, String)> = result_notes::table
        .inner_join(handed::table.on(handed::id.eq(result_notes::roll_id)))
        .filter(handed::member_id.eq(member).or(result_notes::by_id.eq(member)))
        .order((result_notes::at_s, result_notes::id))
        .select((result_notes::roll_id, result_notes::at_s, result_notes::look, result_notes::note))
        .load(conn)?;
    let mut all = ByRoll::new();
    for (roll, s, look, note) in rows {
        let result = json!({"at": at(zone, Some(s)), "look": look, "note": note});
        all.entry(roll).or_default().push(result);
    }
    Ok(all)
}

pub(in crate::belongings) fn terms(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<(i64, i64)> = accepted_terms::table
        .inner_join(drop_off_terms::table.on(drop_off_terms::id.eq(accepted_terms::terms_id)))
        .filter(accepted_terms::member_id.eq(member))
        .order(accepted_terms::at_s)
        .select((drop_off_terms::number, accepted_terms::at_s))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(n, s)| json!({"version": n, "accepted": at(zone, Some(s))}))
        .collect())
}

pub(in crate::belongings) fn own_runs(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<(NaiveDate, i64, i64, i64)> = own::table
        .inner_join(runs::table.on(runs::id.eq(own::run_id)))
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(own::member_id.eq(member))
        .order(own::id)
        .select((day_plans::date, runs::number, runs::from_s, runs::to_s))
        .load(conn)?;
    let told = |(date, run, from, to)| json!({"date": date, "run": run, "from": at(zone, Some(from)), "to": at(zone, Some(to))});
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn recipes(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    type Row = (String, i64, String, i64, i64, String, String, i64);
    let rows: Vec<Row> = chart::table
        .inner_join(films::table.on(films::id.eq(chart::film_id)))
        .inner_join(developers::table.on(developers::id.eq(chart::developer_id)))
        .filter(chart::entered_by.eq(member))
        .order((chart::entered_s, chart::id))
        .select((
            films::name,
            chart::ei,
            developers::name,
            chart::temperature_mc,
            chart::time_s,
            chart::source,
            chart::state,
            chart::entered_s,
        ))
        .load(conn)?;
    let told = |(film, ei, developer, mc, seconds, source, state, s): Row| {
        json!({"film": film, "exposure_index": ei, "developer": developer,
            "temperature_thousandths_c": mc, "seconds": seconds, "source": source, "state": state,
            "entered": at(zone, Some(s))})
    };
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn bath_entries(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<(i64, i64, String, i64, String)> = used::table
        .filter(used::by_id.eq(member))
        .order((used::at_s, used::id))
        .select((used::bath_id, used::at_s, used::kind, used::milli, used::note))
        .load(conn)?;
    let told = |(bath, s, kind, milli, note): (i64, i64, String, i64, String)| {
        json!({"bath": bath, "at": at(zone, Some(s)), "kind": kind,
            "thousandths_of_a_roll_equivalent": milli, "note": note})
    };
    Ok(rows.into_iter().map(told).collect())
}

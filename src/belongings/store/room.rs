//! A person's time in the building: bookings, wishes, visits, duties.

use chrono::NaiveDate;
use diesel::prelude::*;
use serde_json::{Value, json};

use crate::belongings::at;
use crate::clock::Zone;
use crate::db::Conn;
use crate::db::schema::{
    arrivals, bookings as booked, closings as closed, duties as duty, feeds, no_shows as missed,
    series as recurring, sinks, visits as visited, wall_names, wishes as wished,
};
use crate::error::Error;

pub(in crate::belongings) fn bookings(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    type Row = (String, i64, i64, String, String, String, i64, Option<i64>);
    let rows: Vec<Row> = booked::table
        .inner_join(sinks::table.on(sinks::id.eq(booked::sink_id)))
        .left_join(arrivals::table.on(arrivals::booking_id.eq(booked::id)))
        .filter(booked::member_id.eq(member))
        .order((booked::from_s, booked::id))
        .select((
            sinks::name,
            booked::from_s,
            booked::to_s,
            booked::light,
            booked::state,
            booked::note,
            booked::created_s,
            arrivals::at_s.nullable(),
        ))
        .load(conn)?;
    let told = |(sink, from, to, light, state, note, made, came): Row| {
        json!({"sink": sink, "from": at(zone, Some(from)), "to": at(zone, Some(to)), "light": light,
            "state": state, "note": note, "made": at(zone, Some(made)), "arrived": at(zone, came)})
    };
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn no_shows(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<i64> = missed::table
        .filter(missed::member_id.eq(member))
        .order((missed::at_s, missed::id))
        .select(missed::at_s)
        .load(conn)?;
    Ok(rows.into_iter().map(|s| json!({"given_back": at(zone, Some(s))})).collect())
}

pub(in crate::belongings) fn wishes(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    type Row = (NaiveDate, String, String, i64, String, i64);
    let rows: Vec<Row> = wished::table
        .filter(wished::member_id.eq(member))
        .order((wished::made_s, wished::id))
        .select((
            wished::date,
            wished::from_wall,
            wished::to_wall,
            wished::length_min,
            wished::state,
            wished::made_s,
        ))
        .load(conn)?;
    let told = |(date, from, to, minutes, state, made): Row| {
        json!({"date": date, "from": from, "to": to, "minutes": minutes, "state": state,
            "made": at(zone, Some(made))})
    };
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn duties(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<(i64, i64, String)> = duty::table
        .filter(duty::member_id.eq(member))
        .order((duty::from_s, duty::id))
        .select((duty::from_s, duty::to_s, duty::note))
        .load(conn)?;
    let told = |(from, to, note)| json!({"from": at(zone, Some(from)), "to": at(zone, Some(to)), "note": note});
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn series(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    type Row = (String, NaiveDate, String, String, String, i64);
    let rows: Vec<Row> = recurring::table
        .filter(recurring::member_id.eq(member))
        .order((recurring::made_s, recurring::id))
        .select((
            recurring::title,
            recurring::first_date,
            recurring::from_wall,
            recurring::to_wall,
            recurring::rule,
            recurring::made_s,
        ))
        .load(conn)?;
    let told = |(title, first, from, to, rule, made): Row| {
        json!({"title": title, "first": first, "from": from, "to": to, "rule": rule,
            "made": at(zone, Some(made))})
    };
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn visits(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<(i64, Option<i64>)> = visited::table
        .filter(visited::member_id.eq(member))
        .order((visited::in_s, visited::id))
        .select((visited::in_s, visited::out_s))
        .load(conn)?;
    let told = |(came, left)| json!({"came": at(zone, Some(came)), "left": at(zone, left)});
    Ok(rows.into_iter().map(told).collect())
}

pub(in crate::belongings) fn closings(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Vec<Value>, Error> {
    let rows: Vec<(i64, String)> = closed::table
        .filter(closed::member_id.eq(member))
        .order((closed::at_s, closed::id))
        .select((closed::at_s, closed::note))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(s, note)| json!({"signed": at(zone, Some(s)), "note": note}))
        .collect())
}

pub(in crate::belongings) fn wall_name(
    conn: &mut Conn,
    member: i64,
) -> Result<Option<String>, Error> {
    Ok(wall_names::table
        .filter(wall_names::member_id.eq(member))
        .select(wall_names::shows)
        .first(conn)
        .optional()?)
}

pub(in crate::belongings) fn feed(
    conn: &mut Conn,
    zone: Zone,
    member: i64,
) -> Result<Option<String>, Error> {
    let made: Option<i64> = feeds::table
        .filter(feeds::member_id.eq(member))
        .order(feeds::made_s.desc())
        .select(feeds::made_s)
        .first(conn)
        .optional()?;
    Ok(at(zone, made))
}

use diesel::prelude::*;
use diesel::result::{DatabaseErrorKind as Fault, Error as Diesel};

use super::rules::{Poured, Rule, Waste};
use super::{Container, LogLine, NewContainer, Pour};
use crate::clock::Moment;
use crate::db::schema::{members, waste_containers, waste_log, waste_rules};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// The kind of a log line that empties its container.
const PICKED_UP: &str = "picked_up";

type Row = (i64, String, String, i64, String, String, i64);

fn container(
    (id, name, accepts, holds_ul, contact, note, version): Row,
) -> Result<Container, Error> {
    let accepts = Waste::from_word(&accepts)
        .ok_or_else(|| Error::broken("reading a waste container", "what it accepts"))?;
    Ok(Container { id, of: NewContainer { name, accepts, holds_ul, contact, note }, version })
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &NewContainer) -> Result<i64, Error> {
    diesel::insert_into(waste_containers::table)
        .values((
            waste_containers::name.eq(&new.name),
            waste_containers::accepts.eq(new.accepts.word()),
            waste_containers::holds_ul.eq(new.holds_ul),
            waste_containers::contact.eq(&new.contact),
            waste_containers::note.eq(&new.note),
            waste_containers::version.eq(1),
        ))
        .returning(waste_containers::id)
        .get_result(tx.conn())
        .map_err(|e| match e {
            Diesel::DatabaseError(Fault::UniqueViolation, _) => {
                Error::field("name", "There is a container of that name already; choose another.")
            }
            other => other.into(),
        })
}

pub(super) fn all(conn: &mut Conn) -> Result<Vec<Container>, Error> {
    let rows: Vec<Row> = waste_containers::table
        .order((waste_containers::accepts, waste_containers::name))
        .load(conn)?;
    rows.into_iter().map(container).collect()
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Container, Error> {
    container(waste_containers::table.find(id).get_result(conn)?)
}

pub(super) fn poured(conn: &mut Conn, container: i64) -> Result<Vec<Poured>, Error> {
    let rows: Vec<(i64, String, i64, i64, i64)> = waste_log::table
        .filter(waste_log::container_id.eq(container))
        .order(waste_log::id)
        .select((
            waste_log::at_s,
            waste_log::kind,
            waste_log::volume_ul,
            waste_log::silver_least_mg,
            waste_log::silver_most_mg,
        ))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(at_s, kind, volume_ul, least, most)| Poured {
            at_s,
            picked_up: kind == PICKED_UP,
            volume_ul,
            silver_mg: (least, most),
        })
        .collect())
}

pub(super) fn add(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    p: &Pour,
) -> Result<(), Error> {
    let kind = p.waste.map_or(PICKED_UP, Waste::word);
    diesel::insert_into(waste_log::table)
        .values((
            waste_log::container_id.eq(p.container),
            waste_log::at_s.eq(now.0),
            waste_log::by_id.eq(by),
            waste_log::kind.eq(kind),
            waste_log::what.eq(&p.what),
            waste_log::bath_id.eq(p.bath),
            waste_log::volume_ul.eq(p.volume_ul),
            waste_log::silver_least_mg.eq(p.silver_mg.0),
            waste_log::silver_most_mg.eq(p.silver_mg.1),
            waste_log::assumed.eq(&p.assumed),
            waste_log::note.eq(&p.note),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The log of one container or of all, the latest first.
pub(super) fn log(
    conn: &mut Conn,
    container: Option<i64>,
    most: i64,
) -> Result<Vec<LogLine>, Error> {
    type Line =
        (i64, String, String, String, i64, (i64, i64, String), Option<String>, String, Option<i64>);
    let mut query = waste_log::table
        .inner_join(waste_containers::table.on(waste_containers::id.eq(waste_log::container_id)))
        .left_join(members::table.on(members::id.nullable().eq(waste_log::by_id)))
        .order(waste_log::id.desc())
        .select((
            waste_log::at_s,
            waste_containers::name,
            waste_log::kind,
            waste_log::what,
            waste_log::volume_ul,
            (waste_log::silver_least_mg, waste_log::silver_most_mg, waste_log::assumed),
            members::name.nullable(),
            waste_log::note,
            waste_log::bath_id,
        ))
        .into_boxed();
    if let Some(container) = container {
        query = query.filter(waste_log::container_id.eq(container));
    }
    let rows: Vec<Line> = query.limit(most).load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(at, container, kind, what, volume_ul, (least, most, assumed), by, note, bath)| {
            LogLine {
                at: Moment(at),
                container,
                waste: Waste::from_word(&kind),
                what,
                volume_ul,
                silver_mg: (least, most),
                assumed,
                by,
                note,
                bath,
            }
        })
        .collect())
}

pub(super) fn insert_rule(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    rule: &Rule,
) -> Result<(), Error> {
    diesel::insert_into(waste_rules::table)
        .values((
            waste_rules::kind.eq(rule.waste.word()),
            waste_rules::rule.eq(&rule.rule),
            waste_rules::authority.eq(&rule.authority),
            waste_rules::dated.eq(rule.dated),
            waste_rules::by_id.eq(by),
            waste_rules::at_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The latest rule of each kind.
pub(super) fn rules(conn: &mut Conn) -> Result<Vec<Rule>, Error> {
    let rows: Vec<(String, String, String, chrono::NaiveDate)> = waste_rules::table
        .order(waste_rules::id.desc())
        .select((waste_rules::kind, waste_rules::rule, waste_rules::authority, waste_rules::dated))
        .load(conn)?;
    let mut latest: Vec<Rule> = Vec::new();
    for (kind, rule, authority, dated) in rows {
        let Some(waste) = Waste::from_word(&kind) else { continue };
        if !latest.iter().any(|r| r.waste == waste) {
            latest.push(Rule { waste, rule, authority, dated });
        }
    }
    Ok(latest)
}

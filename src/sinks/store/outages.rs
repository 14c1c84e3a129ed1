//! Outages as rows.

use diesel::prelude::*;

use super::{HoldRow, delete_holds, holds_of_outage, insert_row};
use crate::clock::{Moment, Span};
use crate::db::schema::outages;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::{Kind, Outage, Why};

type OutageRow = (i64, String, i64, i64, i64, i64, String);

fn outage_of((id, kind, of_id, count, from, to, reason): OutageRow) -> Option<Outage> {
    let span = Span { from: Moment(from), to: Moment(to) };
    Some(Outage { id, kind: Kind::from_word(&kind)?, of_id, count, span, reason })
}

macro_rules! outage_columns {
    () => {
        (
            outages::id,
            outages::kind,
            outages::of_id,
            outages::count,
            outages::from_s,
            outages::to_s,
            outages::reason,
        )
    };
}

pub(in crate::sinks) fn outages(conn: &mut Conn, now: Moment) -> Result<Vec<Outage>, Error> {
    let rows: Vec<OutageRow> = outages::table
        .filter(outages::to_s.gt(now.0))
        .order((outages::from_s, outages::id))
        .select(outage_columns!())
        .load(conn)?;
    Ok(rows.into_iter().filter_map(outage_of).collect())
}

pub(in crate::sinks) fn outage(conn: &mut Conn, id: i64) -> Result<Outage, Error> {
    let row: OutageRow = outages::table.find(id).select(outage_columns!()).get_result(conn)?;
    outage_of(row).ok_or(Error::NotFound)
}

pub(in crate::sinks) fn insert_outage(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    o: &Outage,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(outages::table)
        .values((
            outages::kind.eq(o.kind.word()),
            outages::of_id.eq(o.of_id),
            outages::count.eq(o.count),
            outages::from_s.eq(o.span.from.0),
            outages::to_s.eq(o.span.to.0),
            outages::reason.eq(&o.reason),
            outages::made_s.eq(now.0),
            outages::made_by.eq(by),
        ))
        .returning(outages::id)
        .get_result(tx.conn())?)
}

/// Holds never change: those of an outage that has begun are made again, shorter.
pub(in crate::sinks) fn end_outage(
    tx: &mut Tx<'_>,
    now: Moment,
    outage: &Outage,
) -> Result<(), Error> {
    let held = holds_of_outage(tx, outage.id)?;
    delete_holds(tx, Why::Outage(outage.id))?;
    if outage.span.from >= now {
        diesel::delete(outages::table.find(outage.id)).execute(tx.conn())?;
        return Ok(());
    }
    for hold in held {
        let span = Span { to: now, ..hold.span };
        insert_row(tx, &HoldRow { span, ..hold.clone() }, hold.unit)?;
    }
    diesel::update(outages::table.find(outage.id))
        .set(outages::to_s.eq(now.0))
        .execute(tx.conn())?;
    Ok(())
}

/// Why each of these is out of service.
pub(in crate::sinks) fn outage_reasons(
    conn: &mut Conn,
    ids: &[i64],
) -> Result<Vec<(i64, String)>, Error> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let some = outages::table.filter(outages::id.eq_any(ids));
    Ok(some.select((outages::id, outages::reason)).load(conn)?)
}

use std::collections::BTreeMap;

use diesel::prelude::*;

use super::rules::{BathCost, Draw, Facts, Film, Use};
use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::db::schema::{bath_entries, baths, draws, rolls, run_rolls};
use crate::error::Error;
use crate::rolls::Format;

/// Everything a stretch of time is reckoned from.
pub(super) fn facts(conn: &mut Conn, span: Span) -> Result<Facts, Error> {
    let draws = drawn(conn, span)?;
    let uses = uses(conn, span)?;
    let mut runs: Vec<i64> = draws.iter().filter_map(|d| d.run).collect();
    runs.extend(uses.iter().filter_map(|u| u.run));
    let of: Vec<i64> = uses.iter().map(|u| u.bath).collect();
    Ok(Facts { films: films(conn, &runs)?, baths: bath_costs(conn, &of)?, draws, uses })
}

fn drawn(conn: &mut Conn, span: Span) -> Result<Vec<Draw>, Error> {
    let rows: Vec<(i64, Option<i64>, Option<i64>, i64)> = draws::table
        .filter(draws::at_s.ge(span.from.0))
        .filter(draws::at_s.lt(span.to.0))
        .order(draws::id)
        .select((draws::at_s, draws::run_id, draws::bath_id, draws::cost))
        .load(conn)?;
    let draw = |(at, run, bath, cost)| Draw { at: Moment(at), run, bath, cost };
    Ok(rows.into_iter().map(draw).collect())
}

type Entry = (i64, i64, i64, String, i64, Option<i64>, Option<i64>, Option<i64>, String);

/// The uses of that time; a correction belongs to whom the entry it corrects belongs.
fn uses(conn: &mut Conn, span: Span) -> Result<Vec<Use>, Error> {
    let columns = (
        bath_entries::id,
        bath_entries::at_s,
        bath_entries::bath_id,
        bath_entries::kind,
        bath_entries::milli,
        bath_entries::run_id,
        bath_entries::by_id,
        bath_entries::corrects_id,
        bath_entries::note,
    );
    let rows: Vec<Entry> = bath_entries::table
        .filter(bath_entries::at_s.ge(span.from.0))
        .filter(bath_entries::at_s.lt(span.to.0))
        .filter(bath_entries::kind.eq_any(["use", "correction"]))
        .filter(bath_entries::milli.ne(0))
        .order(bath_entries::id)
        .select(columns)
        .load(conn)?;
    let named: Vec<i64> = rows.iter().filter_map(|r| r.7).collect();
    let corrected: Vec<Entry> =
        bath_entries::table.filter(bath_entries::id.eq_any(&named)).select(columns).load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(_, at, bath, _, milli, run, by, corrects, note)| {
            let wrong = corrects.and_then(|id| corrected.iter().find(|c| c.0 == id));
            let (run, by) = wrong.map_or((run, by), |w| (w.5, w.6));
            Use { at: Moment(at), bath, run, by, milli, note }
        })
        .collect())
}

fn bath_costs(conn: &mut Conn, of: &[i64]) -> Result<BTreeMap<i64, BathCost>, Error> {
    let capacities: Vec<(i64, i64)> = baths::table
        .filter(baths::id.eq_any(of))
        .select((baths::id, baths::capacity_milli))
        .load(conn)?;
    let mut all: BTreeMap<i64, BathCost> = capacities
        .into_iter()
        .map(|(id, capacity_milli)| (id, BathCost { capacity_milli, ..BathCost::default() }))
        .collect();
    let costs: Vec<(Option<i64>, i64)> = draws::table
        .filter(draws::bath_id.eq_any(of))
        .select((draws::bath_id, draws::cost))
        .load(conn)?;
    for (bath, cost) in costs {
        if let Some(known) = bath.and_then(|b| all.get_mut(&b)) {
            known.cost = known.cost.saturating_add(cost);
        }
    }
    let taken: Vec<(i64, i64)> = bath_entries::table
        .filter(bath_entries::bath_id.eq_any(of))
        .filter(bath_entries::kind.eq_any(["use", "correction"]))
        .select((bath_entries::bath_id, bath_entries::milli))
        .load(conn)?;
    for (bath, milli) in taken {
        if let Some(known) = all.get_mut(&bath) {
            known.taken_milli = known.taken_milli.saturating_add(milli);
        }
    }
    Ok(all)
}

fn films(conn: &mut Conn, runs: &[i64]) -> Result<BTreeMap<i64, Vec<Film>>, Error> {
    let rows: Vec<(i64, i64, String, String, Option<i64>)> = run_rolls::table
        .inner_join(rolls::table.on(rolls::id.eq(run_rolls::roll_id)))
        .filter(run_rolls::run_id.eq_any(runs))
        .order((run_rolls::run_id, run_rolls::place))
        .select((run_rolls::run_id, rolls::member_id, rolls::ticket, rolls::format, rolls::sheets))
        .load(conn)?;
    let mut all: BTreeMap<i64, Vec<Film>> = BTreeMap::new();
    for (run, owner, ticket, format, sheets) in rows {
        let milli = Format::named(&format).map_or(1000, |f| f.of_sheets(sheets).milli);
        all.entry(run).or_default().push(Film { owner, ticket, milli });
    }
    Ok(all)
}

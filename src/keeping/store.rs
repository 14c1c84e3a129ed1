use diesel::prelude::*;

use super::{Keeping, Line, Search};
use crate::clock::Moment;
use crate::db::like::{lower, pattern};
use crate::db::schema::{keeping, members, trail};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) fn load(conn: &mut Conn) -> Result<Keeping, Error> {
    let (trail_days, letters_days, holds_days, leads_second_factor, version) = keeping::table
        .find(1)
        .select((
            keeping::trail_days,
            keeping::letters_days,
            keeping::holds_days,
            keeping::leads_second_factor,
            keeping::version,
        ))
        .get_result(conn)?;
    Ok(Keeping { trail_days, letters_days, holds_days, leads_second_factor, version })
}

pub(super) fn update(tx: &mut Tx<'_>, to: &Keeping) -> Result<bool, Error> {
    let same = keeping::table.filter(keeping::id.eq(1)).filter(keeping::version.eq(to.version));
    let rows = diesel::update(same)
        .set((
            keeping::trail_days.eq(to.trail_days),
            keeping::letters_days.eq(to.letters_days),
            keeping::holds_days.eq(to.holds_days),
            keeping::leads_second_factor.eq(to.leads_second_factor),
            keeping::version.eq(keeping::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = trail)]
struct Row {
    id: i64,
    at_s: i64,
    actor_id: Option<i64>,
    via: String,
    door: String,
    thing: String,
    owner_id: Option<i64>,
    only_tried: bool,
}

/// The lines that fit, the latest first.
pub(super) fn found(conn: &mut Conn, search: &Search) -> Result<Vec<Line>, Error> {
    let mut query = trail::table
        .order(trail::id.desc())
        .limit(search.limit)
        .select(Row::as_select())
        .into_boxed();
    if let Some(people) = &search.people {
        let (acted, owned) = (people.clone(), people.clone());
        query = query.filter(trail::actor_id.eq_any(acted).or(trail::owner_id.eq_any(owned)));
    }
    if let Some(from) = search.from {
        query = query.filter(trail::at_s.ge(from.0));
    }
    if let Some(to) = search.to {
        query = query.filter(trail::at_s.lt(to.0));
    }
    if !search.door.is_empty() {
        query = query.filter(lower(trail::door).like(pattern(&search.door)).escape('\\'));
    }
    if let Some(before) = search.before {
        query = query.filter(trail::id.lt(before));
    }
    let rows: Vec<Row> = query.load(conn)?;
    Ok(rows
        .into_iter()
        .map(|r| Line {
            id: r.id,
            at: Moment(r.at_s),
            actor: r.actor_id,
            via: r.via,
            door: r.door,
            thing: r.thing,
            owner: r.owner_id,
            only_tried: r.only_tried,
        })
        .collect())
}

/// The members whose name holds this text, or whose address or number it is.
pub(super) fn people_like(conn: &mut Conn, typed: &str) -> Result<Vec<i64>, Error> {
    let number = typed.parse::<i64>().unwrap_or(-1);
    let address = typed.to_lowercase();
    let like = lower(members::name).like(pattern(typed)).escape('\\');
    Ok(members::table
        .filter(like.or(members::id.eq(number)))
        .or_filter(members::email_key.eq(address))
        .select(members::id)
        .limit(500)
        .load(conn)?)
}

use std::collections::BTreeMap;

use diesel::prelude::*;

use super::{Email, Member, NewMember, State};
use crate::clock::{Moment, Zone};
use crate::db::schema::members;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::{DayOrder, Role, Taste};

#[derive(Queryable, Selectable)]
#[diesel(table_name = members)]
struct Row {
    id: i64,
    name: String,
    email: Option<String>,
    role: String,
    state: String,
    verified_s: Option<i64>,
    time_zone: Option<String>,
    day_order: String,
    hours_24: bool,
    us_units: bool,
    note: String,
    created_s: i64,
    version: i64,
}

impl Row {
    fn noun(self) -> Result<Member, Error> {
        let unknown = |what| Error::broken("reading a member", format!("unknown {what}"));
        Ok(Member {
            role: Role::from_word(&self.role).ok_or_else(|| unknown("role"))?,
            state: State::from_word(&self.state).ok_or_else(|| unknown("state"))?,
            taste: Taste {
                zone: self.time_zone.as_deref().and_then(Zone::named),
                day_order: DayOrder::from_word(&self.day_order),
                hours_24: self.hours_24,
                us_units: self.us_units,
            },
            id: self.id,
            name: self.name,
            email: self.email,
            verified: self.verified_s.map(Moment),
            note: self.note,
            created: Moment(self.created_s),
            version: self.version,
        })
    }
}

pub(super) fn by_id(conn: &mut Conn, id: i64) -> Result<Member, Error> {
    let row: Row = members::table.find(id).select(Row::as_select()).get_result(conn)?;
    row.noun()
}

pub(super) fn by_key(conn: &mut Conn, key: &str) -> Result<Option<Member>, Error> {
    let row: Option<Row> = members::table
        .filter(members::email_key.eq(key))
        .select(Row::as_select())
        .get_result(conn)
        .optional()?;
    row.map(Row::noun).transpose()
}

/// Who signs in with this address, and what is kept of their password.
pub(super) fn login(conn: &mut Conn, key: &str) -> Result<Option<(i64, Option<String>)>, Error> {
    let can = [State::Active.word(), State::Paused.word()];
    Ok(members::table
        .filter(members::email_key.eq(key))
        .filter(members::state.eq_any(can))
        .select((members::id, members::password_hash))
        .get_result(conn)
        .optional()?)
}

pub(super) fn is_empty(conn: &mut Conn) -> Result<bool, Error> {
    let any = diesel::select(diesel::dsl::exists(members::table.select(members::id)));
    let any: bool = any.get_result(conn)?;
    Ok(!any)
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    new: &NewMember,
    email: &Email,
    state: State,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(members::table)
        .values((
            members::name.eq(&new.name),
            members::email.eq(email.shown()),
            members::email_key.eq(email.key()),
            members::password_hash.eq(new.password_hash.as_deref()),
            members::role.eq(new.role.word()),
            members::state.eq(state.word()),
            members::verified_s.eq(new.verified.then_some(now.0)),
            members::day_order.eq(DayOrder::DayMonth.word()),
            members::hours_24.eq(true),
            members::us_units.eq(false),
            members::note.eq(""),
            members::created_s.eq(now.0),
            members::version.eq(1),
        ))
        .returning(members::id)
        .get_result(tx.conn())?)
}

/// Keeps a password in another way; nothing about the member changed.
pub(super) fn keep_hash(tx: &mut Tx<'_>, id: i64, hash: &str) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set(members::password_hash.eq(hash))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_password(tx: &mut Tx<'_>, id: i64, hash: &str) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set((members::password_hash.eq(hash), members::version.eq(members::version + 1)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_state(tx: &mut Tx<'_>, id: i64, state: State) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set((members::state.eq(state.word()), members::version.eq(members::version + 1)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_role(tx: &mut Tx<'_>, id: i64, role: Role) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set((members::role.eq(role.word()), members::version.eq(members::version + 1)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_note(tx: &mut Tx<'_>, id: i64, note: &str) -> Result<(), Error> {
    diesel::update(members::table.find(id)).set(members::note.eq(note)).execute(tx.conn())?;
    Ok(())
}

/// An invited person comes in: their address is proven by the letter they came from.
pub(super) fn come_in(
    tx: &mut Tx<'_>,
    now: Moment,
    id: i64,
    (name, hash): (&str, &str),
) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set((
            members::name.eq(name),
            members::password_hash.eq(hash),
            members::verified_s.eq(now.0),
            members::state.eq(State::Active.word()),
            members::version.eq(members::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_email(tx: &mut Tx<'_>, now: Moment, id: i64, email: &Email) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set((
            members::email.eq(email.shown()),
            members::email_key.eq(email.key()),
            members::verified_s.eq(now.0),
            members::version.eq(members::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Whether the member was still of the version the change was made from.
pub(super) fn set_own(
    tx: &mut Tx<'_>,
    id: i64,
    version: i64,
    (name, taste): (&str, &Taste),
) -> Result<bool, Error> {
    let same = members::table.filter(members::id.eq(id)).filter(members::version.eq(version));
    let rows = diesel::update(same)
        .set((
            members::name.eq(name),
            members::time_zone.eq(taste.zone.map(|z| z.name())),
            members::day_order.eq(taste.day_order.word()),
            members::hours_24.eq(taste.hours_24),
            members::us_units.eq(taste.us_units),
            members::version.eq(members::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

/// Takes everything out of a member's row by which they could be known or come in.
pub(super) fn erase(tx: &mut Tx<'_>, now: Moment, id: i64, name: &str) -> Result<(), Error> {
    diesel::update(members::table.find(id))
        .set((
            members::name.eq(name),
            members::email.eq(None::<String>),
            members::email_key.eq(None::<String>),
            members::password_hash.eq(None::<String>),
            members::time_zone.eq(None::<String>),
            members::note.eq(""),
            members::state.eq(State::Left.word()),
            members::left_s.eq(now.0),
            members::version.eq(members::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Active leads, in the order of their coming.
pub(super) fn leads(conn: &mut Conn) -> Result<Vec<Member>, Error> {
    let rows: Vec<Row> = members::table
        .filter(members::role.eq(Role::Lead.word()))
        .filter(members::state.eq(State::Active.word()))
        .order(members::id)
        .select(Row::as_select())
        .load(conn)?;
    rows.into_iter().map(Row::noun).collect()
}

pub(super) fn names(conn: &mut Conn, ids: &[i64]) -> Result<BTreeMap<i64, String>, Error> {
    let mut found = BTreeMap::new();
    // SQLite takes 32,766 values in one statement.
    for some in ids.chunks(10_000) {
        let rows: Vec<(i64, String)> = members::table
            .filter(members::id.eq_any(some))
            .select((members::id, members::name))
            .load(conn)?;
        found.extend(rows);
    }
    Ok(found)
}

/// Everybody who has not left, by name.
pub(super) fn present(conn: &mut Conn) -> Result<Vec<Member>, Error> {
    let rows: Vec<Row> = members::table
        .filter(members::state.ne(State::Left.word()))
        .order((members::name, members::id))
        .select(Row::as_select())
        .load(conn)?;
    rows.into_iter().map(Row::noun).collect()
}

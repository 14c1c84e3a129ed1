use diesel::prelude::*;

use super::rules::{NewRoll, State};
use crate::clock::Moment;
use crate::db::schema::{films, members, roll_events, rolls};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A roll with what is usually shown of it.
#[derive(Clone, Debug)]
pub struct Roll {
    /// Its id.
    pub id: i64,
    /// Its ticket.
    pub ticket: String,
    /// Whose it is.
    pub member_id: i64,
    /// Their name.
    pub member_name: String,
    /// The film's id.
    pub film_id: i64,
    /// The film's name.
    pub film: String,
    /// Whether it loads a fixer more.
    pub tabular: bool,
    /// Its format.
    pub format: String,
    /// The exposure index it was shot at.
    pub ei: i64,
    /// The recipe its owner wants.
    pub recipe_id: Option<i64>,
    /// Where it is.
    pub state: State,
    /// Its owner's note.
    pub note: String,
    /// When its owner needs it.
    pub due: Option<Moment>,
    /// When it was handed in.
    pub handed_in: Moment,
}

/// One step of a roll's way.
#[derive(Clone, Debug)]
pub struct Event {
    /// When.
    pub at: Moment,
    /// What it became.
    pub state: State,
    /// Anything noted.
    pub note: String,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = rolls)]
struct Row {
    id: i64,
    ticket: String,
    member_id: i64,
    film_id: i64,
    format: String,
    ei: i64,
    recipe_id: Option<i64>,
    state: String,
    note: String,
    due_s: Option<i64>,
    handed_in_s: i64,
}

fn noun((row, member_name, film, tabular): (Row, String, String, bool)) -> Result<Roll, Error> {
    let state =
        State::from_word(&row.state).ok_or_else(|| Error::broken("reading a roll", "state"))?;
    Ok(Roll {
        id: row.id,
        ticket: row.ticket,
        member_id: row.member_id,
        member_name,
        film_id: row.film_id,
        film,
        tabular,
        format: row.format,
        ei: row.ei,
        recipe_id: row.recipe_id,
        state,
        note: row.note,
        due: row.due_s.map(Moment),
        handed_in: Moment(row.handed_in_s),
    })
}

macro_rules! full {
    () => {
        rolls::table
            .inner_join(members::table.on(members::id.eq(rolls::member_id)))
            .inner_join(films::table.on(films::id.eq(rolls::film_id)))
            .select((Row::as_select(), members::name, films::name, films::tabular))
    };
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    ticket: &str,
    new: &NewRoll,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(rolls::table)
        .values((
            rolls::ticket.eq(ticket),
            rolls::member_id.eq(member),
            rolls::film_id.eq(new.film_id),
            rolls::format.eq(new.format.name),
            rolls::ei.eq(new.ei),
            rolls::recipe_id.eq(new.recipe_id),
            rolls::state.eq(State::HandedIn.word()),
            rolls::note.eq(&new.note),
            rolls::due_s.eq(new.due.map(|d| d.0)),
            rolls::handed_in_s.eq(now.0),
            rolls::version.eq(1),
        ))
        .returning(rolls::id)
        .get_result(tx.conn())?)
}

pub(super) fn has_ticket(conn: &mut Conn, ticket: &str) -> Result<bool, Error> {
    let same = rolls::table.filter(rolls::ticket.eq(ticket));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Roll, Error> {
    noun(full!().filter(rolls::id.eq(id)).first(conn)?)
}

/// A roll by its ticket; for a member only their own.
pub(super) fn by_ticket(conn: &mut Conn, ticket: &str, of: Option<i64>) -> Result<Roll, Error> {
    let roll = noun(full!().filter(rolls::ticket.eq(ticket)).first(conn)?)?;
    match of {
        Some(member) if member != roll.member_id => Err(Error::NotFound),
        _ => Ok(roll),
    }
}

/// The latest two hundred rolls of a member, or of all.
pub(super) fn list(
    conn: &mut Conn,
    of: Option<i64>,
    state: Option<State>,
) -> Result<Vec<Roll>, Error> {
    let mut query = full!().order((rolls::handed_in_s.desc(), rolls::id.desc())).into_boxed();
    if let Some(member) = of {
        query = query.filter(rolls::member_id.eq(member));
    }
    if let Some(state) = state {
        query = query.filter(rolls::state.eq(state.word()));
    }
    let rows: Vec<(Row, String, String, bool)> = query.limit(200).load(conn)?;
    rows.into_iter().map(noun).collect()
}

pub(super) fn update_state(tx: &mut Tx<'_>, id: i64, to: State) -> Result<(), Error> {
    diesel::update(rolls::table.find(id))
        .set((rolls::state.eq(to.word()), rolls::version.eq(rolls::version + 1)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn add_event(
    tx: &mut Tx<'_>,
    now: Moment,
    (roll, by): (i64, Option<i64>),
    state: State,
    note: &str,
) -> Result<(), Error> {
    diesel::insert_into(roll_events::table)
        .values((
            roll_events::roll_id.eq(roll),
            roll_events::at_s.eq(now.0),
            roll_events::by_id.eq(by),
            roll_events::state.eq(state.word()),
            roll_events::note.eq(note),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn events(conn: &mut Conn, roll: i64) -> Result<Vec<Event>, Error> {
    let rows: Vec<(i64, String, String)> = roll_events::table
        .filter(roll_events::roll_id.eq(roll))
        .order((roll_events::at_s, roll_events::id))
        .select((roll_events::at_s, roll_events::state, roll_events::note))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .filter_map(|(at, state, note)| {
            Some(Event { at: Moment(at), state: State::from_word(&state)?, note })
        })
        .collect())
}

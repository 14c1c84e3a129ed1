//! Rolls and the steps of their way.

mod customs;
mod labels;
mod month;
mod records;
mod search;
mod terms;
mod words;

use diesel::prelude::*;

use super::rules::{Care, Check, Length, NewRoll, State};
use crate::clock::Moment;
use crate::db::schema::{day_plans, films, members, roll_events, rolls, run_rolls, runs, tanks};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) use customs::{customs, update_customs};
pub(super) use labels::{delete_sheet, insert_sheet, sheet_named, sheets};
pub(super) use month::{developed_within, handed_in_within};
pub use records::{BathThen, Record, ResultNote};
pub(super) use records::{Looked, insert_note, insert_record, is_recorded, records, records_of};
pub(super) use search::{Search, found};
pub use terms::Terms;
pub(super) use terms::{accept, current_terms, has_accepted, insert_terms, terms};

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
    /// How many sheets it is, where it is not a roll.
    pub sheets: Option<i64>,
    /// The exposure index it was shot at.
    pub ei: i64,
    /// The version of the recipe its owner chose.
    pub recipe_id: Option<i64>,
    /// Where it is.
    pub state: State,
    /// Its owner's note.
    pub note: String,
    /// When its owner needs it.
    pub due: Option<Moment>,
    /// Not before this.
    pub ready: Option<Moment>,
    /// When it was handed in.
    pub handed_in: Moment,
    /// What the check asked.
    pub check: Check,
    /// Whether it may share a tank with film of other owners.
    pub shares: bool,
    /// By how many per cent its time may differ.
    pub tolerance_percent: Option<i64>,
    /// The tank it is loaded in.
    pub tank_id: Option<i64>,
    /// Its place on the column, counted from the bottom.
    pub place: Option<i64>,
    /// The peg tag that follows it.
    pub peg: Option<String>,
    /// Since when it is where it is.
    pub since: Moment,
    /// When its test roll was found good, where it waits for one.
    pub tested: Option<Moment>,
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
    /// Who did it; nobody where the house did.
    pub by: Option<String>,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = rolls)]
pub(super) struct Row {
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
    sheets: Option<i64>,
    backing: bool,
    spool: bool,
    torn: bool,
    guessed: bool,
    length: String,
    care: String,
    shares: bool,
    tolerance_percent: Option<i64>,
    ready_s: Option<i64>,
    tank_id: Option<i64>,
    place: Option<i64>,
    peg: Option<String>,
    state_s: i64,
    tested_s: Option<i64>,
}

pub(super) type Full = (Row, String, String, bool);

pub(super) fn noun((row, member_name, film, tabular): Full) -> Result<Roll, Error> {
    let state =
        State::from_word(&row.state).ok_or_else(|| Error::broken("reading a roll", "state"))?;
    let check = Check {
        backing: row.backing,
        spool: row.spool,
        torn: row.torn,
        guessed: row.guessed,
        length: Length::from_word(&row.length).unwrap_or(Length::Usual),
        care: Care::from_word(&row.care).unwrap_or(Care::Ordinary),
    };
    Ok(Roll {
        id: row.id,
        ticket: row.ticket,
        member_id: row.member_id,
        member_name,
        film_id: row.film_id,
        film,
        tabular,
        format: row.format,
        sheets: row.sheets,
        ei: row.ei,
        recipe_id: row.recipe_id,
        state,
        note: row.note,
        due: row.due_s.map(Moment),
        ready: row.ready_s.map(Moment),
        handed_in: Moment(row.handed_in_s),
        check,
        shares: row.shares,
        tolerance_percent: row.tolerance_percent,
        tank_id: row.tank_id,
        place: row.place,
        peg: row.peg,
        since: Moment(row.state_s),
        tested: row.tested_s.map(Moment),
    })
}

macro_rules! full {
    () => {
        rolls::table
            .inner_join(members::table.on(members::id.eq(rolls::member_id)))
            .inner_join(films::table.on(films::id.eq(rolls::film_id)))
            .select((
                $crate::rolls::store::Row::as_select(),
                members::name,
                films::name,
                films::tabular,
            ))
    };
}
pub(super) use full;

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    (member, terms): (i64, Option<i64>),
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
            rolls::sheets.eq(new.sheets),
            rolls::backing.eq(new.check.backing),
            rolls::spool.eq(new.check.spool),
            rolls::torn.eq(new.check.torn),
            rolls::guessed.eq(new.check.guessed),
            rolls::length.eq(new.check.length.word()),
            rolls::care.eq(new.check.care.word()),
            rolls::shares.eq(new.shares),
            rolls::tolerance_percent.eq(new.tolerance_percent),
            rolls::ready_s.eq(new.ready.map(|r| r.0)),
            rolls::terms_id.eq(terms),
            rolls::state_s.eq(now.0),
        ))
        .returning(rolls::id)
        .get_result(tx.conn())?)
}

pub(super) fn has_ticket(conn: &mut Conn, ticket: &str) -> Result<bool, Error> {
    let same = rolls::table.filter(rolls::ticket.eq(ticket));
    Ok(diesel::select(diesel::dsl::exists(same)).get_result(conn)?)
}

pub(super) fn one(conn: &mut Conn, id: i64) -> Result<Roll, Error> {
    noun(full!().filter(rolls::id.eq(id)).get_result(conn)?)
}

/// A roll by its ticket; for a member only their own.
pub(super) fn by_ticket(conn: &mut Conn, ticket: &str, of: Option<i64>) -> Result<Roll, Error> {
    let roll = noun(full!().filter(rolls::ticket.eq(ticket)).get_result(conn)?)?;
    match of {
        Some(member) if member != roll.member_id => Err(Error::NotFound),
        _ => Ok(roll),
    }
}

/// Every roll in a state, the longest handed in first.
pub(super) fn in_state(conn: &mut Conn, state: State) -> Result<Vec<Roll>, Error> {
    let rows: Vec<Full> = full!()
        .filter(rolls::state.eq(state.word()))
        .order((rolls::handed_in_s, rolls::id))
        .load(conn)?;
    rows.into_iter().map(noun).collect()
}

/// What has been on the pick-up shelf since before a moment.
pub(super) fn ready_since(conn: &mut Conn, before: Moment) -> Result<Vec<Roll>, Error> {
    let rows: Vec<Full> = full!()
        .filter(rolls::state.eq(State::Ready.word()))
        .filter(rolls::state_s.lt(before.0))
        .order(rolls::state_s)
        .limit(500)
        .load(conn)?;
    rows.into_iter().map(noun).collect()
}

/// What has waited for a run since before a moment, the longest waiting first.
pub(super) fn waiting_since(conn: &mut Conn, before: Moment) -> Result<Vec<Roll>, Error> {
    let rows: Vec<Full> = full!()
        .filter(rolls::state.eq(State::HandedIn.word()))
        .filter(rolls::handed_in_s.lt(before.0))
        .order((rolls::handed_in_s, rolls::id))
        .limit(500)
        .load(conn)?;
    rows.into_iter().map(noun).collect()
}

/// Says that the test roll of a film came out well.
pub(super) fn mark_tested(tx: &mut Tx<'_>, now: Moment, roll: i64) -> Result<(), Error> {
    diesel::update(rolls::table.find(roll))
        .set((rolls::tested_s.eq(now.0), rolls::version.eq(rolls::version + 1)))
        .execute(tx.conn())?;
    Ok(())
}

/// Where a roll now is.
#[derive(Clone, Debug, Default)]
pub(super) struct Where {
    pub(super) tank_id: Option<i64>,
    pub(super) place: Option<i64>,
    pub(super) peg: Option<String>,
}

pub(super) fn update_state(
    tx: &mut Tx<'_>,
    (now, id): (Moment, i64),
    to: State,
    place: &Where,
) -> Result<(), Error> {
    diesel::update(rolls::table.find(id))
        .set((
            rolls::state.eq(to.word()),
            rolls::state_s.eq(now.0),
            rolls::tank_id.eq(place.tank_id),
            rolls::place.eq(place.place),
            rolls::peg.eq(place.peg.as_deref()),
            rolls::version.eq(rolls::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The ticket of another roll that is on this place of this tank.
pub(super) fn on_place(
    conn: &mut Conn,
    tank: i64,
    place: i64,
    but: i64,
) -> Result<Option<String>, Error> {
    Ok(rolls::table
        .filter(rolls::state.eq(State::Loaded.word()))
        .filter(rolls::tank_id.eq(tank).and(rolls::place.eq(place)))
        .filter(rolls::id.ne(but))
        .select(rolls::ticket)
        .first(conn)
        .optional()?)
}

/// The ticket of another roll that this peg tag follows.
pub(super) fn on_peg(conn: &mut Conn, peg: &str, but: i64) -> Result<Option<String>, Error> {
    let followed = [State::Loaded, State::OnTheHook, State::ReFix].map(State::word);
    Ok(rolls::table
        .filter(rolls::peg.eq(peg))
        .filter(rolls::state.eq_any(followed))
        .filter(rolls::id.ne(but))
        .select(rolls::ticket)
        .first(conn)
        .optional()?)
}

/// The run a roll is planned for: its start, its tank and the roll's place on the column.
pub(super) fn planned(conn: &mut Conn, roll: i64) -> Result<Option<(Moment, i64, i64)>, Error> {
    let found: Option<(i64, i64, i64)> = run_rolls::table
        .inner_join(runs::table.on(runs::id.eq(run_rolls::run_id)))
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(run_rolls::roll_id.eq(roll))
        .filter(day_plans::state.eq("published"))
        .filter(runs::ended_s.is_null())
        .order(runs::from_s.desc())
        .select((runs::from_s, runs::tank_id, run_rolls::place))
        .first(conn)
        .optional()?;
    Ok(found.map(|(from, tank, place)| (Moment(from), tank, place)))
}

/// The names of all tanks by their ids.
pub(super) fn tank_names(conn: &mut Conn) -> Result<Vec<(i64, String)>, Error> {
    Ok(tanks::table.order(tanks::position).select((tanks::id, tanks::name)).load(conn)?)
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
    let rows: Vec<(i64, String, String, Option<String>)> = roll_events::table
        .left_join(members::table.on(members::id.nullable().eq(roll_events::by_id)))
        .filter(roll_events::roll_id.eq(roll))
        .order((roll_events::at_s, roll_events::id))
        .select((
            roll_events::at_s,
            roll_events::state,
            roll_events::note,
            members::name.nullable(),
        ))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .filter_map(|(at, state, note, by)| {
            Some(Event { at: Moment(at), state: State::from_word(&state)?, note, by })
        })
        .collect())
}

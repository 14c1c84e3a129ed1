//! Rolls: from the drop box to the pick-up shelf. What is handed in is a ticket: one roll, or one
//! set of sheets.

pub(crate) mod api;
mod customs;
mod hand_in;
mod labels;
pub(crate) mod list_api;
mod mail;
mod moving;
mod pages;
mod record;
mod remind;
pub(crate) mod results_api;
mod rules;
mod store;
mod ticket;

use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::{Person, Role};
use crate::web::Routes;

pub(crate) use crate::web::spoken;

pub use customs::{Customs, change_customs, customs};
pub use hand_in::{accept_terms, hand_in, hand_in_many, post_terms};
pub use moving::{Move, move_many, move_on, set_state};
pub use record::{Processed, note_result, record};
pub use remind::{remind, tell_waiting};
pub use rules::{Care, Check, Format, Length, Look, NewRoll, State};
pub use store::{BathThen, Event, Record, ResultNote, Roll, Terms};

/// Says of a film that waits for a test roll that the test came out well; from now on it may be
/// planned. Said twice, it changes nothing.
///
/// # Errors
/// A refusal when it waits for no test.
pub fn test_came_out_well(
    tx: &mut Tx<'_>,
    now: Moment,
    (roll, by): (i64, i64),
    note: &str,
) -> Result<(), Error> {
    let roll = store::one(tx, roll)?;
    if roll.tested.is_some() {
        return Ok(());
    }
    if !roll.waits_for_test() || roll.state != State::HandedIn {
        return Err(Error::refused("no-test", "This roll waits for no test roll."));
    }
    store::mark_tested(tx, now, roll.id)?;
    let said = match note {
        "" => "The test roll came out well".to_owned(),
        note => format!("The test roll came out well: {note}"),
    };
    store::add_event(tx, now, (roll.id, Some(by)), State::HandedIn, &said)
}

/// Its owner takes back a roll that still waits.
///
/// # Errors
/// A refusal when it is planned or under way: then only a lead can stop it.
pub fn withdraw(tx: &mut Tx<'_>, now: Moment, roll: i64, owner: i64) -> Result<(), Error> {
    let roll = store::one(tx, roll)?;
    if roll.member_id != owner {
        return Err(Error::NotFound);
    }
    if !matches!(roll.state, State::HandedIn | State::Withdrawn) {
        return Err(Error::refused(
            "roll-state",
            format!("This roll is “{}”. Ask a lead to stop it.", roll.state.name()),
        ));
    }
    set_state(tx, now, (roll.id, Some(owner)), State::Withdrawn, "")
}

/// The rolls that wait for a run, the longest waiting first.
///
/// # Errors
/// As the database's.
pub fn waiting(conn: &mut Conn) -> Result<Vec<Roll>, Error> {
    store::in_state(conn, State::HandedIn)
}

/// A member's own rolls that wait for a run, the latest first; a hundred at most.
///
/// # Errors
/// As the database's.
pub fn waiting_of(conn: &mut Conn, member: i64) -> Result<Vec<Roll>, Error> {
    let (of, state) = (Some(member), Some(State::HandedIn));
    store::found(conn, &store::Search { of, state, limit: 100, ..store::Search::default() })
}

/// Every roll in a state, the longest handed in first.
///
/// # Errors
/// As the database's.
pub fn in_state(conn: &mut Conn, state: State) -> Result<Vec<Roll>, Error> {
    store::in_state(conn, state)
}

/// A member sees their own rolls only, a lead all.
fn whose(person: &Person) -> Option<i64> {
    (person.role != Role::Lead).then_some(person.id)
}

/// The rolls that somebody may see and that all the words fit, the latest handed in first.
///
/// # Errors
/// As the database's.
pub fn found(
    conn: &mut Conn,
    person: &Person,
    (words, most): (&[String], i64),
) -> Result<Vec<Roll>, Error> {
    let (of, words) = (whose(person), words.to_vec());
    store::found(conn, &store::Search { of, words, limit: most, ..store::Search::default() })
}

/// When tickets were handed in, and when film was developed, within a stretch.
///
/// # Errors
/// As the database's.
pub fn came_and_went(conn: &mut Conn, span: Span) -> Result<(Vec<Moment>, Vec<Moment>), Error> {
    Ok((store::handed_in_within(conn, span)?, store::developed_within(conn, span)?))
}

/// The ticket of the roll that was typed or scanned whole, where this person may see it.
///
/// # Errors
/// As the database's.
pub fn ticket_seen_by(
    conn: &mut Conn,
    person: &Person,
    typed: &str,
) -> Result<Option<String>, Error> {
    match by_ticket(conn, typed, whose(person)) {
        Ok(roll) => Ok(Some(roll.ticket)),
        Err(Error::NotFound) => Ok(None),
        Err(e) => Err(e),
    }
}

/// One roll.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn one(conn: &mut Conn, id: i64) -> Result<Roll, Error> {
    store::one(conn, id)
}

/// The roll of a ticket as typed or scanned; for a member only their own.
///
/// # Errors
/// [`Error::NotFound`] where there is none, or the ticket was mistyped.
pub fn by_ticket(conn: &mut Conn, typed: &str, of: Option<i64>) -> Result<Roll, Error> {
    let ticket = ticket::read(typed).ok_or(Error::NotFound)?;
    store::by_ticket(conn, &ticket, of)
}

impl Roll {
    /// Its format, with all its sheets counted together; nothing where the format is not known.
    #[must_use]
    pub fn film_format(&self) -> Option<Format> {
        Format::named(&self.format).map(|f| f.of_sheets(self.sheets))
    }

    /// Whether it must not be developed before a test roll came out well.
    #[must_use]
    pub fn waits_for_test(&self) -> bool {
        self.check.care == Care::AfterTest && self.tested.is_none()
    }

    /// Until when the studio lets it wait: counted from when it was handed in, or from when it may
    /// be begun. After that it goes before all others.
    #[must_use]
    pub fn waits_until(&self, customs: &Customs) -> Moment {
        let from = self.ready.map_or(self.handed_in, |ready| ready.max(self.handed_in));
        from.plus(customs.wait_days * 86_400)
    }
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
    list_api::routes(open);
    results_api::routes(open);
}

//! The pages of the rolls.

mod customs;
mod export;
mod hand_in;
mod label_sheets;
mod labels;
mod list;
mod one;
mod own;
mod records;
mod terms;

use serde::Serialize;

use super::rules::State;
use super::{Roll, ticket, whose};
use crate::app::App;
use crate::error::Error;
use crate::sessions::Person;
use crate::web::{Routes, spoken};

pub(super) fn routes(open: &mut Routes) {
    list::routes(open);
    hand_in::routes(open);
    one::routes(open);
    own::routes(open);
    labels::routes(open);
    label_sheets::routes(open);
    customs::routes(open);
    records::routes(open);
    terms::routes(open);
    export::routes(open);
}

/// One line of a select, or one radio button.
#[derive(Clone, Serialize)]
struct Choice {
    value: String,
    text: String,
    help: Option<String>,
}

impl Choice {
    #[expect(
        clippy::needless_pass_by_value,
        reason = "numbers and words are handed in as they are"
    )]
    fn new(value: impl ToString, text: impl Into<String>) -> Choice {
        Choice { value: value.to_string(), text: text.into(), help: None }
    }
}

/// A roll in words.
#[derive(Serialize)]
struct Line {
    ticket: String,
    spoken: String,
    owner: String,
    film: String,
    format: String,
    ei: i64,
    state: &'static str,
    tone: &'static str,
    handed_in: String,
    since: String,
    peg: Option<String>,
}

fn line(app: &App, person: &Person, roll: &Roll) -> Line {
    let words = app.words(Some(person));
    Line {
        handed_in: words.moment(roll.handed_in),
        since: words.moment(roll.since),
        state: roll.state.name(),
        tone: tone(roll.state),
        spoken: spoken(&roll.ticket),
        ticket: roll.ticket.clone(),
        owner: roll.member_name.clone(),
        film: roll.film.clone(),
        format: format_of(roll),
        ei: roll.ei,
        peg: roll.peg.clone(),
    }
}

/// `135-36`, or `4 sheets 4x5`.
fn format_of(roll: &Roll) -> String {
    match roll.sheets {
        None => roll.format.clone(),
        Some(1) => format!("1 sheet {}", roll.format),
        Some(n) => format!("{n} sheets {}", roll.format),
    }
}

fn tone(state: State) -> &'static str {
    match state {
        State::HandedIn | State::Planned => "wait",
        State::Loaded | State::OnTheHook => "note",
        State::Ready | State::PickedUp => "good",
        State::ReFix | State::Spoiled | State::Lost => "bad",
        State::Withdrawn => "off",
    }
}

/// A ticket as typed; a slip of the pen is not found rather than somebody else's roll.
fn known(typed: &str) -> Result<String, Error> {
    ticket::read(typed).ok_or(Error::NotFound)
}

//! Keeping: the trail of who changed what, how long what is past is kept, and whether leads must
//! show a second factor.

mod pages;
mod sentences;
mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx, trail};
use crate::error::Error;
use crate::outbox;
use crate::studio;
use crate::web::Routes;

/// How long what is past is kept, in days, and what is asked of leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keeping {
    /// Lines of the trail, 90 to 3650.
    pub trail_days: i64,
    /// The text of letters that were sent, 14 to 3650.
    pub letters_days: i64,
    /// Past promises of sinks, tanks and reels, 30 to 3650; the bookings themselves stay.
    pub holds_days: i64,
    /// Whether the leads' doors open only to who showed a second factor.
    pub leads_second_factor: bool,
    /// The version an edit form is made from.
    pub version: i64,
}

/// The settings as they stand.
///
/// # Errors
/// As the database's.
pub fn load(conn: &mut Conn) -> Result<Keeping, Error> {
    store::load(conn)
}

/// Changes the settings, if they are still those the form was made from.
///
/// # Errors
/// A refusal when somebody else changed them meanwhile.
pub fn change(tx: &mut Tx<'_>, to: &Keeping) -> Result<(), Error> {
    if store::update(tx, to)? { Ok(()) } else { Err(studio::changed_meanwhile("These settings")) }
}

/// One line of the trail.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its number; later lines have higher ones.
    pub id: i64,
    /// When.
    pub at: Moment,
    /// Who, if it is known.
    pub actor: Option<i64>,
    /// By what they were recognised: `page`, `token`, `nobody`, `machine`.
    pub via: String,
    /// Through which door.
    pub door: String,
    /// The numbers and words in the door's address.
    pub thing: String,
    /// Whose thing it was, where that is known.
    pub owner: Option<i64>,
    /// Only a try that was counted.
    pub only_tried: bool,
}

/// What is looked for in the trail.
#[derive(Clone, Debug, Default)]
struct Search {
    /// Who did it or whose it was: any of these.
    people: Option<Vec<i64>>,
    /// From this moment on.
    from: Option<Moment>,
    /// Before this moment.
    to: Option<Moment>,
    /// Part of the door's address.
    door: String,
    /// Only lines before this one.
    before: Option<i64>,
    /// At most so many.
    limit: i64,
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

/// Rows that go at once, so that nobody waits long for the gate; the next minute takes more.
const AT_ONCE: i64 = 2_000;

/// Deletes what was kept long enough: lines of the trail, the text of sent letters.
///
/// # Errors
/// As the database's.
pub fn sweep(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    let kept = load(tx)?;
    trail::prune(tx, now, kept.trail_days * DAY_S, AT_ONCE)?;
    outbox::forget_texts(tx, now.plus(-kept.letters_days * DAY_S), AT_ONCE)?;
    Ok(())
}

/// Before this moment past promises are forgotten.
///
/// # Errors
/// As the database's.
pub fn holds_end(conn: &mut Conn, now: Moment) -> Result<(Moment, i64), Error> {
    Ok((now.plus(-load(conn)?.holds_days * DAY_S), AT_ONCE))
}

const DAY_S: i64 = 86_400;

//! The wall: one screen at the door that shows the day to whoever comes, without anybody signed
//! in. Names are shown as each member chose; the screen can go dark with the room.

mod pages;
mod rules;
mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets::Key;
use crate::web::Routes;

pub use rules::{Shown, shown_name};

/// The wall's own settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wall {
    /// Raised by every renewal of its address.
    pub number: i64,
    /// Dark until then, if somebody asked for it.
    pub dark_until: Option<Moment>,
    /// Whether it goes dark by itself while a room is booked dark.
    pub with_room: bool,
}

impl Wall {
    fn sealed_text(&self) -> String {
        format!("wall {}", self.number)
    }

    /// The secret part of its address.
    #[must_use]
    pub fn secret(&self, key: &Key) -> String {
        key.seal(&self.sealed_text())
    }
}

/// The wall as it is set.
///
/// # Errors
/// As the database's.
pub fn load(conn: &mut Conn) -> Result<Wall, Error> {
    store::load(conn)
}

/// The wall, for whoever knows its address.
///
/// # Errors
/// [`Error::NotFound`] for an ended or forged address.
pub fn open(conn: &mut Conn, key: &Key, secret: &str) -> Result<Wall, Error> {
    let wall = store::load(conn)?;
    if key.is_seal(&wall.sealed_text(), secret) { Ok(wall) } else { Err(Error::NotFound) }
}

/// Gives the wall a new address and ends the old one.
///
/// # Errors
/// As the database's.
pub fn renew(tx: &mut Tx<'_>) -> Result<(), Error> {
    let wall = store::load(tx)?;
    store::set_number(tx, wall.number + 1)
}

/// Makes the wall dark for so many minutes from now; light again with 0.
///
/// # Errors
/// As the database's.
pub fn darken(tx: &mut Tx<'_>, now: Moment, minutes: i64) -> Result<(), Error> {
    let until = (minutes > 0).then(|| now.plus(minutes * 60));
    store::set_dark(tx, until)
}

/// Whether the wall follows a dark room by itself.
///
/// # Errors
/// As the database's.
pub fn follow_room(tx: &mut Tx<'_>, with_room: bool) -> Result<(), Error> {
    store::set_with_room(tx, with_room)
}

/// Chooses how one's own name stands on the wall.
///
/// # Errors
/// As the database's.
pub fn show_me(tx: &mut Tx<'_>, member: i64, shown: Shown) -> Result<(), Error> {
    store::set_shown(tx, member, shown)
}

/// Forgets a leaver's choice.
///
/// # Errors
/// As the database's.
pub fn forget_member(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    store::set_shown(tx, member, Shown::Nothing)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

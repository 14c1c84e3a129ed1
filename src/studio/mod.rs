//! The studio itself: its name, its clock on the wall, and the few choices that hold everywhere.

mod store;

use crate::clock::Zone;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets::Key;

/// How people come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joining {
    /// Only by a lead's invitation.
    Invitation,
    /// Anyone may apply; a lead decides.
    Application,
}

impl Joining {
    /// The word for it in the database and in forms.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Joining::Invitation => "invitation",
            Joining::Application => "application",
        }
    }

    /// The choice of that word; by invitation where there is none.
    #[must_use]
    pub fn from_word(word: &str) -> Joining {
        if word == "application" { Joining::Application } else { Joining::Invitation }
    }
}

/// The studio's own settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Studio {
    /// Its name.
    pub name: String,
    /// A few sentences for the front page.
    pub about: String,
    /// Where its wall clock hangs.
    pub zone: Zone,
    /// How people come in.
    pub joining: Joining,
    /// Fewest characters of a password, 12 to 64.
    pub password_length: i64,
    /// From which share of its capacity on a bath is near its limit, in percent.
    pub near_limit_percent: i64,
    /// The version an edit form is made from.
    pub version: i64,
}

/// A new studio, before a lead has said anything about it.
#[must_use]
pub fn unnamed() -> Studio {
    Studio {
        name: "Our darkroom".to_owned(),
        about: String::new(),
        zone: Zone::UTC,
        joining: Joining::Invitation,
        password_length: 12,
        near_limit_percent: 80,
        version: 1,
    }
}

/// The studio as it stands.
///
/// # Errors
/// As the database's; [`Error::NotFound`] before [`found`].
pub fn load(conn: &mut Conn) -> Result<Studio, Error> {
    store::load(conn)
}

/// Founds the studio on first start, and refuses to serve one whose key file is another's.
///
/// # Errors
/// A sentence when the key does not fit.
pub fn found(tx: &mut Tx<'_>, key: &Key, first: &Studio) -> Result<Studio, Error> {
    match store::key_print(tx)? {
        None => {
            store::insert(tx, first, &key.print())?;
            Ok(first.clone())
        }
        Some(print) if print == key.print() => store::load(tx),
        Some(_) => Err(Error::refused(
            "key",
            "This database was set up with another key file. Put that file in place (setting \
             secret_key_file), or every link in letters already sent stops working.",
        )),
    }
}

/// Whether this database holds a studio.
///
/// # Errors
/// As the database's.
pub fn is_founded(conn: &mut Conn) -> Result<bool, Error> {
    Ok(store::key_print(conn)?.is_some())
}

/// The print of the key this studio was set up with, if it was.
///
/// # Errors
/// As the database's.
pub fn key_print(conn: &mut Conn) -> Result<Option<Vec<u8>>, Error> {
    store::key_print(conn)
}

/// Makes this server's key the studio's, after a restore from elsewhere. Links in letters made
/// with the other key stop opening.
///
/// # Errors
/// As the database's.
pub fn adopt(tx: &mut Tx<'_>, key: &Key) -> Result<(), Error> {
    store::set_key_print(tx, &key.print())
}

/// Changes the settings, if they are still those the form was made from.
///
/// # Errors
/// A refusal when somebody else changed them meanwhile.
pub fn change(tx: &mut Tx<'_>, to: &Studio) -> Result<(), Error> {
    if store::update(tx, to)? { Ok(()) } else { Err(changed_meanwhile("The studio's settings")) }
}

/// What is said when an edit form is older than the thing it edits.
#[must_use]
pub fn changed_meanwhile(what: &str) -> Error {
    Error::refused(
        "changed-meanwhile",
        format!(
            "{what} changed while this form was open. What you typed is still below; open the \
             page afresh to see the present state, then send it again."
        ),
    )
}

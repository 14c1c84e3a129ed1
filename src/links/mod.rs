//! Single-use links in letters: invitations, proofs of an address, resets.
//!
//! A link's secret is a seal made from the key file over its id, purpose and end. It is nowhere
//! in the database, neither whole nor hashed.

mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets::Key;

/// What a link is for, and so which page it opens and how long it lives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// Makes the first lead.
    SetUp,
    /// Lets an invited person in.
    Invitation,
    /// Proves an applicant's address.
    Verify,
    /// Sets a new password.
    Reset,
    /// Agrees to a change of address at the old one.
    AddressOld,
    /// Proves a change of address at the new one.
    AddressNew,
}

impl Purpose {
    const ALL: [Purpose; 6] = [
        Purpose::SetUp,
        Purpose::Invitation,
        Purpose::Verify,
        Purpose::Reset,
        Purpose::AddressOld,
        Purpose::AddressNew,
    ];

    /// The word in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Purpose::SetUp => "set_up",
            Purpose::Invitation => "invitation",
            Purpose::Verify => "verify",
            Purpose::Reset => "reset",
            Purpose::AddressOld => "address_old",
            Purpose::AddressNew => "address_new",
        }
    }

    fn from_word(word: &str) -> Option<Purpose> {
        Purpose::ALL.into_iter().find(|p| p.word() == word)
    }

    /// The page it opens.
    #[must_use]
    pub fn path(self) -> &'static str {
        match self {
            Purpose::SetUp => "/set-up",
            Purpose::Invitation => "/welcome",
            Purpose::Verify => "/prove",
            Purpose::Reset => "/new-password",
            Purpose::AddressOld | Purpose::AddressNew => "/new-address",
        }
    }

    /// Seconds it lives.
    #[must_use]
    pub fn lifetime_s(self) -> i64 {
        match self {
            Purpose::Reset => 3600,
            Purpose::SetUp | Purpose::Verify | Purpose::AddressOld | Purpose::AddressNew => 86_400,
            Purpose::Invitation => 14 * 86_400,
        }
    }
}

/// One link.
#[derive(Clone, Debug)]
pub struct Link {
    /// Its id.
    pub id: i64,
    /// What it is for.
    pub purpose: Purpose,
    /// Whose it is; nobody's for the first set-up.
    pub member_id: Option<i64>,
    /// What it carries, such as a new address.
    pub payload: Option<String>,
    /// When it ends.
    pub expires: Moment,
    /// When it was used, if it was.
    pub used: Option<Moment>,
}

impl Link {
    fn sealed_text(&self) -> String {
        format!("link {} {} {}", self.id, self.purpose.word(), self.expires.0)
    }

    /// The part of the address that opens it.
    #[must_use]
    pub fn secret(&self, key: &Key) -> String {
        format!("{}.{}", self.id, key.seal(&self.sealed_text()))
    }

    /// Its whole address.
    #[must_use]
    pub fn url(&self, key: &Key, base_url: &str) -> String {
        format!("{base_url}{}/{}", self.purpose.path(), self.secret(key))
    }
}

/// Issues a link; its address can be made whenever a letter about it is sent.
///
/// # Errors
/// As the database's.
pub fn issue(
    tx: &mut Tx<'_>,
    now: Moment,
    purpose: Purpose,
    member_id: Option<i64>,
    payload: Option<&str>,
) -> Result<Link, Error> {
    let expires = now.plus(purpose.lifetime_s());
    let id = store::insert(tx, (now, expires), purpose, member_id, payload)?;
    let payload = payload.map(ToOwned::to_owned);
    Ok(Link { id, purpose, member_id, payload, expires, used: None })
}

/// The link of that id.
///
/// # Errors
/// [`Error::NotFound`] where there is none.
pub fn by_id(conn: &mut Conn, id: i64) -> Result<Link, Error> {
    store::by_id(conn, id)
}

/// The link that this secret opens for one of these purposes, if it still does.
///
/// # Errors
/// A refusal that says what to do, the same for used, ended, forged and unknown links.
pub fn open(
    conn: &mut Conn,
    key: &Key,
    now: Moment,
    secret: &str,
    purposes: &[Purpose],
) -> Result<Link, Error> {
    let gone = || {
        Error::refused(
            "link-over",
            "This link is no longer good: it was used, or is too old, or is not complete. Ask \
             for a new one, and copy the whole address from the letter.",
        )
    };
    let (id, seal) = secret.split_once('.').ok_or_else(gone)?;
    let id: i64 = id.parse().map_err(|_e| gone())?;
    let link = match store::by_id(conn, id) {
        Err(Error::NotFound) => return Err(gone()),
        found => found?,
    };
    let good = key.is_seal(&link.sealed_text(), seal)
        && purposes.contains(&link.purpose)
        && link.used.is_none()
        && now < link.expires;
    if good { Ok(link) } else { Err(gone()) }
}

/// Uses a link up; only the first of two at once succeeds.
///
/// # Errors
/// A refusal when it was used meanwhile.
pub fn use_up(tx: &mut Tx<'_>, now: Moment, link: &Link) -> Result<(), Error> {
    if store::mark_used(tx, now, link.id)? {
        Ok(())
    } else {
        Err(Error::refused("link-over", "This link was used already. Ask for a new one."))
    }
}

/// Makes a member's unused links of these purposes useless.
///
/// # Errors
/// As the database's.
pub fn cancel(
    tx: &mut Tx<'_>,
    now: Moment,
    member_id: i64,
    purposes: &[Purpose],
) -> Result<(), Error> {
    store::cancel(tx, now, member_id, purposes)
}

/// Makes all of a leaver's links useless and takes out what they carried.
///
/// # Errors
/// As the database's.
pub fn forget_member(tx: &mut Tx<'_>, now: Moment, member_id: i64) -> Result<(), Error> {
    store::cancel(tx, now, member_id, &Purpose::ALL)?;
    store::empty(tx, member_id)
}

/// Takes out what ended links carried, such as an application that was never confirmed.
///
/// # Errors
/// As the database's.
pub fn sweep(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    store::empty_ended(tx, now)
}

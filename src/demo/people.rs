//! The invented people.

use crate::app::App;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::members::{self, NewMember, passwords};
use crate::sessions::Role;

/// The password of all of them; the demonstration is for looking around on one machine.
pub const PASSWORD: &str = "gull-lantern-tide-47";

/// Somebody who can sign in.
#[derive(Clone, Debug)]
pub struct Somebody {
    /// Their name.
    pub name: &'static str,
    /// Their address.
    pub email: &'static str,
    /// What they may do.
    pub role: Role,
    hash: String,
}

/// The ids of those the rest of the demonstration speaks of.
#[derive(Default)]
pub(super) struct Ids {
    pub(super) lead: i64,
    pub(super) second_lead: i64,
    pub(super) members: Vec<i64>,
    pub(super) newcomers: Vec<i64>,
    pub(super) newcomer: i64,
}

impl Ids {
    fn add(&mut self, role: Role, id: i64) {
        match role {
            Role::Lead if self.lead == 0 => self.lead = id,
            Role::Lead => self.second_lead = id,
            Role::Member => self.members.push(id),
            Role::Newcomer => {
                self.newcomer = id;
                self.newcomers.push(id);
            }
        }
    }
}

const PEOPLE: [(&str, &str, Role); 7] = [
    ("Maren Ostervald", "maren@quillhaven.example", Role::Lead),
    ("Tobin Sallow", "tobin@quillhaven.example", Role::Lead),
    ("Ilse Brackwater", "ilse@quillhaven.example", Role::Member),
    ("Corin Fennimore", "corin@quillhaven.example", Role::Member),
    ("Dagny Pell", "dagny@quillhaven.example", Role::Member),
    ("Odo Lindqvist", "odo@quillhaven.example", Role::Newcomer),
    ("Perrin Tolland", "perrin@quillhaven.example", Role::Newcomer),
];

/// Everybody with their password hashed, which takes its time and so stays out of transactions.
pub(super) fn everybody(app: &App) -> Result<Vec<Somebody>, Error> {
    let hash = passwords::hash(app.config.quick_hashes, PASSWORD)?;
    Ok(PEOPLE
        .iter()
        .map(|(name, email, role)| Somebody { name, email, role: *role, hash: hash.clone() })
        .collect())
}

pub(super) fn put(tx: &mut Tx<'_>, now: Moment, all: &[Somebody]) -> Result<Ids, Error> {
    let mut ids = Ids::default();
    for person in all {
        let new = NewMember {
            name: person.name.to_owned(),
            email: person.email.to_owned(),
            role: person.role,
            password_hash: Some(person.hash.clone()),
            verified: true,
        };
        let id = members::put(tx, now, &new)?;
        ids.add(person.role, id);
    }
    Ok(ids)
}

/// The ids of those who are in already.
pub(super) fn ids(conn: &mut crate::db::Conn) -> Result<Ids, Error> {
    let mut ids = Ids::default();
    for (_, address, role) in PEOPLE {
        let Some(id) = members::by_address(conn, address)? else { continue };
        ids.add(role, id);
    }
    Ok(ids)
}

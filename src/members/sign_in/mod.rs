//! Signing in: the same answer and the same work, whether or not there is such an account.

mod pages;

use crate::app::App;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::members::passwords::{self, Verdict};
use crate::members::{email, rules, store};
use crate::secrets;
use crate::sessions;
use crate::throttle::{self, Limit};
use crate::web::Routes;

pub(in crate::members) use pages::{add, agent, former, own_path};

/// Wrong tries at one account.
const PER_ACCOUNT: Limit = Limit { tries: 10, within_s: 60 };
/// Wrong tries from one network.
const PER_NETWORK: Limit = Limit { tries: 30, within_s: 60 };

/// A password that was right.
#[derive(Clone, Debug)]
pub(in crate::members) struct Proven {
    /// Whose it is.
    pub(in crate::members) member: i64,
    /// The counted tries that were no wrong ones.
    records: Vec<i64>,
    /// The password kept in the present way, if it was kept in an older one.
    fresh_hash: Option<String>,
}

impl Proven {
    /// Takes the counted try back and keeps the password in the present way.
    pub(in crate::members) fn settle(&self, tx: &mut Tx<'_>) -> Result<(), Error> {
        throttle::take_back(tx, &self.records)?;
        match &self.fresh_hash {
            Some(hash) => store::keep_hash(tx, self.member, hash),
            None => Ok(()),
        }
    }
}

/// Compares an address and a password with what is kept. Every try is counted before it is made.
/// For threads that may block.
pub(in crate::members) fn prove(
    app: &App,
    typed: &str,
    password: &str,
    address: &str,
) -> Result<Proven, Error> {
    let key = email::key(typed);
    let counted = counted("sign-in", &key, address, (PER_ACCOUNT, PER_NETWORK));
    let now = app.clock.now();
    let (records, login) = app.db.write_now(|tx| {
        let login = store::login(tx, &key)?;
        if let Some((member, _)) = &login {
            tx.concerns(*member);
        }
        Ok((throttle::record(tx, now, &counted)?, login))
    })?;
    let (member, kept) = match login {
        Some((id, kept)) => (Some(id), kept),
        None => (None, None),
    };
    let quick = app.config.quick_hashes;
    let verdict = passwords::verify(quick, kept.as_deref(), password)?;
    let (Some(member), true) = (member, verdict != Verdict::Wrong) else {
        return Err(Error::field(
            "password",
            "This address and this password do not go together. Check both, or ask for a new \
             password.",
        ));
    };
    let fresh_hash = match verdict {
        Verdict::RightButOld => Some(passwords::hash(quick, password)?),
        _ => None,
    };
    Ok(Proven { member, records, fresh_hash })
}

/// The keys under which tries are counted; an account's without its address.
pub(in crate::members) fn counted(
    what: &str,
    key: &str,
    address: &str,
    (account, network): (Limit, Limit),
) -> Vec<(String, Limit)> {
    let print: String = secrets::hash(key).iter().take(16).map(|b| format!("{b:02x}")).collect();
    vec![
        (format!("{what} account {print}"), account),
        (format!("{what} network {}", rules::network(address)), network),
    ]
}

/// Opens a session for who proved themselves; the browser's former session ends. Returns the
/// session's token.
pub(in crate::members) fn enter(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    before: Option<(i64, i64)>,
    (agent, address): (&str, &str),
) -> Result<String, Error> {
    tx.acts(member);
    tx.concerns(member);
    if let Some((whose, session)) = before {
        match sessions::close(tx, whose, session) {
            // It may have ended by itself meanwhile.
            Ok(()) | Err(Error::NotFound) => {}
            Err(e) => return Err(e),
        }
    }
    sessions::open(tx, now, member, agent, address)
}

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}

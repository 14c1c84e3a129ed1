//! The letters of this room.

use serde::Serialize;
use serde_json::{Value, json};

use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::links::Link;
use crate::outbox::{self, LINK, Letter, Recipient};

/// What a letter of this room may be about, besides its reader.
#[derive(Clone, Debug, Default, Serialize)]
pub(super) struct About {
    /// The studio's name.
    pub(super) studio: String,
    /// Somebody else's name.
    pub(super) who: String,
    /// Another address.
    pub(super) address: String,
}

/// Posts a letter that carries a single-use link.
pub(super) fn with_link(
    tx: &mut Tx<'_>,
    now: Moment,
    kind: &'static str,
    (to, link): (Recipient, &Link),
    about: &About,
) -> Result<(), Error> {
    let dedupe_key = format!("{kind} link {}", link.id);
    post(tx, now, (kind, to, Some(link.id), dedupe_key), about)
}

/// Posts a letter without one; `cause` is what must not be written about twice.
pub(super) fn plain(
    tx: &mut Tx<'_>,
    now: Moment,
    kind: &'static str,
    (to, cause): (Recipient, String),
    about: &About,
) -> Result<(), Error> {
    let dedupe_key = format!("{kind} {cause}");
    post(tx, now, (kind, to, None, dedupe_key), about)
}

fn post(
    tx: &mut Tx<'_>,
    now: Moment,
    (kind, to, link, dedupe_key): (&'static str, Recipient, Option<i64>, String),
    about: &About,
) -> Result<(), Error> {
    let mut value = json!(about);
    if let Value::Object(map) = &mut value {
        map.insert("name".to_owned(), json!(to.name));
        map.insert("link".to_owned(), json!(LINK));
    }
    let (subject, body) = outbox::write(kind, &value)?;
    let optional = super::rules::OPTIONAL_LETTERS.iter().any(|(k, _)| *k == kind);
    let letter = Letter { kind, to, subject, body, optional, link, dedupe_key, send_after: now };
    outbox::post(tx, now, &letter)?;
    Ok(())
}

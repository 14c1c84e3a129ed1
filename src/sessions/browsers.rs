//! Who is asking, by the cookie of a browser: the question of every page.
//!
//! Every request asks the database for two counts: the pulse's, and that of the people, which goes
//! up when anybody who may be signed in changes or loses a session. While the second stands, who was
//! recognised a moment ago is recognised again without a further question.

use std::collections::HashMap;

use parking_lot::Mutex;

use super::store::{self, Counts, Recognised, SessionRow};
use super::{IDLE_S, Person, Proof, SEEN_EVERY_S};
use crate::clock::Moment;
use crate::db::{Db, Together};
use crate::error::Error;
use crate::secrets;

/// So many browsers are known at once.
const MOST: usize = 2000;

struct Known {
    /// The people's count, and the minute, in which the session was read: a count that missed a
    /// change would not be believed for long.
    people: i64,
    minute: i64,
    found: (Person, SessionRow),
}

/// Who was recognised a moment ago, and the question whether anybody changed since.
pub struct Browsers {
    counts: Together<Counts>,
    known: Mutex<HashMap<Vec<u8>, Known>>,
}

impl Default for Browsers {
    fn default() -> Browsers {
        Browsers { counts: Together::new(store::counts), known: Mutex::default() }
    }
}

impl Browsers {
    /// Whose browser this is, if its session stands.
    ///
    /// # Errors
    /// As the database's.
    pub async fn of_cookie(
        &self,
        db: &Db,
        now: Moment,
        token: &str,
    ) -> Result<Option<(Person, Proof)>, Error> {
        let (hash, minute) = (secrets::hash(token), now.0.div_euclid(60));
        let counts = self.counts.ask(db).await?;
        if let Some((person, row)) = self.known(&hash, counts.people, minute) {
            let proof = standing(&row, now, counts.beat);
            // Of a session that is to be marked as seen, the mark is read again the next time.
            if proof.is_some_and(|proof| !proof.is_stale) {
                return Ok(proof.map(|proof| (person, proof)));
            }
        }
        let key = hash.clone();
        let found: Recognised<SessionRow> =
            db.glance(move |conn| store::session(conn, &key)).await?;
        let Some((person, row, counts)) = found else { return Ok(None) };
        let proof = standing(&row, now, counts.beat);
        self.note(hash, Known { people: counts.people, minute, found: (person.clone(), row) });
        Ok(proof.map(|proof| (person, proof)))
    }

    fn known(&self, hash: &[u8], people: i64, minute: i64) -> Option<(Person, SessionRow)> {
        let known = self.known.lock();
        let known = known.get(hash).filter(|k| k.people == people && k.minute == minute)?;
        Some(known.found.clone())
    }

    fn note(&self, hash: Vec<u8>, new: Known) {
        let mut known = self.known.lock();
        if known.len() >= MOST {
            known.retain(|_, k| k.people == new.people && k.minute == new.minute);
        }
        if known.len() < MOST {
            known.insert(hash, new);
        }
    }
}

/// What a session proves now; nothing once it is over.
fn standing(row: &SessionRow, now: Moment, beat: i64) -> Option<Proof> {
    let stands = now.0 < row.expires_s && now.0 < row.seen_s.saturating_add(IDLE_S);
    let is_stale = now.0 - row.seen_s > SEEN_EVERY_S;
    stands.then_some(Proof { is_stale, second_factor: row.second_factor, beat })
}

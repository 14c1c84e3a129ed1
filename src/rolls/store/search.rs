//! The search over rolls: words first become films and members, and then rolls are found by keys.

use diesel::prelude::*;

use super::{Full, Roll, full, noun};
use crate::clock::Moment;
use crate::db::Conn;
use crate::db::like::{lower, pattern};
use crate::db::schema::{films, members, rolls};
use crate::error::Error;
use crate::rolls::rules::State;
use crate::rolls::ticket;

/// What is looked for among the rolls.
#[derive(Clone, Debug, Default)]
pub(crate) struct Search {
    /// Only this member's.
    pub(crate) of: Option<i64>,
    /// Words that all must fit a film, an owner or an exposure index; or a ticket.
    pub(crate) words: Vec<String>,
    /// Only in this state.
    pub(crate) state: Option<State>,
    /// Handed in from this moment on.
    pub(crate) from: Option<Moment>,
    /// Handed in before this moment.
    pub(crate) to: Option<Moment>,
    /// Only what comes after this place: when it was handed in, and its id.
    pub(crate) after: Option<(i64, i64)>,
    /// At most so many.
    pub(crate) limit: i64,
}

fn films_like(conn: &mut Conn, word: &str) -> Result<Vec<i64>, Error> {
    let like = films::table.filter(lower(films::name).like(pattern(word)).escape('\\'));
    Ok(like.select(films::id).load(conn)?)
}

fn members_like(conn: &mut Conn, word: &str) -> Result<Vec<i64>, Error> {
    let like = members::table.filter(lower(members::name).like(pattern(word)).escape('\\'));
    Ok(like.select(members::id).limit(500).load(conn)?)
}

/// What one word may mean: films, owners, an exposure index.
struct Fits {
    films: Vec<i64>,
    owners: Vec<i64>,
    /// None has -1.
    ei: i64,
}

/// So many rolls are found faster by the keys of what a word means, and then put in order, than by
/// going back through all that were ever handed in.
const FEW: i64 = 400;

/// Rolls of a film, of an owner or of an exposure index.
macro_rules! fitting {
    ($fits:expr) => {
        rolls::film_id
            .eq_any($fits.films.clone())
            .or(rolls::member_id.eq_any($fits.owners.clone()))
            .or(rolls::ei.eq($fits.ei))
    };
}

impl Fits {
    /// A member looks among their own only, so owners are no help to them.
    fn of(conn: &mut Conn, word: &str, own: Option<i64>) -> Result<Fits, Error> {
        let owners = if own.is_some() { Vec::new() } else { members_like(conn, word)? };
        Ok(Fits { films: films_like(conn, word)?, owners, ei: word.parse().unwrap_or(-1) })
    }

    /// All rolls that fit, unless they are many.
    fn few(&self, conn: &mut Conn) -> Result<Option<Vec<i64>>, Error> {
        let ids: Vec<i64> = rolls::table
            .filter(fitting!(self))
            .select(rolls::id)
            .limit(FEW.saturating_add(1))
            .load(conn)?;
        Ok((i64::try_from(ids.len()).unwrap_or(i64::MAX) <= FEW).then_some(ids))
    }
}

/// The rolls that fit, the latest handed in first.
pub(crate) fn found(conn: &mut Conn, search: &Search) -> Result<Vec<Roll>, Error> {
    let mut query = full!().order((rolls::handed_in_s.desc(), rolls::id.desc())).into_boxed();
    if let Some(member) = search.of {
        query = query.filter(rolls::member_id.eq(member));
    }
    if let Some(state) = search.state {
        query = query.filter(rolls::state.eq(state.word()));
    }
    if let Some(from) = search.from {
        query = query.filter(rolls::handed_in_s.ge(from.0));
    }
    if let Some(to) = search.to {
        query = query.filter(rolls::handed_in_s.lt(to.0));
    }
    if let Some((at, id)) = search.after {
        let earlier = rolls::handed_in_s.lt(at).or(rolls::handed_in_s.eq(at).and(rolls::id.lt(id)));
        query = query.filter(rolls::handed_in_s.le(at)).filter(earlier);
    }
    for word in &search.words {
        if let Some(ticket) = ticket::read(word) {
            query = query.filter(rolls::ticket.eq(ticket));
            continue;
        }
        let fits = Fits::of(conn, word, search.of)?;
        query = match fits.few(conn)? {
            Some(ids) => query.filter(rolls::id.eq_any(ids)),
            None => query.filter(fitting!(fits)),
        };
    }
    let rows: Vec<Full> = query.limit(search.limit).load(conn)?;
    rows.into_iter().map(noun).collect()
}

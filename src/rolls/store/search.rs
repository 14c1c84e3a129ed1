//! The search over rolls: the rarest words lead it, by keys; the others only say what does not fit.

use diesel::prelude::*;

use super::{Full, Roll, full, noun};
use crate::clock::Moment;
use crate::db::Conn;
use crate::db::like::{lower, pattern, thought_of_anew};
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

/// What one word may mean: part of a film's name, part of an owner's, an exposure index.
struct Word {
    film: String,
    /// A member looks among their own only, so owners are no help to them: then nothing fits this.
    owner: String,
    /// None has -1.
    ei: i64,
}

/// So many rolls are found faster by the keys of what a word means, and then put in order, than by
/// going back through all that were ever handed in.
const FEW: usize = 500;

/// A page, not an export, is read by the ids of its rolls.
const MOST_BY_ID: i64 = 500;

/// A film has its rolls in order already; a long list of films is no better than one of rolls.
const FEW_FILMS: usize = 20;

/// What one word was found to mean.
enum Fit {
    /// All rolls of these films, and no others.
    Films(Vec<i64>),
    /// These rolls.
    Rolls(Vec<i64>),
    /// More than a few.
    Many,
}

impl Word {
    fn of(word: &str, own: Option<i64>) -> Word {
        let owner = if own.is_some() { String::new() } else { pattern(word) };
        Word { film: pattern(word), owner, ei: word.parse().unwrap_or(-1) }
    }

    /// What fits, unless it is many. Questions each with a key of its own: as one with "or" between,
    /// SQLite would go through all rolls, and so would PostgreSQL where one question stands within
    /// another.
    fn fit(&self, conn: &mut Conn) -> Result<Fit, Error> {
        let most = i64::try_from(FEW).unwrap_or(i64::MAX).saturating_add(1);
        let films: Vec<i64> = films::table
            .filter(lower(films::name).like(&self.film).escape('\\'))
            .select(films::id)
            .load(conn)?;
        let rolls = rolls::table.filter(thought_of_anew()).select(rolls::id).limit(most);
        let mut ids: Vec<i64> = rolls.clone().filter(rolls::film_id.eq_any(&films)).load(conn)?;
        let of_films = ids.len();
        if of_films <= FEW {
            let owners: Vec<i64> = members::table
                .filter(lower(members::name).like(&self.owner).escape('\\'))
                .select(members::id)
                .load(conn)?;
            ids.extend(rolls.clone().filter(rolls::member_id.eq_any(owners)).load::<i64>(conn)?);
            ids.extend(rolls.filter(rolls::ei.eq(self.ei)).load::<i64>(conn)?);
        }
        if ids.len() > FEW {
            return Ok(Fit::Many);
        }
        if of_films > 0 && of_films == ids.len() && films.len() <= FEW_FILMS {
            return Ok(Fit::Films(films));
        }
        Ok(Fit::Rolls(ids))
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
        let word = Word::of(word, search.of);
        query = match word.fit(conn)? {
            Fit::Films(films) => query.filter(rolls::film_id.eq_any(films)),
            Fit::Rolls(ids) => query.filter(rolls::id.eq_any(ids)),
            Fit::Many => query.filter(
                lower(films::name)
                    .like(word.film)
                    .escape('\\')
                    .or(lower(members::name).like(word.owner).escape('\\'))
                    .or(rolls::ei.eq(word.ei)),
            ),
        };
    }
    let query = query.limit(search.limit);
    let rows: Vec<Full> = if search.words.is_empty() || search.limit > MOST_BY_ID {
        query.load(conn)?
    } else {
        // What a word fits is put in order by its ids alone; only what is shown is read whole.
        let ids: Vec<i64> = query.select(rolls::id).load(conn)?;
        let shown = full!().filter(rolls::id.eq_any(ids));
        shown.order((rolls::handed_in_s.desc(), rolls::id.desc())).load(conn)?
    };
    rows.into_iter().map(noun).collect()
}

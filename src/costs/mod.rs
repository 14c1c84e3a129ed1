//! What chemistry cost: film by film, month by month, member by member. Nothing is charged here.

mod pages;
mod rules;
mod store;

use crate::clock::Span;
use crate::db::Conn;
use crate::error::Error;
use crate::web::Routes;

pub use rules::{Line, coins};

/// What a month came to.
#[derive(Clone, Debug)]
pub struct Statement {
    /// Every film with its share.
    pub lines: Vec<Line>,
    /// What was drawn for runs, in the smallest coin.
    pub for_runs: i64,
    /// What was mixed into baths, in the smallest coin.
    pub into_baths: i64,
    /// What stock-taking found missing, in the smallest coin; negative where more was found.
    pub missing: i64,
}

/// The statement of a stretch of time.
///
/// # Errors
/// As the database's.
pub fn statement(conn: &mut Conn, span: Span) -> Result<Statement, Error> {
    let facts = store::facts(conn, span)?;
    let sum = |of: fn(&rules::Draw) -> bool| {
        facts.draws.iter().filter(|d| of(d)).map(|d| d.cost).sum::<i64>()
    };
    Ok(Statement {
        for_runs: sum(|d| d.run.is_some()),
        into_baths: sum(|d| d.bath.is_some()),
        missing: sum(|d| d.run.is_none() && d.bath.is_none()),
        lines: rules::lines(&facts),
    })
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

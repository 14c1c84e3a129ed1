//! The two engines behind one type.
#![allow(missing_docs, reason = "the derive writes public items that cannot carry any")]

use diesel::prelude::*;

/// A connection to whichever engine the studio runs on.
#[derive(diesel::MultiConnection)]
pub enum Conn {
    /// Embedded SQLite.
    Sqlite(SqliteConnection),
    /// PostgreSQL.
    Postgres(PgConnection),
}

/// Asks the engine itself, written once for both: what is asked at every request is not taken
/// through the shape that holds either, which goes through a question word by word each time.
macro_rules! ask_engine {
    ($conn:expr, $engine:ident => $question:expr) => {
        match $conn {
            $crate::db::Conn::Sqlite($engine) => $question,
            $crate::db::Conn::Postgres($engine) => $question,
        }
    };
}
pub(crate) use ask_engine;

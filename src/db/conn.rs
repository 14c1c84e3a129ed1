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

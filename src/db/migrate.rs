//! Migrations: two folders of plain SQL with the same names, run under a lock so that two servers
//! may start at once.

use std::fs::File;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::Engine;
use crate::error::Error;

const SQLITE: EmbeddedMigrations = embed_migrations!("migrations/sqlite");
const POSTGRES: EmbeddedMigrations = embed_migrations!("migrations/postgres");

/// Any number of our own; the lock is per database.
const LOCK: &str = "SELECT pg_advisory_lock(7216350)";

/// Brings the database to the newest schema; says which steps were taken.
///
/// # Errors
/// When the database cannot be reached, or a step fails: the state before it then stands.
pub fn run(engine: &Engine) -> Result<Vec<String>, Error> {
    match engine {
        Engine::Sqlite(path) => {
            if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
                std::fs::create_dir_all(folder).map_err(|e| Error::broken("data folder", e))?;
            }
            let lock = File::create(path.with_extension("migrating"))
                .map_err(|e| Error::broken("migration lock", e))?;
            lock.lock().map_err(|e| Error::broken("migration lock", e))?;
            let mut conn = open_sqlite(path)?;
            steps(conn.run_pending_migrations(SQLITE))
        }
        Engine::Postgres(url) => {
            let mut conn =
                PgConnection::establish(url).map_err(|e| Error::broken("connecting", e))?;
            conn.batch_execute(LOCK).map_err(|e| Error::broken("migration lock", e))?;
            steps(conn.run_pending_migrations(POSTGRES))
        }
    }
}

/// Takes only the first steps, for reading a backup of an older schema into a scratch file.
///
/// # Errors
/// As [`run`].
pub(super) fn first(engine: &Engine, count: usize) -> Result<(), Error> {
    let Engine::Sqlite(path) = engine else {
        return Err(Error::broken("older schema", "only in a file"));
    };
    let mut conn = open_sqlite(path)?;
    for _ in 0..count {
        conn.run_next_migration(SQLITE).map_err(|e| Error::broken("migrating", e))?;
    }
    Ok(())
}

/// Takes every step back and forth again; only the tests want that.
///
/// # Errors
/// As [`run`].
pub fn down_and_up(engine: &Engine) -> Result<(), Error> {
    let broken = |e| Error::broken("migrating", e);
    match engine {
        Engine::Sqlite(path) => {
            let mut conn = open_sqlite(path)?;
            conn.revert_all_migrations(SQLITE).map_err(broken)?;
            conn.run_pending_migrations(SQLITE).map_err(broken)?;
        }
        Engine::Postgres(url) => {
            let mut conn =
                PgConnection::establish(url).map_err(|e| Error::broken("connecting", e))?;
            conn.revert_all_migrations(POSTGRES).map_err(broken)?;
            conn.run_pending_migrations(POSTGRES).map_err(broken)?;
        }
    }
    Ok(())
}

/// Steps that this program knows and the database has not taken.
///
/// # Errors
/// When the database cannot be reached.
pub fn pending(engine: &Engine) -> Result<usize, Error> {
    let broken = |e| Error::broken("migrations", e);
    match engine {
        Engine::Sqlite(path) => {
            Ok(open_sqlite(path)?.pending_migrations(SQLITE).map_err(broken)?.len())
        }
        Engine::Postgres(url) => {
            let mut conn =
                PgConnection::establish(url).map_err(|e| Error::broken("connecting", e))?;
            Ok(conn.pending_migrations(POSTGRES).map_err(broken)?.len())
        }
    }
}

fn open_sqlite(path: &std::path::Path) -> Result<SqliteConnection, Error> {
    let mut conn = SqliteConnection::establish(&path.to_string_lossy())
        .map_err(|e| Error::broken("opening the database file", e))?;
    conn.batch_execute(
        "PRAGMA busy_timeout=10000; PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    )?;
    Ok(conn)
}

fn steps<E: std::fmt::Display>(
    done: Result<Vec<diesel::migration::MigrationVersion<'_>>, E>,
) -> Result<Vec<String>, Error> {
    let done = done.map_err(|e| Error::broken("migrating", e))?;
    Ok(done.iter().map(ToString::to_string).collect())
}

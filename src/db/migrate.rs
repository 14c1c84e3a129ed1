//! Migrations: two folders of plain SQL with the same names, run under a lock so that two servers
//! may start at once, while servers of the former release go on.
//!
//! A step only adds, so that the former program goes on beside it. One that must take away or
//! narrow what the former program uses raises `schema_reach.needs` to its own number: programs that
//! do not know that step then neither start nor stay.

use std::fs::File;
use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::migration::MigrationSource;
use diesel::prelude::*;
use diesel::sql_types::BigInt;
use diesel::sqlite::Sqlite;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::{Conn, Engine};
use crate::error::Error;
use crate::secrets;

const SQLITE: EmbeddedMigrations = embed_migrations!("migrations/sqlite");
const POSTGRES: EmbeddedMigrations = embed_migrations!("migrations/postgres");

/// Any number of our own; the lock is per database.
const LOCK: &str = "SELECT pg_advisory_lock(7216350)";

/// A step waits no longer than this for a table, since everybody who asks for that table waits
/// behind it; then it lets them pass and comes again.
const PATIENCE: &str = "SET lock_timeout = '800ms'";
/// How often it comes again, a second apart.
const TURNS: u32 = 120;

/// Brings the database to the newest schema; says which steps were taken. A newer schema that this
/// program can work with is left as it is.
///
/// # Errors
/// When the database cannot be reached or is only for newer programs, or a step fails: the state
/// before it then stands.
pub fn run(engine: &Engine) -> Result<Vec<String>, Error> {
    match engine {
        Engine::Sqlite(path) => {
            if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
                std::fs::create_dir_all(folder).map_err(|e| Error::broken("data folder", e))?;
            }
            let lock = File::create(path.with_extension("migrating"))
                .map_err(|e| Error::broken("migration lock", e))?;
            lock.lock().map_err(|e| Error::broken("migration lock", e))?;
            shut_from_the_start(path)?;
            let mut conn = open_sqlite(path)?;
            fits(&mut conn, &SQLITE, |c| diesel::sql_query(NEEDS).load(c))?;
            steps(conn.run_pending_migrations(SQLITE))
        }
        Engine::Postgres(url) => {
            let mut conn =
                PgConnection::establish(url).map_err(|e| Error::broken("connecting", e))?;
            conn.batch_execute(LOCK).map_err(|e| Error::broken("migration lock", e))?;
            fits(&mut conn, &POSTGRES, |c| diesel::sql_query(NEEDS).load(c))?;
            conn.batch_execute(PATIENCE)?;
            patiently(&mut conn)
        }
    }
}

/// Takes the pending steps, each again as long as others hold what it needs.
fn patiently(conn: &mut PgConnection) -> Result<Vec<String>, Error> {
    let mut taken = Vec::new();
    let mut turns = 0;
    let broken = |e| Error::broken("migrating", e);
    while conn.has_pending_migration(POSTGRES).map_err(broken)? {
        match conn.run_next_migration(POSTGRES).map(|step| step.to_string()) {
            Ok(step) => taken.push(step),
            Err(e) if turns < TURNS && is_in_the_way(&e.to_string()) => {
                turns += 1;
                tracing::info!("a step of the schema waits for a table that is in use");
                std::thread::sleep(Duration::from_secs(1));
            }
            Err(e) => return Err(broken(e)),
        }
    }
    Ok(taken)
}

/// Whether a step failed only because others were at work.
fn is_in_the_way(message: &str) -> bool {
    message.contains("lock timeout") || message.contains("deadlock detected")
}

#[derive(QueryableByName)]
struct Reach {
    #[diesel(sql_type = BigInt)]
    needs: i64,
}

/// The step with which a schema began to say which programs may use it.
const REACH_SINCE: i64 = 48;

const NEEDS: &str = "SELECT needs FROM schema_reach";

/// Whether this program knows enough to work with the schema as it stands.
///
/// # Errors
/// A sentence when it does not, with the code `schema`.
fn fits<C, DB>(
    conn: &mut C,
    known: &impl MigrationSource<DB>,
    ask: impl FnOnce(&mut C) -> QueryResult<Vec<Reach>>,
) -> Result<(), Error>
where
    DB: diesel::backend::Backend,
    C: MigrationHarness<DB>,
{
    let broken = |e| Error::broken("migrations", e);
    let taken = conn.applied_migrations().map_err(broken)?;
    if !taken.iter().any(|v| number(&v.to_string()) == REACH_SINCE) {
        return Ok(());
    }
    let known = known.migrations().map_err(broken)?;
    judge(&ask(conn)?, known.iter().map(|m| number(&m.name().version().to_string())))
}

/// As a server asks that is at work while a newer program may have come.
///
/// # Errors
/// A sentence when this program may not go on, with the code `schema`.
pub fn may_go_on(conn: &mut Conn) -> Result<(), Error> {
    let known = MigrationSource::<Sqlite>::migrations(&SQLITE);
    let known = known.map_err(|e| Error::broken("migrations", e))?;
    let known = known.iter().map(|m| number(&m.name().version().to_string()));
    judge(&diesel::sql_query(NEEDS).load(conn)?, known)
}

fn number(version: &str) -> i64 {
    version.parse().unwrap_or(0)
}

fn judge(reach: &[Reach], known: impl Iterator<Item = i64>) -> Result<(), Error> {
    let newest = known.max().unwrap_or(0);
    match reach.first() {
        Some(Reach { needs }) if *needs > newest => Err(Error::refused(
            "schema",
            format!(
                "A newer program brought this database to a schema that needs step {needs}; this \
                 program knows no step after {newest}. Start the newer program, or restore the \
                 backup made before the upgrade."
            ),
        )),
        _ => Ok(()),
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
/// When the database cannot be reached, or is only for newer programs (code `schema`).
pub fn pending(engine: &Engine) -> Result<usize, Error> {
    let broken = |e| Error::broken("migrations", e);
    match engine {
        Engine::Sqlite(path) => {
            let mut conn = open_sqlite(path)?;
            fits(&mut conn, &SQLITE, |c| diesel::sql_query(NEEDS).load(c))?;
            Ok(conn.pending_migrations(SQLITE).map_err(broken)?.len())
        }
        Engine::Postgres(url) => {
            let mut conn =
                PgConnection::establish(url).map_err(|e| Error::broken("connecting", e))?;
            fits(&mut conn, &POSTGRES, |c| diesel::sql_query(NEEDS).load(c))?;
            Ok(conn.pending_migrations(POSTGRES).map_err(broken)?.len())
        }
    }
}

/// Makes a new database file for its owner alone; what SQLite puts beside it takes after it.
fn shut_from_the_start(path: &std::path::Path) -> Result<(), Error> {
    match secrets::owner_only(path) {
        Err(e) if e.kind() != std::io::ErrorKind::AlreadyExists => {
            Err(Error::broken("making the database file", e))
        }
        _ => Ok(()),
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

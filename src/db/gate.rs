//! The write gate: one change at a time, in the order they came.
//!
//! Optimistic retries starve under contention; a queue does not. SQLite has one writer anyway, so
//! its gate is a fair mutex before `BEGIN IMMEDIATE`. PostgreSQL's gate is a table lock, which
//! holds across servers and takes no snapshot, so that what follows reads the latest state.

use std::time::Duration;

use diesel::connection::{AnsiTransactionManager, SimpleConnection};
use parking_lot::{FairMutex, FairMutexGuard};

use super::{Conn, Engine};
use crate::error::Error;

/// The queue before the database, where one is needed.
#[derive(Debug)]
pub struct Gate(Option<FairMutex<()>>);

impl Gate {
    /// The gate this engine needs within one process.
    #[must_use]
    pub fn for_engine(engine: &Engine) -> Gate {
        Gate(engine.is_sqlite().then(|| FairMutex::new(())))
    }

    /// Waits for one's turn.
    ///
    /// # Errors
    /// [`Error::Busy`] when it does not come in time.
    pub fn wait(&self) -> Result<Option<FairMutexGuard<'_, ()>>, Error> {
        match &self.0 {
            None => Ok(None),
            Some(m) => m.try_lock_for(Duration::from_secs(10)).map(Some).ok_or(Error::Busy),
        }
    }
}

/// Begins a look at one moment of the data.
pub(super) fn begin_look(conn: &mut Conn) -> Result<(), Error> {
    begin(conn, "BEGIN", "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
}

/// Begins a change, as the only one.
pub(super) fn begin_change(conn: &mut Conn) -> Result<(), Error> {
    begin(
        conn,
        "BEGIN IMMEDIATE",
        "BEGIN ISOLATION LEVEL SERIALIZABLE; LOCK TABLE write_gate IN EXCLUSIVE MODE",
    )
}

fn begin(conn: &mut Conn, sqlite: &str, postgres: &str) -> Result<(), Error> {
    let begun = match conn {
        Conn::Sqlite(c) => AnsiTransactionManager::begin_transaction_sql(c, sqlite),
        Conn::Postgres(c) => AnsiTransactionManager::begin_transaction_sql(c, postgres),
    };
    begun.map_err(|e| {
        // BEGIN may have held though the lock did not; the connection must not keep it.
        let _ = conn.batch_execute("ROLLBACK");
        Error::from(e)
    })
}

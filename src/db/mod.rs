//! The one door to the database: `read` looks, `write` changes.
//!
//! Both engines serve the same code. A write takes the house's single write gate first, so that
//! check-then-insert is safe everywhere; a change outside a transaction does not compile, because
//! only [`Tx`] can be written through and only [`Db::write`] makes one.

pub mod acting;
mod again;
mod conn;
mod connect;
mod gate;
pub mod lease;
pub mod like;
pub mod migrate;
mod once;
pub mod portable;
mod safety;
pub mod schema;
mod together;
pub mod trail;

use std::cell::{Cell, RefCell};
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use diesel::connection::{SimpleConnection, TransactionManager};
use diesel::prelude::*;
use diesel::r2d2::Pool;
use parking_lot::Mutex;
use scheduled_thread_pool::ScheduledThreadPool;

use crate::error::Error;
use again::{again, on};
pub use conn::Conn;
pub(crate) use conn::ask_engine;
use connect::{Access, Manager};
pub use connect::{Engine, is_postgres};
pub use gate::Gate;
pub use once::Once;
pub use safety::Setting;
pub use together::Together;

type Manage = <Conn as Connection>::TransactionManager;

/// A connection inside a write transaction: holding one is the right to change data.
pub struct Tx<'a>(&'a mut Conn);

impl Tx<'_> {
    /// The connection, for the statement itself.
    pub fn conn(&mut self) -> &mut Conn {
        self.0
    }

    /// Does the work and takes it back, so that a change which must not happen takes as long as
    /// one that happens.
    ///
    /// # Errors
    /// What the work says.
    pub fn as_if<T>(
        &mut self,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, Error>,
    ) -> Result<T, Error> {
        Manage::begin_transaction(self.0)?;
        let done = work(&mut Tx(self.0));
        Manage::rollback_transaction(self.0)?;
        done
    }
}

impl Tx<'_> {
    /// Does the work, or leaves everything as it was before it: one part of a change that may fail
    /// alone.
    ///
    /// # Errors
    /// What the work says.
    pub fn attempt<T>(
        &mut self,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, Error>,
    ) -> Result<T, Error> {
        Manage::begin_transaction(self.0)?;
        let done = work(&mut Tx(self.0));
        match &done {
            Ok(_) => Manage::commit_transaction(self.0)?,
            Err(_) => Manage::rollback_transaction(self.0)?,
        }
        done
    }
}

impl std::ops::Deref for Tx<'_> {
    type Target = Conn;
    fn deref(&self) -> &Conn {
        self.0
    }
}

impl std::ops::DerefMut for Tx<'_> {
    fn deref_mut(&mut self) -> &mut Conn {
        self.0
    }
}

/// The database of one studio.
#[derive(Clone)]
pub struct Db {
    engine: Engine,
    readers: Pool<Manager>,
    writers: Pool<Manager>,
    gate: Arc<Gate>,
}

impl Db {
    /// Opens the pools; the database itself need not answer yet.
    ///
    /// # Errors
    /// When the address is of no engine this program knows.
    pub fn open(engine: &Engine) -> Result<Db, Error> {
        // Opening connections is rare work: two threads for both pools, where each would have three.
        let openers = ScheduledThreadPool::builder().num_threads(2).thread_name_pattern("connect");
        let openers = Arc::new(openers.build());
        let pool = |access, size| {
            Pool::builder()
                .thread_pool(openers.clone())
                .max_size(size)
                .min_idle(Some(0))
                .connection_timeout(Duration::from_secs(5))
                .test_on_check_out(false)
                .build_unchecked(Manager { engine: engine.clone(), access })
        };
        let writers = if engine.is_sqlite() { 1 } else { 6 };
        Ok(Db {
            engine: engine.clone(),
            readers: pool(Access::Look, 6),
            writers: pool(Access::Change, writers),
            gate: Arc::new(Gate::for_engine(engine)),
        })
    }

    /// The engine behind the door.
    #[must_use]
    pub fn engine(&self) -> &Engine {
        &self.engine
    }

    /// Connections in use and open, readers and writers together, for the metrics.
    #[must_use]
    pub fn pool_state(&self) -> (u32, u32) {
        let (r, w) = (self.readers.state(), self.writers.state());
        let open = r.connections + w.connections;
        (open - r.idle_connections - w.idle_connections, open)
    }

    /// One consistent look at the data.
    ///
    /// # Errors
    /// What `ask` says; [`Error::Busy`] when the database is away or overrun.
    pub async fn read<T: Send + 'static>(
        &self,
        ask: impl Fn(&mut Conn) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let db = self.clone();
        block(move || db.read_now(ask)).await?
    }

    /// A look that asks one question by a key, and so needs no transaction around it: on PostgreSQL
    /// a third of the way, on SQLite not even that to another thread.
    ///
    /// # Errors
    /// As [`Db::read`].
    pub async fn glance<T: Send + 'static>(
        &self,
        ask: impl Fn(&mut Conn) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        if let Some(seen) = self.at_once(&ask) {
            return seen;
        }
        let db = self.clone();
        block(move || told(&|tell| db.glimpse(&|conn| ask(conn).map(tell)))).await?
    }

    /// A look of a few questions by keys: as [`Db::read`], but asked as [`Db::glance`] is.
    ///
    /// # Errors
    /// As [`Db::read`].
    pub async fn look_briefly<T: Send + 'static>(
        &self,
        ask: impl Fn(&mut Conn) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let whole = |conn: &mut Conn| {
            gate::begin_look(conn)?;
            let conn = RefCell::new(conn);
            told(&|tell| finish(&mut conn.borrow_mut(), &|conn| ask(conn).map(tell)))
        };
        if let Some(seen) = self.at_once(&whole) {
            return seen;
        }
        self.read(ask).await
    }

    /// One change, whole or not at all. `change` may run more than once, so it must have no
    /// effect but through its transaction.
    ///
    /// # Errors
    /// What `change` says; [`Error::Busy`] when the gate or the database cannot be had in time.
    pub async fn write<T: Send + 'static>(
        &self,
        change: impl Fn(&mut Tx<'_>) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let db = self.clone();
        block(move || db.write_now(change)).await?
    }

    /// A glance where it stands. A question by a key of a file at hand takes a few microseconds,
    /// less than waking a thread for it, so on SQLite it is asked here unless it would have to wait.
    fn at_once<T>(&self, ask: &impl Fn(&mut Conn) -> Result<T, Error>) -> Option<Result<T, Error>> {
        let mut conn = self.engine.is_sqlite().then(|| self.readers.try_get())??;
        Some(ask(&mut conn)).filter(|seen| !seen.as_ref().is_err_and(Error::is_passing))
    }

    fn glimpse(&self, ask: Work<'_>) -> Result<(), Error> {
        again(&|| on(&self.readers, ask))
    }

    /// [`Db::read`] for threads that may block: workers and the command line.
    ///
    /// # Errors
    /// As [`Db::read`].
    pub fn read_now<T>(&self, ask: impl Fn(&mut Conn) -> Result<T, Error>) -> Result<T, Error> {
        told(&|tell| self.look(&|conn| ask(conn).map(tell)))
    }

    fn look(&self, ask: Work<'_>) -> Result<(), Error> {
        let whole = |conn: &mut Conn| {
            gate::begin_look(conn)?;
            finish(conn, ask)
        };
        again(&|| on(&self.readers, &whole))
    }

    /// [`Db::write`] for threads that may block: workers and the command line.
    ///
    /// # Errors
    /// As [`Db::write`].
    pub fn write_now<T>(
        &self,
        change: impl Fn(&mut Tx<'_>) -> Result<T, Error>,
    ) -> Result<T, Error> {
        told(&|tell| self.change(&|conn| change(&mut Tx(conn)).map(tell)))
    }

    /// Counts anew how the rows of each table are spread, which is what SQLite chooses keys by;
    /// PostgreSQL does so by itself. With a limit, so that it takes moments, and so that no single
    /// values are kept: with those SQLite plans a question anew for every value it is asked with.
    ///
    /// # Errors
    /// As [`Db::write`].
    pub fn count_spread(&self) -> Result<(), Error> {
        if !self.engine.is_sqlite() {
            return Ok(());
        }
        let _turn = self.gate.wait()?;
        let conn = &mut *self.writers.get()?;
        Ok(conn.batch_execute("PRAGMA analysis_limit=1000; ANALYZE;")?)
    }

    fn change(&self, work: Work<'_>) -> Result<(), Error> {
        let whole = |conn: &mut Conn| {
            gate::begin_change(conn)?;
            finish(conn, &|conn| {
                lease::check(conn)?;
                trail::with_line(conn, work)
            })
        };
        again(&|| {
            let _turn = self.gate.wait()?;
            on(&self.writers, &whole)
        })
    }
}

/// Work of any kind in one shape, so that the machinery around it is compiled once and not again
/// for each of several hundred questions.
type Work<'a> = &'a dyn Fn(&mut Conn) -> Result<(), Error>;

/// Work that tells what it found when it succeeded.
type Telling<'a, T> = &'a dyn Fn(&dyn Fn(T)) -> Result<(), Error>;

/// What the work told.
fn told<T>(work: Telling<'_, T>) -> Result<T, Error> {
    let said = Cell::new(None);
    work(&|value| said.set(Some(value)))?;
    said.take().ok_or_else(|| Error::broken("database", "the work ended without an answer"))
}

/// Does blocking work on a thread for it, on behalf of whoever acts here.
///
/// # Errors
/// [`Error::Busy`] when there is no such thread left.
pub async fn block<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Error> {
    let said = Arc::new(Mutex::new(None));
    let tell = said.clone();
    blocked(Box::new(move || *tell.lock() = Some(work()))).await?;
    said.lock().take().ok_or_else(|| Error::broken("thread", "the work ended without an answer"))
}

/// In one shape for all questions, as [`Work`] is.
fn blocked(work: Box<dyn FnOnce() + Send>) -> Pin<Box<dyn Future<Output = Result<(), Error>>>> {
    let work = actix_web::web::block(acting::carried(work));
    Box::pin(async { Ok(work.await?) })
}

/// Runs the work and closes its transaction, one way or the other.
fn finish(conn: &mut Conn, work: Work<'_>) -> Result<(), Error> {
    let done = work(conn).and_then(|()| Ok(Manage::commit_transaction(conn)?));
    if done.is_err() {
        // The connection is dropped by the pool if even this fails.
        let _ = Manage::rollback_transaction(conn);
    }
    done
}

//! Leases on jobs: several servers, each job done by one of them.
//!
//! Time is the database's own, so servers whose clocks differ agree. A lease carries a fence, a
//! number that grows with every taking; work done under it checks the fence in the same
//! transaction, so a server that slept through the end of its lease changes nothing.

use std::cell::RefCell;

use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::BigInt;

use super::schema::jobs;
use super::{Conn, Db, Tx};
use crate::error::Error;

/// A job that is ours for a while.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lease {
    name: &'static str,
    fence: i64,
}

/// How often a job is due and how long one server may have it, in seconds.
#[derive(Clone, Copy, Debug)]
pub struct Pace {
    /// From one taking to the next.
    pub every_s: i64,
    /// Until another server may take it over from one that died.
    pub at_most_s: i64,
}

thread_local! {
    static HELD: RefCell<Option<Lease>> = const { RefCell::new(None) };
}

#[derive(QueryableByName)]
struct Now {
    #[diesel(sql_type = BigInt)]
    now_s: i64,
}

/// The database's own clock, in UTC seconds.
fn clock(conn: &mut Conn) -> Result<i64, Error> {
    let sql = match conn {
        Conn::Sqlite(_) => "SELECT CAST(strftime('%s', 'now') AS INTEGER) AS now_s",
        Conn::Postgres(_) => "SELECT floor(extract(epoch FROM clock_timestamp()))::bigint AS now_s",
    };
    Ok(sql_query(sql).get_result::<Now>(conn)?.now_s)
}

impl Db {
    /// Takes a job if it is due and nobody has it.
    ///
    /// # Errors
    /// As [`Db::write`].
    pub fn take_job(
        &self,
        name: &'static str,
        holder: &str,
        pace: Pace,
    ) -> Result<Option<Lease>, Error> {
        self.write_now(|tx| {
            let now = clock(tx)?;
            let row: Option<(i64, i64, i64)> = jobs::table
                .find(name)
                .select((jobs::fence, jobs::until_s, jobs::due_s))
                .get_result(tx.conn())
                .optional()?;
            let (fence, until, due) = row.unwrap_or((0, now, now));
            // Moments further off than can be come from a clock that has gone back since.
            let is_free = now >= until || until > now.saturating_add(pace.at_most_s);
            let is_due = now >= due || due > now.saturating_add(pace.every_s);
            if !is_free || !is_due {
                return Ok(None);
            }
            let fence = fence.saturating_add(1);
            put(tx, (name, holder), fence, (now + pace.at_most_s, now + pace.every_s))?;
            Ok(Some(Lease { name, fence }))
        })
    }

    /// Gives a job back before its lease ends; one that was lost meanwhile stays lost.
    ///
    /// # Errors
    /// As [`Db::write`].
    pub fn give_back(&self, lease: &Lease) -> Result<(), Error> {
        self.write_now(|tx| {
            let ours =
                jobs::table.filter(jobs::name.eq(lease.name)).filter(jobs::fence.eq(lease.fence));
            diesel::update(ours).set(jobs::until_s.eq(0)).execute(tx.conn())?;
            Ok(())
        })
    }
}

fn put(
    tx: &mut Tx<'_>,
    (name, holder): (&str, &str),
    fence: i64,
    (until, due): (i64, i64),
) -> Result<(), Error> {
    let times = (jobs::until_s.eq(until), jobs::due_s.eq(due));
    let row = (jobs::holder.eq(holder), jobs::fence.eq(fence), times);
    if fence > 1 {
        diesel::update(jobs::table.find(name)).set(row).execute(tx.conn())?;
    } else {
        diesel::insert_into(jobs::table).values((jobs::name.eq(name), row)).execute(tx.conn())?;
    }
    Ok(())
}

/// Works under a lease: every change made meanwhile on this thread checks its fence.
pub fn under<T>(lease: &Lease, work: impl FnOnce() -> T) -> T {
    struct Back;
    impl Drop for Back {
        fn drop(&mut self) {
            HELD.with(|h| h.replace(None));
        }
    }
    HELD.with(|h| h.replace(Some(lease.clone())));
    let _back = Back;
    work()
}

/// Refuses a change whose lease another server has taken over.
pub(super) fn check(conn: &mut Conn) -> Result<(), Error> {
    let Some(lease) = HELD.with(|h| h.borrow().clone()) else { return Ok(()) };
    let fence: Option<i64> =
        jobs::table.find(lease.name).select(jobs::fence).get_result(conn).optional()?;
    if fence == Some(lease.fence) {
        return Ok(());
    }
    Err(Error::refused("lease", format!("Another server has the job {} now.", lease.name)))
}

//! From lines into the database, in place of what it held.

use std::collections::BTreeMap;
use std::path::Path;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::Text;
use sha2::{Digest, Sha256};

use super::catalog::{self, Kind, Table};
use super::reading::{Check, Next};
use super::writing;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// Rows put in by one statement.
const AT_ONCE: usize = 400;

/// Empties every table, puts the rows in, and reads them back to compare.
pub(super) fn replace(tx: &mut Tx<'_>, file: &Path) -> Result<(), Error> {
    let conn = tx.conn();
    let tables = catalog::tables(conn)?;
    let guards = empty(conn, &tables)?;
    let by_name: BTreeMap<&str, &Table> = tables.iter().map(|t| (t.name.as_str(), t)).collect();
    let mut check = Check::open(file)?;
    let mut filling: Option<Filling<'_>> = None;
    let mut sums: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    loop {
        let next = check.next()?;
        if !matches!(next, Some(Next::Row(_)))
            && let Some(full) = filling.take()
        {
            let (name, sum) = full.end(conn)?;
            sums.insert(name, sum);
        }
        match next {
            None => break,
            Some(Next::Table(name)) => {
                let table = by_name.get(name.as_str()).ok_or_else(|| {
                    Error::refused("backup", format!("The backup has a table {name} too many."))
                })?;
                filling = Some(Filling::new(table));
            }
            Some(Next::Row(line)) => {
                if let Some(filling) = &mut filling {
                    filling.row(conn, line)?;
                }
            }
        }
    }
    go_on(conn, &tables, &guards)?;
    compare(conn, &tables, &sums)
}

/// Rows of one table on their way in.
struct Filling<'a> {
    table: &'a Table,
    waiting: Vec<String>,
    digest: Sha256,
}

impl<'a> Filling<'a> {
    fn new(table: &'a Table) -> Filling<'a> {
        Filling { table, waiting: Vec::new(), digest: Sha256::new() }
    }

    fn row(&mut self, conn: &mut Conn, line: String) -> Result<(), Error> {
        self.digest.update(&line);
        self.waiting.push(line);
        if self.waiting.len() < AT_ONCE { Ok(()) } else { self.put(conn) }
    }

    fn put(&mut self, conn: &mut Conn) -> Result<(), Error> {
        if self.waiting.is_empty() {
            return Ok(());
        }
        let rows = format!("[{}]", self.waiting.join(","));
        self.waiting.clear();
        let sql = statement(self.table, matches!(conn, Conn::Postgres(_)));
        match conn {
            Conn::Sqlite(c) => sql_query(sql).bind::<Text, _>(rows).execute(c)?,
            Conn::Postgres(c) => sql_query(sql).bind::<Text, _>(rows).execute(c)?,
        };
        Ok(())
    }

    fn end(mut self, conn: &mut Conn) -> Result<(String, Vec<u8>), Error> {
        self.put(conn)?;
        Ok((self.table.name.clone(), self.digest.finalize().to_vec()))
    }
}

fn statement(table: &Table, is_postgres: bool) -> String {
    let names: Vec<String> = table.columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
    let values: Vec<String> = table
        .columns
        .iter()
        .map(|c| match (is_postgres, c.kind) {
            (false, Kind::Bytes) => format!("unhex(value ->> '$.{}')", c.name),
            (false, _) => format!("value ->> '$.{}'", c.name),
            (true, Kind::Bytes) => format!("decode(value ->> '{}', 'hex')", c.name),
            (true, Kind::Truth) => format!("(value ->> '{}')::int::boolean", c.name),
            (true, Kind::Plain) => format!("(value ->> '{}')::{}", c.name, c.made_as),
        })
        .collect();
    let (before, from) = if is_postgres {
        ("OVERRIDING SYSTEM VALUE", "jsonb_array_elements($1::jsonb) AS value")
    } else {
        ("", "json_each(?1)")
    };
    format!(
        "INSERT INTO \"{}\" ({}) {before} SELECT {} FROM {from}",
        table.name,
        names.join(", "),
        values.join(", ")
    )
}

#[derive(QueryableByName)]
struct Guard {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    made_by: String,
}

/// Empties all tables. Ledgers refuse that, and some tables count what happens to others, so the
/// triggers are taken down and put back by [`go_on`] in the same transaction.
fn empty(conn: &mut Conn, tables: &[Table]) -> Result<Vec<String>, Error> {
    if let Conn::Postgres(_) = conn {
        let names: Vec<String> = tables.iter().map(|t| format!("\"{}\"", t.name)).collect();
        for name in &names {
            conn.batch_execute(&format!("ALTER TABLE {name} DISABLE TRIGGER USER"))?;
        }
        conn.batch_execute(&format!("TRUNCATE {}", names.join(", ")))?;
        return Ok(Vec::new());
    }
    conn.batch_execute("PRAGMA defer_foreign_keys=ON")?;
    let guards: Vec<Guard> =
        sql_query("SELECT name, sql AS made_by FROM sqlite_master WHERE type = 'trigger'")
            .load(conn)?;
    for guard in &guards {
        conn.batch_execute(&format!("DROP TRIGGER \"{}\"", guard.name))?;
    }
    for table in tables.iter().rev() {
        conn.batch_execute(&format!("DELETE FROM \"{}\"", table.name))?;
    }
    Ok(guards.into_iter().map(|g| g.made_by).collect())
}

/// Puts the guards back and lets PostgreSQL's ids go on after the highest.
fn go_on(conn: &mut Conn, tables: &[Table], guards: &[String]) -> Result<(), Error> {
    for guard in guards {
        conn.batch_execute(guard)?;
    }
    if let Conn::Postgres(_) = conn {
        for table in tables {
            conn.batch_execute(&format!("ALTER TABLE \"{}\" ENABLE TRIGGER USER", table.name))?;
        }
        let ids = tables.iter().filter(|t| t.columns.iter().any(|c| c.name == "id"));
        for name in ids.map(|t| &t.name) {
            conn.batch_execute(&format!(
                "SELECT setval(s, GREATEST((SELECT MAX(id) FROM \"{name}\"), 1), \
                 EXISTS (SELECT 1 FROM \"{name}\")) \
                 FROM pg_get_serial_sequence('\"{name}\"', 'id') AS s WHERE s IS NOT NULL"
            ))?;
        }
    }
    Ok(())
}

/// Reads every table back: what stands there must be what the file says.
fn compare(
    conn: &mut Conn,
    tables: &[Table],
    sums: &BTreeMap<String, Vec<u8>>,
) -> Result<(), Error> {
    for table in tables {
        let mut digest = Sha256::new();
        writing::rows(conn, table)?.iter().for_each(|line| digest.update(line));
        let wanted = sums.get(&table.name).ok_or_else(|| {
            Error::refused("backup", format!("The backup lacks the table {}.", table.name))
        })?;
        if digest.finalize().to_vec() != *wanted {
            return Err(Error::broken("restore", format!("{} came out otherwise", table.name)));
        }
    }
    Ok(())
}

//! From the database to lines.

use std::fs::{File, OpenOptions};
use std::io::{BufWriter, Write};
use std::path::Path;

use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::Text;
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::catalog::{self, Kind, Table};
use super::{FORM, Head};
use crate::db::Conn;
use crate::error::Error;

/// Rows asked for at a time.
const AT_ONCE: usize = 5_000;

#[derive(Serialize)]
pub(super) struct Heading<'a> {
    pub(super) table: &'a str,
    pub(super) rows: usize,
}

#[derive(Serialize)]
struct Foot<'a> {
    rows: usize,
    sha256: &'a str,
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

/// A file whose bytes are counted into a digest.
struct Counted {
    file: BufWriter<File>,
    digest: Sha256,
}

impl Counted {
    fn line(&mut self, line: &str) -> Result<(), Error> {
        self.digest.update(line);
        self.digest.update("\n");
        writeln!(self.file, "{line}").map_err(|e| Error::broken("writing the backup", e))
    }

    fn json(&mut self, value: &impl Serialize) -> Result<(), Error> {
        let line = serde_json::to_string(value).map_err(|e| Error::broken("backup", e))?;
        self.line(&line)
    }
}

pub(super) fn write(conn: &mut Conn, file: &Path, made: &str) -> Result<(), Error> {
    let broken = |e| Error::broken("writing the backup", e);
    let mut out =
        Counted { file: BufWriter::new(private(file).map_err(broken)?), digest: Sha256::new() };
    let migrations = catalog::migrations(conn)?;
    out.json(&Head { wetside_backup: FORM, made: made.to_owned(), migrations })?;
    let mut total = 0;
    for table in catalog::tables(conn)? {
        let lines = rows(conn, &table)?;
        total += lines.len();
        out.json(&Heading { table: &table.name, rows: lines.len() })?;
        lines.iter().try_for_each(|line| out.line(line))?;
    }
    let sum: String = out.digest.clone().finalize().iter().map(|b| format!("{b:02x}")).collect();
    out.json(&Foot { rows: total, sha256: &sum })?;
    let file = out.file.into_inner().map_err(|e| Error::broken("writing the backup", e))?;
    file.sync_all().map_err(broken)
}

/// Every row of a table as the line it has in the file.
pub(super) fn rows(conn: &mut Conn, table: &Table) -> Result<Vec<String>, Error> {
    let is_postgres = matches!(conn, Conn::Postgres(_));
    let mut lines = Vec::new();
    loop {
        let page: Vec<Line> = sql_query(question(table, is_postgres, lines.len())).load(conn)?;
        let count = page.len();
        for Line { line } in page {
            // The engines put spaces in different places.
            let value: serde_json::Value =
                serde_json::from_str(&line).map_err(|e| Error::broken("backup", e))?;
            lines.push(value.to_string());
        }
        if count < AT_ONCE {
            return Ok(lines);
        }
    }
}

/// The next rows after so many. The page is cut out before its rows are written as JSON, or every
/// page would write all rows before it again.
fn question(table: &Table, is_postgres: bool, after: usize) -> String {
    let object = if is_postgres { "json_build_object" } else { "json_object" };
    let values: Vec<String> = table
        .columns
        .iter()
        .map(|c| {
            let name = &c.name;
            let value = match (c.kind, is_postgres) {
                (Kind::Bytes, true) => format!("encode(\"{name}\", 'hex')"),
                (Kind::Bytes, false) => {
                    format!(
                        "CASE WHEN \"{name}\" IS NULL THEN NULL ELSE lower(hex(\"{name}\")) END"
                    )
                }
                (Kind::Truth, true) => format!("\"{name}\"::int"),
                _ => format!("\"{name}\""),
            };
            format!("'{name}', {value}")
        })
        .collect();
    // Bytes in order, whatever the language of the PostgreSQL server.
    let order: Vec<String> = table
        .key
        .iter()
        .map(|name| {
            let is_text =
                table.columns.iter().any(|c| c.name == *name && c.made_as == "text" && is_postgres);
            format!("\"{name}\"{}", if is_text { " COLLATE \"C\"" } else { "" })
        })
        .collect();
    let ends = if is_postgres { ")::text" } else { ")" };
    let (values, order, name) = (values.join(", "), order.join(", "), &table.name);
    format!(
        "SELECT {object}({values}{ends} AS line FROM (SELECT * FROM \"{name}\" ORDER BY {order} \
         LIMIT {AT_ONCE} OFFSET {after}) page ORDER BY {order}"
    )
}

/// A new file that its owner alone may read.
fn private(path: &Path) -> std::io::Result<File> {
    let mut how = OpenOptions::new();
    how.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut how, 0o600);
    how.open(path)
}

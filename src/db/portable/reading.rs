//! From lines to rows, believing nothing.

use std::fs::File;
use std::io::{BufRead, BufReader, Lines};
use std::path::Path;

use serde::Deserialize;
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

use super::{FORM, Head, Held};
use crate::error::Error;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Heading {
    table: String,
    rows: u64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Foot {
    rows: u64,
    sha256: String,
}

/// What the next line is.
pub(super) enum Next {
    /// A table begins.
    Table(String),
    /// A row of it.
    Row(String),
}

/// A backup being read.
pub(super) struct Check {
    lines: Lines<BufReader<File>>,
    digest: Sha256,
    number: usize,
    head: Head,
    tables: usize,
    rows: u64,
    /// Rows of the present table that are still to come.
    left: u64,
    is_over: bool,
}

fn wrong(number: usize, what: impl std::fmt::Display) -> Error {
    Error::refused("backup", format!("This is not a whole backup: line {number}: {what}."))
}

impl Check {
    pub(super) fn open(file: &Path) -> Result<Check, Error> {
        let opened = File::open(file).map_err(|e| {
            Error::refused("backup", format!("{} cannot be read: {e}.", file.display()))
        })?;
        let mut check = Check {
            lines: BufReader::new(opened).lines(),
            digest: Sha256::new(),
            number: 0,
            head: Head { wetside_backup: FORM, made: String::new(), migrations: Vec::new() },
            tables: 0,
            rows: 0,
            left: 0,
            is_over: false,
        };
        let first = check.line()?;
        check.count(&first);
        check.head = serde_json::from_str(&first).map_err(|e| wrong(1, e))?;
        if check.head.wetside_backup != FORM {
            return Err(wrong(1, format!("form {} is unknown", check.head.wetside_backup)));
        }
        Ok(check)
    }

    fn line(&mut self) -> Result<String, Error> {
        self.number += 1;
        match self.lines.next() {
            None => Err(wrong(self.number, "the file ends too early")),
            Some(line) => line.map_err(|e| wrong(self.number, e)),
        }
    }

    fn count(&mut self, line: &str) {
        self.digest.update(line);
        self.digest.update("\n");
    }

    /// The next table or row; `None` after the last, when the sum was right.
    pub(super) fn next(&mut self) -> Result<Option<Next>, Error> {
        if self.is_over {
            return Ok(None);
        }
        let line = self.line()?;
        if self.left > 0 {
            self.left -= 1;
            self.rows += 1;
            self.count(&line);
            serde_json::from_str::<Map<String, Value>>(&line).map_err(|e| wrong(self.number, e))?;
            return Ok(Some(Next::Row(line)));
        }
        if let Ok(heading) = serde_json::from_str::<Heading>(&line) {
            self.count(&line);
            self.tables += 1;
            self.left = heading.rows;
            return Ok(Some(Next::Table(heading.table)));
        }
        let foot: Foot = serde_json::from_str(&line).map_err(|e| wrong(self.number, e))?;
        let digest = std::mem::take(&mut self.digest).finalize();
        let sum: String = digest.iter().map(|b| format!("{b:02x}")).collect();
        if foot.rows != self.rows || foot.sha256 != sum {
            return Err(wrong(self.number, "the sum does not fit: it was changed or cut"));
        }
        if self.lines.next().is_some() {
            return Err(wrong(self.number + 1, "something follows the end"));
        }
        self.is_over = true;
        Ok(None)
    }

    /// What it held, once read through.
    pub(super) fn held(self) -> Result<Held, Error> {
        if !self.is_over {
            return Err(wrong(self.number, "it was not read to its end"));
        }
        Ok(Held { head: self.head, tables: self.tables, rows: self.rows })
    }
}

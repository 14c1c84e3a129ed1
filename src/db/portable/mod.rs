//! The whole database as one file of text that either engine writes and reads.
//!
//! A head line, then for each table its name and number of rows and each row as a JSON object,
//! and a last line with the SHA-256 of everything before it. Rows come in the order of their
//! keys, columns by name, so the same studio gives the same bytes from SQLite and PostgreSQL.

mod catalog;
mod load;
mod reading;
mod writing;

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::{Db, Engine, migrate};
use crate::error::Error;
use reading::Check;

/// The first line of a backup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// The number of this form of file.
    pub wetside_backup: u32,
    /// When it was made, RFC 3339.
    pub made: String,
    /// The steps of the schema it was written from.
    pub migrations: Vec<String>,
}

/// The form of file this program writes.
const FORM: u32 = 1;

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// Its first line.
    pub head: Head,
    /// Tables.
    pub tables: usize,
    /// Rows of all tables.
    pub rows: u64,
}

/// Writes everything as it stands at one moment, while others go on, and reads it back before it
/// takes its name. Only the owner of the file can read it.
///
/// # Errors
/// As the database's, and when the file cannot be written.
pub fn write(db: &Db, file: &Path, made: &str) -> Result<Held, Error> {
    let part = beside(file, "part");
    let written = db.read_now(|conn| writing::write(conn, &part, made));
    let checked = written.and_then(|()| check(&part));
    match checked {
        Ok(held) => {
            std::fs::rename(&part, file).map_err(|e| Error::broken("naming the backup", e))?;
            Ok(held)
        }
        Err(e) => {
            // What is half there must not be taken for a backup.
            let _ = std::fs::remove_file(&part);
            Err(e)
        }
    }
}

/// Reads a backup through: whole, unchanged, every row an object.
///
/// # Errors
/// A sentence about what is wrong with it, with the line.
pub fn check(file: &Path) -> Result<Held, Error> {
    let mut check = Check::open(file)?;
    while check.next()?.is_some() {}
    check.held()
}

/// Puts what a backup holds in the place of what the database holds: checked before, compared
/// after, in one transaction. A backup of an older schema is brought to the newest first.
/// `settle` runs in the same transaction.
///
/// # Errors
/// A sentence about the backup; the database then holds what it held.
pub fn restore(
    db: &Db,
    file: &Path,
    settle: impl Fn(&mut super::Tx<'_>) -> Result<(), Error>,
) -> Result<Held, Error> {
    let held = check(file)?;
    let known = db.read_now(catalog::migrations)?;
    if held.head.migrations == known {
        db.write_now(|tx| {
            load::replace(tx, file)?;
            settle(tx)
        })?;
        return Ok(held);
    }
    if !known.starts_with(&held.head.migrations) {
        return Err(Error::refused(
            "backup",
            "This backup was made by a newer program. Install that one, or a newer one, and \
             restore again.",
        ));
    }
    let folder = beside(file, "older");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir(&folder).map_err(|e| Error::broken("a folder for the older schema", e))?;
    let raised = raise(&folder, file, &held);
    let done = raised.and_then(|newer| restore(db, &newer, settle)).map(|_| held);
    // Only a scratch copy: what is left of it does no harm.
    let _ = std::fs::remove_dir_all(&folder);
    done
}

/// A backup of the newest schema from an older one, by way of a scratch database.
fn raise(folder: &Path, file: &Path, held: &Held) -> Result<PathBuf, Error> {
    let engine = Engine::Sqlite(folder.join("older.db"));
    migrate::first(&engine, held.head.migrations.len())?;
    let scratch = Db::open(&engine)?;
    scratch.write_now(|tx| load::replace(tx, file))?;
    migrate::run(&engine)?;
    let newer = folder.join("newer.wetside");
    write(&scratch, &newer, &held.head.made)?;
    Ok(newer)
}

fn beside(file: &Path, ending: &str) -> PathBuf {
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(".");
    name.push(ending);
    file.with_file_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The schema grows by a step between the backup and the restore.
    #[test]
    fn a_backup_of_an_older_schema_is_brought_to_the_newest() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let old = Engine::Sqlite(at("old.db"));
        migrate::first(&old, 2).unwrap();
        let db = Db::open(&old).unwrap();
        let sql = "INSERT INTO members (name, role, state, day_order, hours_24, us_units, note, \
                   created_s, version) VALUES ('Ana', 'lead', 'invited', 'day_month', 1, 0, '', 5, 1)";
        db.write_now(|tx| Ok(diesel::RunQueryDsl::execute(diesel::sql_query(sql), tx.conn())?))
            .unwrap();
        write(&db, &at("old.wetside"), "then").unwrap();

        let new = Engine::Sqlite(at("new.db"));
        migrate::run(&new).unwrap();
        let db = Db::open(&new).unwrap();
        let held = restore(&db, &at("old.wetside"), |_| Ok(())).unwrap();
        assert_eq!((held.head.migrations.len(), held.rows), (2, 1));
        write(&db, &at("new.wetside"), "now").unwrap();
        assert!(std::fs::read_to_string(at("new.wetside")).unwrap().contains("\"name\":\"Ana\""));
        let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().flatten().collect();
        assert!(!left.iter().any(|f| f.path().is_dir()), "the scratch folder is gone");

        // And never the other way.
        let db = Db::open(&old).unwrap();
        let refusal = restore(&db, &at("new.wetside"), |_| Ok(())).unwrap_err();
        assert!(refusal.to_string().contains("newer program"), "{refusal}");
    }
}

//! `wetside backup` and `wetside restore`: the whole studio in one file, on either engine.

use std::path::{Path, PathBuf};

use crate::clock::{Clock, Zone};
use crate::config::Config;
use crate::db::portable::{self, Held};
use crate::db::{Db, migrate};
use crate::error::Error;
use crate::secrets::Key;
use crate::studio;

fn made() -> String {
    Zone::UTC.rfc3339(Clock::Real.now())
}

fn said(held: &Held) -> String {
    format!("{} rows of {} tables, as of {}", held.rows, held.tables, held.head.made)
}

/// Writes a backup while the studio is being served.
///
/// # Errors
/// A sentence about the database or the file.
pub fn backup(config: &Config, file: &Path) -> Result<(), Error> {
    if migrate::pending(&config.engine)? > 0 {
        return Err(Error::refused(
            "schema",
            "This program is newer than the database. Make the backup with the former program; then \
             run: wetside migrate",
        ));
    }
    let held = portable::write(&Db::open(&config.engine)?, file, &made())?;
    println!("Written and read back: {} holds {}.", file.display(), said(&held));
    println!(
        "Keep the key file {} apart from it; links in letters already sent need it.",
        config.secret_key_file.display()
    );
    Ok(())
}

/// Puts a backup in the place of what the database holds, which is backed up first.
///
/// # Errors
/// A sentence about the backup or the database, which then holds what it held.
pub fn restore(config: &Config, file: &Path) -> Result<(), Error> {
    let held = portable::check(file)?;
    println!("The backup is whole: {}.", said(&held));
    let key = Key::load(&config.secret_key_file)?;
    migrate::run(&config.engine)?;
    let db = Db::open(&config.engine)?;
    if db.read_now(studio::is_founded)? {
        let before = former(config);
        portable::write(&db, &before, &made())?;
        println!("What the database held until now is in {}.", before.display());
    }
    let had = db.read_now(studio::key_print)?;
    portable::restore(&db, file, |tx| studio::adopt(tx, &key))?;
    println!("Restored, and compared row by row.");
    if had.is_none_or(|print| print != key.print()) {
        println!(
            "If the studio came from another machine, links in letters sent there no longer open."
        );
    }
    Ok(())
}

/// Where the state before a restore is kept.
fn former(config: &Config) -> PathBuf {
    let stamp: String = made().chars().filter(char::is_ascii_alphanumeric).collect();
    config.data_dir.join(format!("before-restore-{stamp}.wetside"))
}

//! A backup every day into a folder, the oldest ones dropped.

use std::path::Path;

use crate::app::App;
use crate::clock::Moment;
use crate::db::portable;
use crate::error::Error;

const BEFORE: &str = "wetside-";
const AFTER: &str = ".wetside";

/// Makes today's backup if a folder is set and it is not there yet; says whether it did.
///
/// # Errors
/// As the database's, and when the folder cannot be used.
pub fn daily(app: &App, now: Moment) -> Result<bool, Error> {
    let Some(folder) = &app.config.backup_folder else { return Ok(false) };
    std::fs::create_dir_all(folder).map_err(|e| Error::broken("backup folder", e))?;
    let file = folder.join(format!("{BEFORE}{}{AFTER}", app.zone().date(now)));
    if file.exists() {
        return Ok(false);
    }
    portable::write(&app.db, &file, &app.zone().rfc3339(now))?;
    drop_old(folder, app.config.backup_keep)?;
    Ok(true)
}

/// Drops the oldest of our own daily files; whatever else lies there is nobody's business.
fn drop_old(folder: &Path, keep: usize) -> Result<(), Error> {
    let broken = |e| Error::broken("backup folder", e);
    let mut ours = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(broken)? {
        let name = entry.map_err(broken)?.file_name().to_string_lossy().into_owned();
        let date = name.strip_prefix(BEFORE).and_then(|n| n.strip_suffix(AFTER));
        if date.is_some_and(|d| d.parse::<chrono::NaiveDate>().is_ok()) {
            ours.push(name);
        }
    }
    ours.sort();
    let surplus = ours.len().saturating_sub(keep);
    for name in ours.iter().take(surplus) {
        std::fs::remove_file(folder.join(name)).map_err(broken)?;
    }
    Ok(())
}

//! `wetside check`: what is wrong with configuration, database and mail, in sentences.

use std::path::Path;

use crate::config::Config;
use crate::db::{Db, Engine, Setting, migrate};
use crate::error::Error;
use crate::outbox::Mailer;

/// Looks, says what it sees, and fails if anything is wrong. Sends a test letter on request.
///
/// # Errors
/// A sentence that counts what is wrong.
pub fn run(config: &Config, letter: Option<&str>) -> Result<(), Error> {
    let findings: Vec<Result<String, String>> = [
        vec![Ok(format!(
            "The settings are sound. People reach the studio at {}.",
            config.base_url
        ))],
        https(config),
        vec![key_file(&config.secret_key_file)],
        database(config),
        mail(config, letter),
    ]
    .concat();
    for finding in &findings {
        match finding {
            Ok(good) => println!("good   {good}"),
            Err(wrong) => println!("WRONG  {wrong}"),
        }
    }
    match findings.iter().filter(|f| f.is_err()).count() {
        0 => Ok(()),
        1 => Err(Error::refused("check", "One thing is wrong.")),
        n => Err(Error::refused("check", format!("{n} things are wrong."))),
    }
}

fn https(config: &Config) -> Vec<Result<String, String>> {
    let host = config.base_url.split_once("://").map_or("", |(_, host)| host);
    let here = ["localhost", "127.0.0.1", "[::1]"].iter().any(|h| host.starts_with(h));
    if config.is_https() || here {
        return Vec::new();
    }
    vec![Err(format!(
        "base_url is {}: passwords would travel in the open. Put a reverse proxy with TLS in front \
         and write https:// there.",
        config.base_url
    ))]
}

fn key_file(path: &Path) -> Result<String, String> {
    let shown = path.display();
    match std::fs::metadata(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            Ok(format!("The key file {shown} is not there yet; the first start makes it."))
        }
        Err(e) => Err(format!("The key file {shown} cannot be read: {e}.")),
        Ok(about) if about.len() != 32 => Err(format!(
            "The key file {shown} has {} bytes instead of 32. Put the right file back from the \
             backup.",
            about.len()
        )),
        Ok(about) => match loose_mode(&about) {
            None => Ok(format!("The key file {shown} is readable by its owner alone.")),
            Some(mode) => Err(format!(
                "The key file {shown} has mode {mode:o}, so others can read it. Run: chmod 600 \
                 {shown}"
            )),
        },
    }
}

#[cfg(unix)]
fn loose_mode(about: &std::fs::Metadata) -> Option<u32> {
    let mode = std::os::unix::fs::MetadataExt::mode(about) & 0o777;
    (mode & 0o077 != 0).then_some(mode)
}

#[cfg(not(unix))]
fn loose_mode(_: &std::fs::Metadata) -> Option<u32> {
    None
}

fn database(config: &Config) -> Vec<Result<String, String>> {
    let name = match &config.engine {
        Engine::Sqlite(path) => format!("The database file {}", path.display()),
        Engine::Postgres(_) => "The PostgreSQL database".to_owned(),
    };
    if let Engine::Sqlite(path) = &config.engine
        && !path.exists()
    {
        return vec![Ok(format!("{name} is not there yet; the first start makes it."))];
    }
    let pending = match migrate::pending(&config.engine) {
        Err(e) => return vec![Err(format!("{name} cannot be reached: {}", super::said(&e)))],
        Ok(0) => Ok(format!("{name} answers and has the newest schema.")),
        Ok(n) => {
            let steps = if n == 1 { "1 step".to_owned() } else { format!("{n} steps") };
            Err(format!(
                "{name} is {steps} behind this program. Back it up with the former program, then \
                 run: wetside migrate"
            ))
        }
    };
    let mut all = vec![pending];
    let settings = Db::open(&config.engine).and_then(|db| db.safety());
    match settings {
        Err(e) => all.push(Err(format!("{name} does not tell its settings: {}", super::said(&e)))),
        Ok(settings) => all.extend(settings.into_iter().map(|s| judged(&s))),
    }
    all
}

fn judged(s: &Setting) -> Result<String, String> {
    if s.is_safe {
        Ok(format!("The database's {} is {}.", s.name, s.value))
    } else {
        Err(format!(
            "The database's {} is {}; what was acknowledged may be lost in a power cut. Set it to \
             {}.",
            s.name, s.value, s.wanted
        ))
    }
}

fn mail(config: &Config, letter: Option<&str>) -> Vec<Result<String, String>> {
    let mailer = match Mailer::from_config(config) {
        Ok(mailer) => mailer,
        Err(e) => return vec![Err(format!("Mail: {}", super::said(&e)))],
    };
    let place = match &mailer {
        Mailer::Folder(folder) => format!("Letters are put in the folder {}", folder.display()),
        _ => "The mail server answers".to_owned(),
    };
    let mut all =
        vec![mailer.check().map(|()| format!("{place}.")).map_err(|said| format!("Mail: {said}"))];
    if let Some(address) = letter {
        all.push(match mailer.send_test(config, address) {
            Ok(()) => Ok(format!("The test letter to {address} was taken.")),
            Err(said) => Err(format!("The test letter to {address} was not taken: {said}")),
        });
    }
    all
}

//! `wetside demo`: the invented studio in a fresh folder.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;

use super::serve;
use crate::app::App;
use crate::clock::Clock;
use crate::config::Config;
use crate::db::Engine;
use crate::demo;
use crate::error::Error;
use crate::outbox::Mailer;

/// How the demonstration is to be served.
#[derive(Debug, Args)]
pub(super) struct Wish {
    /// Port on this machine; 0 takes a free one.
    #[arg(long, default_value_t = 8080)]
    port: u16,
    /// Keep the studio in this folder, and go on with it next time.
    #[arg(long, value_name = "DIR")]
    keep: Option<PathBuf>,
    /// Begin at this time on the studio's own clock, such as 2027-03-15T09:50.
    #[arg(long, value_name = "TIME", value_parser = wall)]
    starts_at: Option<chrono::NaiveDateTime>,
    /// Let the clock run so many times as fast, so that a day passes in minutes.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(i64).range(1..=600))]
    faster: i64,
    /// Say where it serves and who can sign in as one line of JSON.
    #[arg(long)]
    json: bool,
}

/// Makes the invented studio and serves it until stopped.
///
/// # Errors
/// A sentence about what is in the way.
pub(super) fn run(mut config: Config, wish: &Wish) -> Result<(), Error> {
    let fresh = std::env::temp_dir().join(format!("wetside-demo-{}", std::process::id()));
    let folder = wish.keep.clone().unwrap_or_else(|| fresh.clone());
    let listener = serve::listen(&format!("127.0.0.1:{}", wish.port))?;
    let address = listener.local_addr().map_err(|e| Error::broken("listening", e))?;
    settle(&mut config, &folder, &format!("http://{address}"));
    serve::start_log(&config);
    let mailer = Mailer::from_config(&config)?;
    let app = Arc::new(App::open_as(config, clock(wish)?, mailer, &demo::quillhaven())?);
    let people = demo::fill_if_new(&app)?;
    announce(&app, &people, wish.json)?;
    let served = serve::serve(&app, listener);
    if wish.keep.is_none() {
        // Only the folder made above; a leftover in the system's temporary folder does no harm.
        let _ = std::fs::remove_dir_all(&fresh);
    }
    served
}

fn wall(typed: &str) -> Result<chrono::NaiveDateTime, String> {
    let forms = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"];
    let found = forms.iter().find_map(|f| chrono::NaiveDateTime::parse_from_str(typed, f).ok());
    found.ok_or_else(|| "write a date and a time, such as 2027-03-15T09:50".to_owned())
}

fn clock(wish: &Wish) -> Result<Clock, Error> {
    let begin = wish.starts_at.map(|wall| demo::quillhaven().zone.instant(wall));
    match begin {
        None if wish.faster == 1 => Ok(Clock::Real),
        None => Ok(Clock::shown(None, wish.faster)),
        Some(Ok(at)) => Ok(Clock::shown(Some(at), wish.faster)),
        Some(Err(_)) => Err(Error::field(
            "starts-at",
            "The clocks change at that time; choose one that happens once.",
        )),
    }
}

fn settle(config: &mut Config, folder: &std::path::Path, url: &str) {
    if config.engine.is_sqlite() {
        config.engine = Engine::Sqlite(folder.join("wetside.db"));
    }
    config.secret_key_file = folder.join("secret.key");
    config.mail_folder = folder.join("letters");
    config.data_dir = folder.to_path_buf();
    url.clone_into(&mut config.base_url);
    config.demo = true;
    if config.log == "info" {
        "warn".clone_into(&mut config.log);
    }
}

fn announce(app: &App, people: &[demo::Somebody], json: bool) -> Result<(), Error> {
    if json {
        let people: Vec<_> = people
            .iter()
            .map(|p| {
                serde_json::json!({
                    "name": p.name, "email": p.email, "password": demo::PASSWORD,
                    "role": p.role.word(),
                })
            })
            .collect();
        let line = serde_json::json!({ "url": app.config.base_url, "people": people });
        println!("{line}");
    } else {
        println!("{} is open at {}", app.studio().name, app.config.base_url);
        println!("Everybody's password is {}. Sign in as:", demo::PASSWORD);
        for p in people {
            println!("  {:<28} {}, {}", p.email, p.name, p.role.word());
        }
        println!(
            "Its letters can be read at {}/demo/letters. Stop it with Ctrl+C.",
            app.config.base_url
        );
    }
    use std::io::Write;
    std::io::stdout().flush().map_err(|e| Error::broken("standard output", e))
}

//! A database for one story: a fresh file, or a clone of a template migrated once.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use wetside::config::Config;
use wetside::db::{Engine, migrate};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Sqlite,
    Postgres,
}

pub struct Place {
    folder: tempfile::TempDir,
    database: Option<String>,
}

static NUMBER: AtomicU32 = AtomicU32::new(0);
static TEMPLATE: OnceLock<String> = OnceLock::new();

/// The server the stories run on; without one they must fail, not pass.
fn server() -> String {
    std::env::var("TEST_POSTGRES_URL")
        .expect("TEST_POSTGRES_URL: set it to a PostgreSQL server, as ops/test does")
}

fn admin(sql: &str) {
    let mut conn = PgConnection::establish(&server()).unwrap();
    conn.batch_execute(sql).unwrap_or_else(|e| panic!("{sql}: {e}"));
}

/// A new database; one that an ended process of the same number left behind makes room.
fn create(name: &str, how: &str) {
    admin(&format!("DROP DATABASE IF EXISTS {name}"));
    admin(&format!("CREATE DATABASE {name} {how}"));
}

fn url_of(database: &str) -> String {
    let server = server();
    let (base, query) = match server.split_once('?') {
        Some((base, query)) => (base.to_owned(), format!("?{query}")),
        None => (server, String::new()),
    };
    let cut = base.rfind('/').unwrap();
    format!("{}/{database}{query}", &base[..cut])
}

fn template() -> &'static str {
    TEMPLATE.get_or_init(|| {
        let name = format!("wetside_template_{}", std::process::id());
        create(&name, "");
        migrate::run(&Engine::Postgres(url_of(&name))).unwrap();
        name
    })
}

impl Place {
    pub fn new(kind: Kind) -> Place {
        let folder = tempfile::tempdir().unwrap();
        let database = (kind == Kind::Postgres).then(|| {
            let number = NUMBER.fetch_add(1, Ordering::SeqCst);
            let name = format!("wetside_{}_{number}", std::process::id());
            create(&name, &format!("TEMPLATE {}", template()));
            name
        });
        Place { folder, database }
    }

    pub fn config(&self, url: &str) -> Config {
        let folder = self.folder.path().display().to_string();
        Config::read(None, |name| match name {
            "WETSIDE_DATA_DIR" => Some(folder.clone()),
            "WETSIDE_BASE_URL" => Some(url.to_owned()),
            "WETSIDE_MAIL_FROM" => Some("Quillhaven <post@quillhaven.example>".to_owned()),
            "DATABASE_URL" => self.database.as_deref().map(url_of),
            _ => None,
        })
        .unwrap()
    }
}

/// While held, the studio's database is away: the server turns connections down, or the file is
/// locked by somebody else.
pub struct Away {
    database: Option<String>,
    _lock: Option<SqliteConnection>,
}

impl Place {
    pub fn shut(&self) -> Away {
        let lock = match &self.database {
            Some(name) => {
                admin(&format!("ALTER DATABASE {name} ALLOW_CONNECTIONS false"));
                admin(&format!(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname='{name}'"
                ));
                None
            }
            None => {
                let file = self.folder.path().join("wetside.db");
                let mut conn = SqliteConnection::establish(&file.to_string_lossy()).unwrap();
                conn.batch_execute("BEGIN IMMEDIATE").unwrap();
                Some(conn)
            }
        };
        Away { database: self.database.clone(), _lock: lock }
    }
}

impl Drop for Away {
    fn drop(&mut self) {
        if let Some(name) = &self.database {
            admin(&format!("ALTER DATABASE {name} ALLOW_CONNECTIONS true"));
        }
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        if let Some(name) = &self.database {
            // The cluster is thrown away with the test run; a leftover does no harm.
            if let Ok(mut conn) = PgConnection::establish(&server()) {
                let _ = conn.batch_execute(&format!("DROP DATABASE {name} WITH (FORCE)"));
            }
        }
    }
}

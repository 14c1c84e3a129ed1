//! The invented studio in a database of its own, and servers of it as processes of their own.

use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};
use wetside::app::App;
use wetside::clock::Clock;
use wetside::config::Config;
use wetside::outbox::Mailer;
use wetside::{demo, sessions};

/// Which database.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
}

/// A studio with its database, its key and somebody's token.
pub struct Studio {
    pub engine: Engine,
    pub app: Arc<App>,
    pub token: String,
    pub member: i64,
    folder: tempfile::TempDir,
    database: Option<String>,
}

static NUMBER: AtomicU32 = AtomicU32::new(0);

fn server() -> String {
    std::env::var("TEST_POSTGRES_URL").expect("TEST_POSTGRES_URL names a PostgreSQL")
}

fn admin(sql: &str) {
    PgConnection::establish(&server()).unwrap().batch_execute(sql).unwrap();
}

fn url_of(database: &str) -> String {
    let server = server();
    let (base, query) = server.split_once('?').unwrap_or((&server, ""));
    let cut = base.rfind('/').unwrap();
    let query = if query.is_empty() { String::new() } else { format!("?{query}") };
    format!("{}/{database}{query}", &base[..cut])
}

impl Studio {
    pub fn new(engine: Engine) -> Studio {
        let folder = tempfile::tempdir().unwrap();
        let database = (engine == Engine::Postgres).then(|| {
            let number = NUMBER.fetch_add(1, Ordering::SeqCst);
            let name = format!("wetside_bench_{}_{number}", std::process::id());
            admin(&format!("CREATE DATABASE {name}"));
            name
        });
        let url = database.as_deref().map(url_of);
        let data = folder.path().display().to_string();
        let config = Config::read(None, |name| match name {
            "WETSIDE_DATA_DIR" => Some(data.clone()),
            "DATABASE_URL" => url.clone(),
            _ => None,
        });
        let mut config = config.unwrap();
        config.quick_hashes = true;
        let mailer = Mailer::Memory(Arc::default());
        let app = App::open_as(config, Clock::Real, mailer, &demo::quillhaven()).unwrap();
        demo::fill(&app).unwrap();
        let now = app.clock.now();
        let ids = app.db.read_now(wetside::members::everybody).unwrap();
        let member = ids.iter().find(|(_, name)| name.starts_with("Ilse")).unwrap().0;
        let token = app.db.write_now(|tx| sessions::issue_token(tx, now, member, "bench")).unwrap();
        Studio { engine, app: Arc::new(app), token, member, folder, database }
    }

    fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Starts one server; returns it when it answers.
    pub fn serve(&self) -> Server {
        let bin = std::env::var("WETSIDE_BIN").expect("WETSIDE_BIN names the program");
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let mut command = Command::new(bin);
        command
            .arg("serve")
            .env("WETSIDE_DATA_DIR", self.folder())
            .env("WETSIDE_LISTEN", format!("127.0.0.1:{port}"))
            .env("WETSIDE_LOG", "error")
            .env("DATABASE_URL", self.database.as_deref().map(url_of).unwrap_or_default())
            .stdout(Stdio::null());
        let child = command.spawn().unwrap();
        let server = Server { child, url: format!("http://127.0.0.1:{port}"), port };
        server.wait();
        server
    }
}

impl Drop for Studio {
    fn drop(&mut self) {
        if let Some(name) = &self.database {
            admin(&format!("DROP DATABASE {name} WITH (FORCE)"));
        }
    }
}

/// A server as a process of its own.
pub struct Server {
    child: Child,
    pub url: String,
    port: u16,
}

impl Server {
    fn wait(&self) {
        let begun = Instant::now();
        while TcpStream::connect(("127.0.0.1", self.port)).is_err() {
            assert!(begun.elapsed() < Duration::from_secs(30), "the server does not come up");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// As a power cut would: no goodbye.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A client with its own connection.
pub fn agent() -> ureq::Agent {
    ureq::Agent::config_builder()
        .http_status_as_error(false)
        .timeout_global(Some(Duration::from_secs(60)))
        .build()
        .into()
}

/// The value at that share of a sorted list.
pub fn at(sorted: &[Duration], share: f64) -> Duration {
    let last = sorted.len().saturating_sub(1);
    sorted.get((last as f64 * share).round() as usize).copied().unwrap_or_default()
}

//! The program as a process: how it starts, how it stops, and what it says when its database is
//! away.

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use wetside::db::{Db, Engine};
use wetside::sessions::Role;

use crate::house::{Api, Browser};
use crate::sign_in::sign_in;

/// A served studio of its own; killed if its story ends early.
struct Served {
    child: Child,
    address: SocketAddr,
}

fn free_address() -> SocketAddr {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap()
}

/// The program for a studio in this folder, to be given its words.
fn program(folder: &Path, address: SocketAddr) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wetside"));
    command
        .env_remove("DATABASE_URL")
        .env("WETSIDE_DATA_DIR", folder)
        .env("WETSIDE_LISTEN", address.to_string())
        .env("WETSIDE_BASE_URL", format!("http://{address}"));
    command
}

/// What the program printed, and on which of its two ways, and whether it ended well.
fn told(folder: &Path, served: &Served, words: &[&str]) -> (bool, String, String) {
    let out = program(folder, served.address).args(words).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (out.status.success(), text(&out.stdout), text(&out.stderr))
}

/// The path of the link that the program printed.
fn link(folder: &Path, served: &Served, words: &[&str]) -> String {
    let (well, printed, complaint) = told(folder, served, words);
    assert!(well, "{words:?}: {complaint}");
    let base = format!("http://{}", served.address);
    let word = printed.split_whitespace().find_map(|w| w.strip_prefix(&base));
    word.unwrap_or_else(|| panic!("no link in {printed}")).to_owned()
}

impl Served {
    fn start(folder: &Path) -> Served {
        let address = free_address();
        let child = program(folder, address)
            .arg("serve")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let served = Served { child, address };
        let begun = Instant::now();
        while !served.is_ready() {
            assert!(begun.elapsed() < Duration::from_secs(60), "the server does not become ready");
            std::thread::sleep(Duration::from_millis(20));
        }
        served
    }

    fn is_ready(&self) -> bool {
        let Ok(mut line) = TcpStream::connect(self.address) else { return false };
        let ask = "GET /readyz HTTP/1.1\r\nHost: studio\r\nConnection: close\r\n\r\n";
        line.write_all(ask.as_bytes()).is_ok() && whole(&mut line).starts_with("HTTP/1.1 200")
    }

    fn terminate(&self) {
        let told = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status();
        assert!(told.unwrap().success());
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // Already gone where the story went well.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn whole(line: &mut TcpStream) -> String {
    line.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    let mut answer = Vec::new();
    let _ = line.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

#[test]
fn told_to_stop_it_answers_what_it_began_and_ends_well() {
    let folder = tempfile::tempdir().unwrap();
    let mut served = Served::start(folder.path());
    let body = "email=nobody%40quillhaven.example&password=a+gannet+over+the+harbour";
    let (first, rest) = body.split_at(20);
    let mut line = TcpStream::connect(served.address).unwrap();
    let head = format!(
        "POST /sign-in HTTP/1.1\r\nHost: {}\r\nSec-Fetch-Site: same-origin\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n",
        served.address,
        body.len()
    );
    line.write_all(head.as_bytes()).unwrap();
    line.write_all(first.as_bytes()).unwrap();
    // The request has begun; the rest of it comes after the signal.
    std::thread::sleep(Duration::from_millis(300));
    served.terminate();
    std::thread::sleep(Duration::from_millis(300));
    line.write_all(rest.as_bytes()).unwrap();
    let answer = whole(&mut line);
    assert!(answer.starts_with("HTTP/1.1 422"), "{answer}");
    assert!(answer.contains("do not go together"), "{answer}");
    let ended = served.child.wait().unwrap();
    assert!(ended.success(), "{ended}");
    assert!(TcpStream::connect(served.address).is_err(), "nobody listens any more");
    // What it left behind opens again without repair.
    Served::start(folder.path());
}

#[test]
fn who_keeps_the_server_lets_people_in_by_hand() {
    let folder = tempfile::tempdir().unwrap();
    let (folder, served) = (folder.path(), Served::start(folder.path()));
    let browser = || Browser::new(&format!("http://{}", served.address), None);
    let (old, new) = ("maren@quillhaven.example", "maren.aboard@quillhaven.example");
    let (first, second) = ("seven gannets over a tin roof", "nine lamps along the outer quay");

    let words = ["member", "add", "--name", "Maren", "--email", old, "--role", "lead"];
    let b = browser();
    let invited = link(folder, &served, &words);
    b.get(&invited).is(200).says("Maren");
    b.post(&invited, &[("name", "Maren"), ("password", first)]).is(303);
    b.get("/members").is(200);

    let reset = link(folder, &served, &["member", "reset", old]);
    browser().post(&reset, &[("password", second)]).is(303);
    sign_in(&browser(), old, first).is(422);
    sign_in(&browser(), old, second).is(303);

    // The old mailbox is lost: the new one alone is asked.
    let moved = link(folder, &served, &["member", "address", old, new]);
    browser().post(&moved, &[]);
    sign_in(&browser(), old, second).is(422);
    sign_in(&browser(), new, second).is(303);
    let (well, _, complaint) = told(folder, &served, &["member", "address", new, new]);
    assert!(!well && complaint.contains(new), "{complaint}");

    let (well, token, _) = told(folder, &served, &["token", new, "--label", "door display"]);
    assert!(well);
    let api = Api::new(&format!("http://{}", served.address), Some(token.trim().to_owned()));
    assert_eq!(api.get("/api/v1/me").is(200).json()["role"], "lead");

    for words in [&["member", "reset", old][..], &["token", old, "--label", "x"]] {
        let (well, printed, complaint) = told(folder, &served, words);
        assert!(!well && printed.is_empty(), "{printed}");
        assert!(complaint.contains("No member signs in with"), "{complaint}");
    }
    let (_, said, complaint) = told(folder, &served, &["check"]);
    assert!(format!("{said}{complaint}").contains("atabase"), "{said}{complaint}");
}

#[test]
fn a_server_that_a_newer_schema_is_not_for_stops_and_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let mut served = Served::start(folder.path());
    let db = Db::open(&Engine::Sqlite(folder.path().join("wetside.db"))).unwrap();
    let raised = db.write_now(|tx| {
        let sql = "UPDATE schema_reach SET needs = 90000000000001";
        Ok(diesel::RunQueryDsl::execute(diesel::sql_query(sql), tx.conn())?)
    });
    assert_eq!(raised.unwrap(), 1);
    let ended = served.child.wait().unwrap();
    assert!(!ended.success(), "{ended}");
    for words in [&["serve"][..], &["migrate"], &["backup", "/nowhere/at/all"]] {
        let (well, _, complaint) = told(folder.path(), &served, words);
        assert!(!well && complaint.contains("Start the newer program"), "{words:?}: {complaint}");
    }
}

#[test]
fn files_with_secrets_that_others_can_read_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path());
    let open = |path: &Path, mode| {
        let mode = std::os::unix::fs::PermissionsExt::from_mode(mode);
        std::fs::set_permissions(path, mode).unwrap();
    };
    for name in ["wetside.db", "wetside.db-wal"] {
        let about = std::fs::metadata(folder.path().join(name)).unwrap();
        let mode = std::os::unix::fs::MetadataExt::mode(&about) & 0o777;
        assert_eq!(mode, 0o600, "{name}");
    }
    let key = folder.path().join("secret.key");
    for (mode, fits) in [(0o644, false), (0o620, false), (0o640, true), (0o400, true)] {
        open(&key, mode);
        let (_, _, complaint) =
            told(folder.path(), &served, &["token", "ben@x.example", "--label", "x"]);
        let refused = complaint.contains(&format!("chmod 600 {}", key.display()));
        assert_eq!(refused, !fits, "{mode:o}: {complaint}");
    }
    let settings = folder.path().join("wetside.toml");
    std::fs::write(&settings, "metrics_token = \"a lantern at the quay\"\n").unwrap();
    let asked = ["--config", settings.to_str().unwrap(), "migrate"];
    open(&settings, 0o644);
    let (well, _, complaint) = told(folder.path(), &served, &asked);
    assert!(!well && complaint.contains("chmod 600"), "{complaint}");
    assert!(!complaint.contains("lantern"), "{complaint}");
    open(&settings, 0o600);
    let (well, _, complaint) = told(folder.path(), &served, &asked);
    assert!(well, "{complaint}");
    std::fs::write(&settings, "listen = \"127.0.0.1:1\"\n").unwrap();
    open(&settings, 0o644);
    let (well, _, complaint) = told(folder.path(), &served, &asked);
    assert!(well, "nothing in it is secret: {complaint}");
}

#[test]
fn a_studio_is_backed_up_while_served_and_moves_to_another_machine() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let served = Served::start(here.path());
    let (email, password) = ("maren@quillhaven.example", "seven gannets over a tin roof");
    let words = ["member", "add", "--name", "Maren", "--email", email, "--role", "lead"];
    let invited = link(here.path(), &served, &words);
    Browser::new(&format!("http://{}", served.address), None)
        .post(&invited, &[("name", "Maren"), ("password", password)])
        .is(303);
    let file = here.path().join("studio.wetside");
    let name = file.to_str().unwrap();
    let (well, said, complaint) = told(here.path(), &served, &["backup", name]);
    assert!(well && said.contains("Written and read back"), "{said}{complaint}");
    let mode = std::os::unix::fs::PermissionsExt::mode(&file.metadata().unwrap().permissions());
    assert_eq!(mode & 0o777, 0o600, "it holds everybody's data");

    let other = Served::start(there.path());
    let b = Browser::new(&format!("http://{}", other.address), None);
    sign_in(&b, email, password).is(422);
    let (well, said, complaint) = told(there.path(), &other, &["restore", name]);
    assert!(well && said.contains("compared row by row"), "{said}{complaint}");
    assert!(said.contains("before-restore-"), "what was there is kept: {said}");
    // Served all the while, by the same process.
    sign_in(&b, email, password).is(303);
    drop(other);
    let again = Served::start(there.path());
    sign_in(&Browser::new(&format!("http://{}", again.address), None), email, password).is(303);

    std::fs::write(&file, "nothing of the kind").unwrap();
    let (well, _, complaint) = told(there.path(), &served, &["restore", name]);
    assert!(!well && complaint.contains("not a whole backup"), "{complaint}");
}

on_both!(while_the_database_is_away_people_are_told_and_nothing_needs_a_restart, |house| {
    let ana = house.person("Ana", Role::Member);
    let api = house.api(&ana);
    ana.get("/board").is(200);
    let away = house.database_away();
    let told = ana.post("/me/tokens", &[("label", "Door display")]).is(503);
    assert!(told.headers.contains_key("retry-after"), "{:?}", told.headers);
    assert!(told.body.contains("<h1"), "a page, not a bare sentence: {}", told.body);
    let booking = serde_json::json!({
        "sink_id": 1, "starts": "2027-03-15T18:00:00Z", "ends": "2027-03-15T19:00:00Z"
    });
    let told = api.post("/api/v1/bookings", &booking).is(503);
    assert_eq!(told.headers["content-type"], "application/problem+json");
    assert_eq!(told.json()["type"], "/problems/busy");
    if !house.app.db.engine().is_sqlite() {
        // A locked SQLite file can still be read; a server that is away cannot.
        ana.get("/board").is(503).says("try again");
        ana.get("/readyz").is(503);
    }
    ana.get("/healthz").is(200);
    drop(away);
    ana.get("/board").is(200);
    ana.get("/readyz").is(200);
    ana.get("/me").is(200).says("Ana");
});

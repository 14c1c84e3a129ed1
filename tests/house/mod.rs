//! A whole studio for one story: its own database, a fixed clock, a real server on a free port.

mod browser;
mod database;

use std::sync::{Arc, Mutex};

use actix_web::dev::ServerHandle;
use diesel::prelude::*;
use wetside::app::App;
use wetside::clock::{Clock, Moment, Zone};
use wetside::config::Config;
use wetside::db::schema::members;
use wetside::outbox::{self, Mailer, Sent};
use wetside::safety;
use wetside::sessions::{self, Role};
use wetside::studio::{self, Joining, Studio};

pub use browser::{Answer, Api, Browser};
use database::Place;
pub use database::{Away, Kind};

/// Runs one story on both databases.
#[macro_export]
macro_rules! on_both {
    ($name:ident, |$house:ident| $body:block) => {
        mod $name {
            #[allow(unused_imports)]
            use super::*;

            fn story($house: &$crate::house::House) $body

            #[test]
            fn on_sqlite() {
                story(&$crate::house::House::open($crate::house::Kind::Sqlite));
            }

            #[test]
            fn on_postgres() {
                story(&$crate::house::House::open($crate::house::Kind::Postgres));
            }
        }
    };
}

/// A studio that lives as long as its story.
pub struct House {
    pub app: Arc<App>,
    pub clock: Clock,
    pub url: String,
    letters: Arc<Mutex<Vec<Sent>>>,
    server: ServerHandle,
    /// The database goes with it.
    place: Place,
}

/// A second server of one studio, over the same database and clock.
pub struct Second {
    pub app: Arc<App>,
    pub url: String,
    pub server: ServerHandle,
    pub thread: std::thread::JoinHandle<()>,
}

/// Serves on a thread of its own, and says how to stop it.
fn serve(
    app: &Arc<App>,
    listener: std::net::TcpListener,
) -> (ServerHandle, std::thread::JoinHandle<()>) {
    let (send, receive) = std::sync::mpsc::channel();
    let serving = app.clone();
    let thread = std::thread::spawn(move || {
        actix_web::rt::System::new().block_on(async move {
            let server = wetside::cli::serve::start(&serving, listener).unwrap();
            send.send(server.handle()).unwrap();
            server.await.unwrap();
        });
    });
    (receive.recv().unwrap(), thread)
}

/// Monday 15 March 2027, 10:00 in Dublin.
pub const MORNING: Moment = Moment(1_805_104_800);

impl House {
    pub fn open(kind: Kind) -> House {
        House::open_with(kind, |_| {})
    }

    pub fn open_with(kind: Kind, settle: impl FnOnce(&mut Config)) -> House {
        let place = Place::new(kind);
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let url = format!("http://{}", listener.local_addr().unwrap());
        let mut config = place.config(&url);
        config.quick_hashes = true;
        settle(&mut config);
        let clock = Clock::fixed(MORNING);
        let letters = Arc::new(Mutex::new(Vec::new()));
        let mailer = Mailer::Memory(letters.clone());
        let first = Studio {
            name: "Quillhaven Commons Darkroom".to_owned(),
            zone: Zone::named("Europe/Dublin").unwrap(),
            joining: Joining::Application,
            ..studio::unnamed()
        };
        let app = Arc::new(App::open_as(config, clock.clone(), mailer, &first).unwrap());
        let (server, _thread) = serve(&app, listener);
        House { app, clock, url, letters, server, place }
    }

    /// Starts a second server of this studio.
    pub fn second(&self) -> Second {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let url = format!("http://{}", listener.local_addr().unwrap());
        let mailer = Mailer::Memory(Arc::default());
        let app = App::open(self.app.config.clone(), self.clock.clone(), mailer).unwrap();
        let app = Arc::new(app);
        let (server, thread) = serve(&app, listener);
        Second { app, url, server, thread }
    }

    /// Takes the database away until the answer is dropped.
    pub fn database_away(&self) -> Away {
        self.place.shut()
    }

    /// Somebody who is not signed in.
    pub fn browser(&self) -> Browser {
        Browser::new(&self.url, None)
    }

    /// A signed-in person, put straight into the database; members and leads have read the notes
    /// there are.
    pub fn person(&self, name: &str, role: Role) -> Browser {
        let id = self.put_person(name, role);
        let now = self.clock.now();
        if role != Role::Newcomer {
            self.app.db.write_now(|tx| safety::take_as_read(tx, now, id)).unwrap();
        }
        let token =
            self.app.db.write_now(|tx| sessions::open(tx, now, id, "story", "127.0.0.1")).unwrap();
        let cookie = format!("{}={token}", self.app.cookie_name());
        let mut browser = Browser::new(&self.url, Some(cookie));
        browser.id = id;
        browser
    }

    /// A member row without a way in; their address is their name at the studio.
    pub fn put_person(&self, name: &str, role: Role) -> i64 {
        let email = format!("{}@quillhaven.example", name.to_lowercase().replace(' ', "."));
        let now = self.clock.now().0;
        self.app
            .db
            .write_now(|tx| {
                Ok(diesel::insert_into(members::table)
                    .values((
                        members::name.eq(name),
                        members::email.eq(&email),
                        members::email_key.eq(&email),
                        members::role.eq(role.word()),
                        members::state.eq("active"),
                        members::verified_s.eq(now),
                        members::day_order.eq("day_month"),
                        members::hours_24.eq(true),
                        members::us_units.eq(false),
                        members::note.eq(""),
                        members::created_s.eq(now),
                        members::version.eq(1),
                    ))
                    .returning(members::id)
                    .get_result::<i64>(tx.conn())?)
            })
            .unwrap()
    }

    /// An API token of somebody.
    pub fn api(&self, of: &Browser) -> Api {
        let now = self.clock.now();
        let token =
            self.app.db.write_now(|tx| sessions::issue_token(tx, now, of.id, "story")).unwrap();
        Api::new(&self.url, Some(token))
    }

    /// Sends what is due; returns how many letters there are now.
    pub fn deliver(&self) -> usize {
        while outbox::turn(&self.app, "story").unwrap() > 0 {}
        self.letters.lock().unwrap().len()
    }

    /// All letters sent so far.
    pub fn letters(&self) -> Vec<Sent> {
        self.deliver();
        self.letters.lock().unwrap().clone()
    }

    /// The address of the first link in the latest letter to somebody.
    pub fn link_to(&self, address: &str) -> String {
        let letters = self.letters();
        let letter = letters.iter().rev().find(|l| l.to == address).expect("a letter to them");
        let word = letter.text.split_whitespace().find(|w| w.starts_with(&self.url));
        word.expect("a link in the letter").strip_prefix(&self.url).unwrap().to_owned()
    }
}

impl Drop for House {
    fn drop(&mut self) {
        // Tells the server to go; its thread ends by itself.
        std::mem::drop(self.server.stop(false));
    }
}

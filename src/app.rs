//! One server of one studio: everything a request may need, and the list of rooms.

use std::sync::atomic::AtomicBool;
use std::sync::{Arc, RwLock};

use actix_web::http::Uri;
use parking_lot::Mutex;

pub use crate::bookings::{Collision, Followed};
use crate::bookings::{KnownDays, Place};
use crate::clock::{Clock, Moment, Month, Zone};
use crate::config::Config;
use crate::db::{Conn, Db, Tx, migrate};
use crate::error::Error;
use crate::keeping::{self, Keeping};
use crate::outbox::Mailer;
use crate::pulse::Watch;
pub use crate::safety::Missing;
use crate::secrets::Key;
use crate::sessions::{Browsers, Person, Taste};
use crate::studio::{self, Studio};
use crate::web::{Assets, KeptPages, Metrics, Pages, Routes, Words};

/// One server of one studio.
pub struct App {
    /// The settings of the server.
    pub config: Config,
    /// The one door to the database.
    pub db: Db,
    /// The clock.
    pub clock: Clock,
    /// The key behind links in letters.
    pub key: Key,
    /// The templates.
    pub pages: Pages,
    /// The static files.
    pub assets: Arc<Assets>,
    /// The figures.
    pub metrics: Metrics,
    /// The way letters leave.
    pub mailer: Mailer,
    /// Pages made a moment ago.
    pub kept: KeptPages,
    /// Days of the board read a moment ago.
    pub days: KnownDays,
    /// Browsers recognised a moment ago.
    pub browsers: Browsers,
    /// What open pages are told of changes.
    pub watch: Arc<Watch>,
    /// The turn to plan a large day: it takes a processor of its own, so a server plans one at a
    /// time.
    pub planning: Mutex<()>,
    /// Set when a newer program changed the schema in a way that this one cannot work with.
    pub outgrown: AtomicBool,
    studio: RwLock<Arc<Studio>>,
    keeping: RwLock<Keeping>,
}

impl App {
    /// Opens the house: migrates the database, founds the studio if it is new, reads the
    /// templates.
    ///
    /// # Errors
    /// A sentence about what is in the way.
    pub fn open(config: Config, clock: Clock, mailer: Mailer) -> Result<App, Error> {
        App::open_as(config, clock, mailer, &studio::unnamed())
    }

    /// As [`App::open`], with what a new studio is called.
    ///
    /// # Errors
    /// As [`App::open`].
    pub fn open_as(
        config: Config,
        clock: Clock,
        mailer: Mailer,
        first: &Studio,
    ) -> Result<App, Error> {
        let key = Key::load(&config.secret_key_file)?;
        migrate::run(&config.engine)?;
        let db = Db::open(&config.engine)?;
        let studio = db.write_now(|tx| studio::found(tx, &key, first))?;
        let assets = Arc::new(Assets::load());
        let pages = Pages::load(&assets)?;
        let metrics = Metrics::new()?;
        let studio = RwLock::new(Arc::new(studio));
        let keeping = RwLock::new(db.read_now(keeping::load)?);
        Ok(App {
            config,
            db,
            clock,
            key,
            pages,
            assets,
            metrics,
            mailer,
            kept: KeptPages::default(),
            days: KnownDays::default(),
            browsers: Browsers::default(),
            watch: Arc::default(),
            planning: Mutex::default(),
            outgrown: AtomicBool::new(false),
            studio,
            keeping,
        })
    }

    /// The studio's settings, at most a few seconds old.
    #[must_use]
    pub fn studio(&self) -> Arc<Studio> {
        match self.studio.read() {
            Ok(studio) => studio.clone(),
            Err(poisoned) => poisoned.into_inner().clone(),
        }
    }

    /// How long things are kept and what is asked of leads, at most a few seconds old.
    #[must_use]
    pub fn keeping(&self) -> Keeping {
        match self.keeping.read() {
            Ok(keeping) => keeping.clone(),
            Err(poisoned) => poisoned.into_inner().clone(),
        }
    }

    /// Reads the studio's settings again, after a change here or on another server.
    ///
    /// # Errors
    /// As the database's.
    pub fn refresh_studio(&self) -> Result<(), Error> {
        let (studio, keeping) =
            self.db.read_now(|conn| Ok((studio::load(conn)?, keeping::load(conn)?)))?;
        match self.keeping.write() {
            Ok(mut kept) => *kept = keeping,
            Err(poisoned) => *poisoned.into_inner() = keeping,
        }
        let fresh = Arc::new(studio);
        match self.studio.write() {
            Ok(mut studio) => *studio = fresh,
            Err(poisoned) => *poisoned.into_inner() = fresh,
        }
        Ok(())
    }

    /// The studio's time zone.
    #[must_use]
    pub fn zone(&self) -> Zone {
        self.studio().zone
    }

    /// The month that was written as `2027-03`; the present one where none was.
    #[must_use]
    pub fn month(&self, written: &str) -> Month {
        Month::read(written).unwrap_or_else(|| Month::of(self.zone().date(self.clock.now())))
    }

    /// Where and when a change is made: now, on the studio's clock, at this address.
    #[must_use]
    pub fn place(&self) -> Place {
        Place { now: self.clock.now(), zone: self.zone(), address: self.config.base_url.clone() }
    }

    /// Dates and times in words for this reader, on the studio's wall clock.
    #[must_use]
    pub fn words(&self, person: Option<&Person>) -> Words {
        let taste = person.map_or_else(Taste::default, |p| p.taste.clone());
        Words::in_studio(self.zone(), &taste)
    }

    /// The session cookie's name; browsers bind the prefixed one to this very host and to TLS.
    #[must_use]
    pub fn cookie_name(&self) -> &'static str {
        if self.config.is_https() { "__Host-wetside" } else { "wetside" }
    }

    /// The host part of the base address, for Message-IDs.
    #[must_use]
    pub fn host(&self) -> String {
        let uri: Option<Uri> = self.config.base_url.parse().ok();
        uri.and_then(|u| u.host().map(ToOwned::to_owned)).unwrap_or_else(|| "localhost".to_owned())
    }
}

/// What the rooms give back when a member leaves, in the transaction of the leaving.
///
/// # Errors
/// As the database's.
pub fn leaving(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    crate::bookings::release_all_of(tx, now, member)?;
    crate::bookings::waitlist::forget_member(tx, member)?;
    crate::presence::forget_member(tx, now, member)?;
    crate::calendar::forget_member(tx, member)?;
    crate::wall::forget_member(tx, member)
}

/// What follows when the studio hangs its clock in another zone, in the transaction that does it.
///
/// # Errors
/// As the database's.
pub fn follow_clock(
    tx: &mut Tx<'_>,
    (now, zone): (Moment, Zone),
    (address, by): (&str, &Person),
) -> Result<Followed, Error> {
    let place = Place { now, zone, address: address.to_owned() };
    crate::bookings::follow_clock(tx, &place, by)
}

/// What comes with a new studio, in the transaction that sets it up.
///
/// # Errors
/// As the database's.
pub fn founded(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    crate::safety::post_starting_set(tx, now)
}

/// What somebody must still do before they can book by themselves.
///
/// # Errors
/// As the database's.
pub fn missing_before_booking(conn: &mut Conn, person: &Person) -> Result<Vec<Missing>, Error> {
    crate::safety::missing_before_booking(conn, person)
}

/// What the rooms keep about a member, for them to take along.
///
/// # Errors
/// As the database's.
pub fn belongings(conn: &mut Conn, member: i64) -> Result<serde_json::Value, Error> {
    crate::belongings::of(conn, member)
}

/// Every door of the house.
pub fn routes(open: &mut Routes) {
    crate::web::routes(open);
    crate::outbox::routes(open);
    crate::members::routes(open);
    crate::keeping::routes(open);
    crate::safety::routes(open);
    crate::incidents::routes(open);
    crate::pulse::routes(open);
    crate::sinks::routes(open);
    crate::customs::routes(open);
    crate::duty::routes(open);
    crate::bookings::routes(open);
    crate::series::routes(open);
    crate::presence::routes(open);
    crate::calendar::routes(open);
    crate::wall::routes(open);
    crate::recipes::routes(open);
    crate::rolls::routes(open);
    crate::shelf::routes(open);
    crate::waste::routes(open);
    crate::baths::routes(open);
    crate::costs::routes(open);
    crate::day::routes(open);
    crate::month::routes(open);
    crate::front::routes(open);
    crate::find::routes(open);
    crate::api::routes(open);
}

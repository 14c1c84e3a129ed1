//! The invented studio: people, room, chart, rolls and baths, made by the house's own verbs.

mod chart;
mod people;
mod rolls;
mod room;

use crate::app::App;
use crate::baths::{self, Kind, NewBath, Use};
use crate::bookings::Place;
use crate::clock::Zone;
use crate::error::Error;
use crate::members;
use crate::safety;
use crate::studio::{self, Joining, Studio};

pub use people::{PASSWORD, Somebody};

/// What the invented studio is called and how it is set.
#[must_use]
pub fn quillhaven() -> Studio {
    Studio {
        name: "Quillhaven Commons Darkroom".to_owned(),
        about: "Two sinks, three tanks and one bottle of fixer for thirty people, above the old \
                net loft in Quillhaven."
            .to_owned(),
        zone: Zone::named("Europe/Dublin").unwrap_or(Zone::UTC),
        joining: Joining::Application,
        ..studio::unnamed()
    }
}

/// Fills the studio unless somebody is in it already; returns those who can sign in.
///
/// # Errors
/// When the database refuses something.
pub fn fill_if_new(app: &App) -> Result<Vec<Somebody>, Error> {
    if app.db.read_now(members::is_empty)? { fill(app) } else { people::everybody(app) }
}

/// Fills an empty studio; returns those who can sign in.
///
/// # Errors
/// When the database refuses something.
pub fn fill(app: &App) -> Result<Vec<Somebody>, Error> {
    let everybody = people::everybody(app)?;
    let now = app.clock.now();
    let place = Place { now, zone: app.zone(), address: app.config.base_url.clone() };
    app.db.write_now(|tx| {
        let ids = people::put(tx, now, &everybody)?;
        safety::post_starting_set(tx, now)?;
        room::furnish(tx)?;
        let chart = chart::enter(tx, now, &ids)?;
        rolls::hand_in(tx, now, &ids, &chart)?;
        let bath = baths::mix(
            tx,
            &NewBath {
                kind: Kind::Fixer,
                label: "Fixer 12, working bottle".to_owned(),
                volume_ul: 2_000_000,
                capacity_milli: 30_000,
                fix_s: 300,
                mixed: now.plus(-21 * 86_400),
                keeps_days: 60,
            },
        )?;
        for (days, rolls) in [(20, 4), (13, 6), (6, 5), (2, 4)] {
            let wish = Use { bath, milli: rolls * 1000, run: None, note: String::new() };
            baths::record_use(tx, now.plus(-days * 86_400), Some(ids.lead), &wish)?;
        }
        room::bookings(tx, &place, &ids)
    })?;
    Ok(everybody)
}

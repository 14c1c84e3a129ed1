//! The invented studio: people, room, chart, rolls and baths, made by the house's own verbs.

mod chart;
mod evenings;
mod hours;
mod notes;
mod people;
mod products;
mod rolls;
mod room;
mod stock;
mod today;

use crate::app::App;
use crate::clock::Zone;
use crate::db::acting::{Acting, By, on_behalf};
use crate::error::Error;
use crate::members;
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
    if !app.db.read_now(members::is_empty)? {
        return people::everybody(app);
    }
    let everybody = fill(app)?;
    let place = app.place();
    let acting = Acting {
        at: place.now,
        actor: Some(app.db.read_now(people::ids)?.lead),
        by: By::Page,
        door: "POST /days/{date}/publish".to_owned(),
        thing: place.zone.date(place.now).to_string(),
    };
    on_behalf(Some(acting), || {
        app.db.write_now(|tx| {
            let ids = people::ids(tx)?;
            today::publish(tx, &place, &ids)
        })
    })?;
    Ok(everybody)
}

/// Fills an empty studio; returns those who can sign in.
///
/// # Errors
/// When the database refuses something.
pub fn fill(app: &App) -> Result<Vec<Somebody>, Error> {
    let everybody = people::everybody(app)?;
    let place = app.place();
    let now = place.now;
    app.db.write_now(|tx| {
        let ids = people::put(tx, now, &everybody)?;
        notes::post(tx, now, &ids)?;
        notes::report(tx, &place, &ids)?;
        room::furnish(tx)?;
        let chart = chart::enter(tx, now, &ids)?;
        rolls::hand_in(tx, now, &ids, &chart)?;
        let stock = stock::stock(tx, (now, place.zone), ids.lead)?;
        let drum = stock::containers(tx)?;
        stock::year(tx, &stock, &ids, drum)?;
        stock::in_use(tx, &stock, drum)?;
        room::closures(tx, (now, place.zone), ids.lead)?;
        hours::were(tx, &place, &ids)?;
        evenings::book(tx, &place, &ids)?;
        hours::come(tx, &place, &ids)
    })?;
    Ok(everybody)
}

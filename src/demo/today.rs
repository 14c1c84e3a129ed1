//! A day under way: a few rolls planned and published for today, so that the sink pages are alive.

use super::people::Ids;
use crate::bookings::Place;
use crate::day;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes::{self, Handling};
use crate::rolls::{self, Format, NewRoll};

/// Hands in a few rolls and publishes their day: today, or tomorrow where today is nearly over.
pub(super) fn publish(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let films = recipes::films(tx)?;
    let kelp = films.iter().find(|f| f.name == "Kelp 64").map_or(0, |f| f.id);
    let mut handed = Vec::new();
    for (member, film, ei) in [
        (0, "Gannet 400", 400),
        (1, "Gannet 400", 400),
        (2, "Harbour Pan 100", 100),
        (1, "Mudlark 50", 50),
        (0, "Kelp 64", 64),
    ] {
        let member = ids.members.get(member).copied();
        let film = films.iter().find(|f| f.name == film).map(|f| f.id);
        let (Some(member), Some(film_id)) = (member, film) else { continue };
        let format = Format::named("135-36").ok_or(Error::NotFound)?;
        let mut new = NewRoll::of(film_id, format, ei);
        // Kelp goes into the bottle that is poured back.
        if film_id == kelp {
            let all = recipes::for_film(tx, film_id, ei)?.into_iter();
            let shared = all.filter(|r| r.developer.handling() == Handling::UsedAgain);
            new.recipe_id = shared.map(|r| r.id).next();
        }
        handed.push(rolls::hand_in(tx, place.now, member, &new)?.0);
    }
    let today = place.zone.date(place.now);
    for date in [Some(today), today.succ_opt()].into_iter().flatten() {
        let at = (place.now, place.zone);
        match day::plan(tx, at, ids.lead, (date, &handed)) {
            Ok(number) => match day::publish(tx, place, ids.lead, (date, Some(number))) {
                Ok(_) => return Ok(()),
                Err(Error::Refused { .. }) => {}
                Err(e) => return Err(e),
            },
            // Closed or over for today.
            Err(Error::Invalid(_) | Error::Refused { .. }) => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

//! A day under way: a few rolls planned and published for today, so that the sink pages are alive.

use chrono::NaiveDate;

use super::people::Ids;
use crate::bookings::Place;
use crate::day;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes::{self, Handling};
use crate::rolls::{self, Format, NewRoll};

/// Hands in five rolls and publishes their day: today, or tomorrow where today is nearly over. The
/// day after has one roll in a tank for more, which others may join.
pub(super) fn publish(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let mut handed = Vec::new();
    for (member, film, ei) in [
        (0, "Gannet 400", 400),
        (1, "Gannet 400", 400),
        (2, "Harbour Pan 100", 100),
        (1, "Mudlark 50", 50),
        (0, "Kelp 64", 64),
    ] {
        handed.extend(hand_in(tx, place, ids, (member, film, ei))?);
    }
    let today = place.zone.date(place.now);
    let Some(date) = on_the_first(tx, place, ids, (today, &handed))? else { return Ok(()) };
    let Some(next) = date.succ_opt() else { return Ok(()) };
    let alone: Vec<i64> = hand_in(tx, place, ids, (2, "Gannet 400", 400))?.into_iter().collect();
    on_the_first(tx, place, ids, (next, &alone)).map(|_date| ())
}

fn hand_in(
    tx: &mut Tx<'_>,
    place: &Place,
    ids: &Ids,
    (member, film, ei): (usize, &str, i64),
) -> Result<Option<i64>, Error> {
    let member = ids.members.get(member).copied();
    let film = recipes::films(tx)?.into_iter().find(|f| f.name == film);
    let (Some(member), Some(film)) = (member, film) else { return Ok(None) };
    let format = Format::named("135-36").ok_or(Error::NotFound)?;
    let mut new = NewRoll::of(film.id, format, ei);
    // Kelp goes into the bottle that is poured back.
    if film.name == "Kelp 64" {
        let all = recipes::for_film(tx, film.id, ei)?.into_iter();
        let mut shared = all.filter(|r| r.developer.handling() == Handling::UsedAgain);
        new.recipe_id = shared.next().map(|r| r.id);
    }
    rolls::hand_in(tx, place.now, member, &new).map(|(id, _ticket)| Some(id))
}

/// Publishes these rolls on the first day from this one on that takes them, of two; says which.
fn on_the_first(
    tx: &mut Tx<'_>,
    place: &Place,
    ids: &Ids,
    (from, rolls): (NaiveDate, &[i64]),
) -> Result<Option<NaiveDate>, Error> {
    for date in [Some(from), from.succ_opt()].into_iter().flatten() {
        // A day that is closed or over leaves no draft behind.
        let tried = tx.attempt(|tx| {
            let number = day::plan(tx, (place.now, place.zone), ids.lead, (date, rolls))?;
            day::publish(tx, place, ids.lead, (date, Some(number)))
        });
        match tried {
            Ok(_) => return Ok(Some(date)),
            Err(Error::Invalid(_) | Error::Refused { .. }) => {}
            Err(e) => return Err(e),
        }
    }
    Ok(None)
}

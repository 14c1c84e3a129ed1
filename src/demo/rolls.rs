//! The invented rolls: what waits in the drop box, and what is further on its way or through.

use super::chart::Chart;
use super::people::Ids;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes;
use crate::rolls::{
    self, BathThen, Care, Check, Format, Length, Look, Move, NewRoll, Processed, State,
};

const TERMS: &str = "The studio develops black-and-white negative film with care, and answers for \
    carelessness with a fresh roll of film, not for the pictures. Say at the drop-off what cannot \
    be replaced. Negatives lie on the pick-up shelf for ninety days. Write your ticket on the film.";

const DAY: i64 = 86_400;

/// Owner, film, format, exposure index, note: what waits in the drop box.
const WAITING: [(usize, usize, &str, i64, &str); 9] = [
    (0, 1, "135-36", 400, ""),
    (0, 1, "135-36", 400, "The second half is in fog."),
    (1, 0, "135-36", 100, ""),
    (1, 3, "120", 50, ""),
    (2, 2, "135-36", 400, ""),
    (2, 1, "135-36", 800, ""),
    (0, 0, "120", 100, ""),
    (1, 1, "135-24", 400, ""),
    (2, 3, "135-36", 200, "Nobody has a recipe for this yet."),
];

/// What is through, from long ago on: owner, film, exposure index, how it came out, in words.
const THROUGH: [(usize, usize, i64, Look, &str); 16] = [
    (0, 1, 400, Look::Good, ""),
    (0, 1, 800, Look::Thin, "Shadows empty; give it a minute more."),
    (1, 1, 800, Look::Good, "11:00 at 20 °C does it."),
    (2, 0, 100, Look::Good, ""),
    (0, 0, 100, Look::Dense, "Sky blocked up."),
    (1, 3, 50, Look::Good, "Lovely grey scale."),
    (2, 2, 400, Look::Contrasty, "Agitated too hard."),
    (2, 2, 400, Look::Good, ""),
    (0, 1, 400, Look::Uneven, "Streaks from the sprocket holes."),
    (1, 0, 100, Look::Good, ""),
    (2, 1, 400, Look::Milky, "Fixed again, then clear."),
    (0, 3, 50, Look::Good, ""),
    (1, 2, 400, Look::Flat, ""),
    (2, 1, 800, Look::Good, "As last time."),
    (0, 0, 100, Look::Good, ""),
    (1, 1, 400, Look::Good, ""),
];

/// What is on its way, as far as it came: owner, film, last state, days on it, peg.
const ON_THE_WAY: [(usize, usize, State, i64, &str); 10] = [
    (0, 1, State::OnTheHook, 0, "7"),
    (1, 0, State::OnTheHook, 0, "8"),
    (2, 3, State::OnTheHook, 0, "9"),
    (0, 2, State::Ready, 1, ""),
    (1, 1, State::Ready, 3, ""),
    (2, 1, State::Ready, 30, ""),
    (1, 2, State::ReFix, 1, "12"),
    (2, 0, State::Spoiled, 6, ""),
    (0, 3, State::Lost, 15, ""),
    (1, 3, State::Withdrawn, 4, ""),
];

fn roll(
    (ids, chart): (&Ids, &Chart),
    (owner, film): (usize, usize),
    format: &str,
    ei: i64,
) -> Option<(i64, NewRoll)> {
    let owner = *ids.members.get(owner)?;
    let (_, film) = *chart.films.get(film)?;
    Some((owner, NewRoll::of(film, Format::named(format)?, ei)))
}

/// The present terms, accepted by every member; then all the rolls.
pub(super) fn hand_in(tx: &mut Tx<'_>, now: Moment, ids: &Ids, chart: &Chart) -> Result<(), Error> {
    let begun = now.plus(-100 * DAY);
    let number = rolls::post_terms(tx, begun, ids.lead, TERMS)?;
    for member in ids.members.iter().chain([&ids.lead]) {
        rolls::accept_terms(tx, begun, *member, number)?;
    }
    for (n, (owner, film, ei, look, words)) in (1_i64..).zip(THROUGH) {
        let Some((owner, new)) = roll((ids, chart), (owner, film), "135-36", ei) else { continue };
        through(tx, now.plus((n * 5 - 88) * DAY), ids, (owner, &new), (look, words))?;
    }
    for (owner, film, state, days, peg) in ON_THE_WAY {
        let Some((owner, new)) = roll((ids, chart), (owner, film), "135-36", 400) else { continue };
        let step = Move { peg: (!peg.is_empty()).then(|| peg.to_owned()), ..Move::to(state) };
        on_the_way(tx, now.plus(-days * DAY), ids, (owner, &new), &step)?;
    }
    for (n, (owner, film, format, ei, note)) in WAITING.into_iter().enumerate() {
        let Some((owner, mut new)) = roll((ids, chart), (owner, film), format, ei) else {
            continue;
        };
        new.note = note.to_owned();
        new.check = Check {
            spool: n == 3,
            guessed: n == 5,
            backing: n == 6,
            length: if n == 4 { Length::Long } else { Length::Usual },
            care: Care::Ordinary,
            torn: false,
        };
        rolls::hand_in(tx, now, owner, &new)?;
    }
    Ok(())
}

/// The usual way as far as the hook.
fn as_far_as_the_hook(
    tx: &mut Tx<'_>,
    at: Moment,
    ids: &Ids,
    (owner, new): (i64, &NewRoll),
    peg: Option<String>,
) -> Result<i64, Error> {
    let (id, _) = rolls::hand_in(tx, at.plus(-2 * DAY), owner, new)?;
    let by = (id, Some(ids.lead));
    rolls::set_state(tx, at.plus(-DAY), by, State::Planned, "")?;
    rolls::set_state(tx, at.plus(-14_400), by, State::Loaded, "")?;
    rolls::move_on(tx, at.plus(-10_800), by, &Move { peg, ..Move::to(State::OnTheHook) })?;
    let Some(recipe) = recipes::for_film(tx, new.film_id, new.ei)?.into_iter().next() else {
        return Ok(id);
    };
    let told = Processed {
        roll_id: id,
        run_id: None,
        recipe_id: Some(recipe.id),
        developer: recipe.developer.name,
        agitation: recipe.agitation,
        tank: "Tank B".to_owned(),
        place: Some(1),
        concentrate_ul: 9500,
        water_ul: 294_500,
        planned_mc: recipe.temperature_mc,
        measured_mc: Some(recipe.temperature_mc + 300),
        planned_s: recipe.time_s,
        actual_s: Some(recipe.time_s),
        baths: vec![BathThen {
            what: "Fixer".to_owned(),
            label: "Fixer 12, working bottle".to_owned(),
            state: "Good".to_owned(),
            seconds: None,
        }],
        note: String::new(),
    };
    rolls::record(tx, at.plus(-1800), Some(ids.lead), &told)?;
    Ok(id)
}

fn through(
    tx: &mut Tx<'_>,
    at: Moment,
    ids: &Ids,
    of: (i64, &NewRoll),
    (look, words): (Look, &str),
) -> Result<(), Error> {
    let id = as_far_as_the_hook(tx, at, ids, of, None)?;
    let by = (id, Some(ids.lead));
    rolls::set_state(tx, at, by, State::Ready, "")?;
    rolls::set_state(tx, at.plus(DAY), by, State::PickedUp, "")?;
    rolls::note_result(tx, at.plus(DAY + 3600), (id, of.0), look, words)
}

fn on_the_way(
    tx: &mut Tx<'_>,
    at: Moment,
    ids: &Ids,
    of: (i64, &NewRoll),
    step: &Move,
) -> Result<(), Error> {
    if matches!(step.to, State::Lost | State::Withdrawn) {
        let (id, _) = rolls::hand_in(tx, at.plus(-2 * DAY), of.0, of.1)?;
        return rolls::set_state(tx, at, (id, Some(ids.lead)), step.to, "");
    }
    let id = as_far_as_the_hook(tx, at, ids, of, step.peg.clone())?;
    rolls::move_on(tx, at, (id, Some(ids.lead)), step)
}

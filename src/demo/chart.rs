//! The invented films, developers and recipes.

use super::people::Ids;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes::{self, DeveloperPart, GrowthRow, Handling, NewDeveloper, NewFilm, NewRecipe};
use crate::sessions::{Person, Role, Taste, Via};

pub(super) struct Chart {
    pub(super) films: Vec<(&'static str, i64)>,
}

const ROLLS: &str = "135-36 135-24 120";
const BOTH: &str = "135-36 135-24 120 4x5";

/// Name, speed, tabular grain, formats.
const FILMS: [(&str, i64, bool, &str); 26] = [
    ("Harbour Pan 100", 100, false, BOTH),
    ("Gannet 400", 400, false, BOTH),
    ("Skerry T 400", 400, true, ROLLS),
    ("Mudlark 50", 50, false, "135-36 120 220"),
    ("Breakwater 200", 200, false, ROLLS),
    ("Curlew 25", 25, false, "120 4x5 8x10"),
    ("Dunlin Ortho 80", 80, false, "120 4x5 5x7 8x10"),
    ("Eelgrass 320", 320, false, "120 4x5"),
    ("Fulmar T 100", 100, true, BOTH),
    ("Grapnel 1600", 1600, false, "135-36"),
    ("Halyard 400", 400, false, ROLLS),
    ("Inlet Pan 125", 125, false, BOTH),
    ("Jetty 800", 800, false, "135-36 120"),
    ("Kelp 64", 64, false, "135-36 120 127"),
    ("Limpet 100", 100, false, "127"),
    ("Mainsail T 200", 200, true, ROLLS),
    ("Nightjar 3200", 3200, false, "135-36 120"),
    ("Oarsman 160", 160, false, ROLLS),
    ("Petrel 100", 100, false, ROLLS),
    ("Quay 400", 400, false, ROLLS),
    ("Redshank 50", 50, false, "135-36 4x5"),
    ("Shingle 200", 200, false, ROLLS),
    ("Tern T 400", 400, true, ROLLS),
    ("Undertow 100", 100, false, ROLLS),
    ("Viaduct Copy 12", 12, false, "135-36 4x5"),
    ("Wrack 250", 250, false, "120"),
];

struct Bottle {
    name: &'static str,
    water_parts: i64,
    /// Least for one roll's worth, in microlitres.
    least_ul: i64,
    /// Factor per 10 degrees C in thousandths.
    factor: Option<i64>,
    handling: Handling,
    on_hand: bool,
}

const fn bottle(
    name: &'static str,
    water_parts: i64,
    least_ul: i64,
    factor: Option<i64>,
) -> Bottle {
    Bottle { name, water_parts, least_ul, factor, handling: Handling::OneShot, on_hand: true }
}

const DEVELOPERS: [Bottle; 8] = [
    bottle("Saltmarsh concentrate, 1+31", 31, 6000, Some(2500)),
    bottle("Fathom stock, 1+1", 1, 100_000, None),
    bottle("Lamplight concentrate, 1+9", 9, 10_000, None),
    bottle("Saltmarsh concentrate, 1+15", 15, 6000, Some(2500)),
    bottle("Lamplight concentrate, 1+19", 19, 10_000, None),
    Bottle { handling: Handling::UsedAgain, ..bottle("Fathom stock, undiluted", 0, 60_000, None) },
    Bottle { on_hand: false, ..bottle("Spindrift concentrate, 1+50", 50, 5000, Some(1800)) },
    Bottle {
        handling: Handling::Replenished,
        on_hand: false,
        ..bottle("Anchorage tank developer", 0, 70_000, Some(2200))
    },
];

/// Mixed from equal parts of two bottles into water.
pub(super) const TWO_PARTS: &str = "Twinrope, 1+1+100";

/// Film, exposure index, developer, seconds: what waits in the drop box is developed by these.
const RECIPES: [(usize, i64, usize, i64); 7] = [
    (0, 100, 0, 480),
    (1, 400, 0, 480),
    (1, 800, 0, 660),
    (2, 400, 1, 570),
    (0, 100, 1, 540),
    (3, 50, 2, 420),
    (1, 400, 2, 450),
];

const USUAL: &str = "30 s, then 5 s each minute";
const SOURCE: &str = "Our own test strips, invented for this demonstration";

impl Bottle {
    fn entry(&self) -> NewDeveloper {
        let growth = match self.handling {
            Handling::UsedAgain => GrowthRow {
                growth_percent_milli: Some(10_000),
                growth_every_milli: Some(4000),
                growth_counted: Some("whole_steps".to_owned()),
                growth_on: Some("first_time".to_owned()),
                takes_milli: Some(16_000),
            },
            _ => GrowthRow::default(),
        };
        NewDeveloper {
            name: self.name.to_owned(),
            product: self.name.split(',').next().unwrap_or(self.name).to_owned(),
            water_parts: self.water_parts,
            least_ul_per_roll: self.least_ul,
            factor_milli: self.factor,
            handling: self.handling,
            growth,
            on_hand: self.on_hand,
            parts: Vec::new(),
        }
    }
}

fn recipe(film_id: i64, ei: i64, developer_id: i64, time_s: i64) -> NewRecipe {
    NewRecipe {
        film_id,
        ei,
        developer_id,
        temperature_mc: 20_000,
        agitation: USUAL.to_owned(),
        pre_soak_s: 60,
        time_s,
        contrast: String::new(),
        source: SOURCE.to_owned(),
        table: Vec::new(),
        why: String::new(),
    }
}

pub(super) fn enter(tx: &mut Tx<'_>, now: Moment, ids: &Ids) -> Result<Chart, Error> {
    let mut films = Vec::new();
    for (name, speed, tabular, formats) in FILMS {
        let (entry, formats) = (name.to_owned(), formats.to_owned());
        let new = NewFilm { name: entry, speed, tabular, formats };
        films.push((name, recipes::add_film(tx, &new)?));
    }
    let mut developers = Vec::new();
    for bottle in &DEVELOPERS {
        developers.push(recipes::add_developer(tx, &bottle.entry())?);
    }
    let long_ago = now.plus(-90 * 86_400);
    for (n, (_, film)) in films.iter().enumerate().skip(4) {
        many(tx, long_ago, ids.lead, (n, *film), &developers)?;
    }
    for (film, ei, developer, time_s) in RECIPES {
        let (Some((_, film)), Some(developer)) = (films.get(film), developers.get(developer))
        else {
            continue;
        };
        recipes::add_recipe(tx, long_ago, Some(ids.lead), &recipe(*film, ei, *developer, time_s))?;
    }
    two_parts(tx, long_ago, ids.lead, &films)?;
    proposals(tx, now, ids, &films, &developers)?;
    Ok(Chart { films })
}

/// A developer that is mixed from two bottles, and what is pushed in it.
fn two_parts(
    tx: &mut Tx<'_>,
    at: Moment,
    lead: i64,
    films: &[(&'static str, i64)],
) -> Result<(), Error> {
    let part = |name: &str| DeveloperPart { name: name.to_owned(), milli: 1000 };
    let entry = NewDeveloper {
        parts: vec![part("A"), part("B")],
        ..bottle(TWO_PARTS, 100, 2000, Some(2300)).entry()
    };
    let developer = recipes::add_developer(tx, &entry)?;
    for (film, ei, time_s) in [(0, 400, 720), (1, 1600, 840)] {
        let Some((_, film)) = films.get(film) else { continue };
        recipes::add_recipe(tx, at, Some(lead), &recipe(*film, ei, developer, time_s))?;
    }
    Ok(())
}

/// A few recipes for each of the other films: at its speed, pushed, and in another developer.
fn many(
    tx: &mut Tx<'_>,
    at: Moment,
    lead: i64,
    (n, film): (usize, i64),
    developers: &[i64],
) -> Result<(), Error> {
    let Some((_, speed, ..)) = FILMS.get(n) else { return Ok(()) };
    let base = 330 + i64::try_from(n * 37 % 240).unwrap_or(0);
    for (k, (push, percent)) in [(1, 100), (2, 140), (1, 118)].into_iter().enumerate() {
        let Some(developer) = developers.get((n + k) % developers.len().max(1)) else { continue };
        let time = base * percent / 100 / 15 * 15;
        let mut new = recipe(film, speed * push, *developer, time);
        if n % 3 == 0 {
            new.table = vec![(18_000, time * 120 / 100), (20_000, time), (24_000, time * 72 / 100)];
        }
        if k == 2 {
            new.contrast = "For the condenser enlarger".to_owned();
        }
        if n % 5 == 0 {
            new.agitation = "5 inversions each minute".to_owned();
        }
        recipes::add_recipe(tx, at, Some(lead), &new)?;
    }
    Ok(())
}

/// What members propose, and a recipe that was changed.
fn proposals(
    tx: &mut Tx<'_>,
    now: Moment,
    ids: &Ids,
    films: &[(&'static str, i64)],
    developers: &[i64],
) -> Result<(), Error> {
    let (Some(member), Some(developer)) = (ids.members.first(), developers.first()) else {
        return Ok(());
    };
    let person = |id: i64, role: Role| Person {
        id,
        name: String::new(),
        role,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    };
    let of = |n: usize| films.get(n).map_or(0, |f| f.1);
    let mut first = recipe(of(2), 800, *developer, 780);
    first.source = "Two rolls at the regatta, invented".to_owned();
    recipes::enter(tx, now.plus(-2 * 86_400), &person(*member, Role::Member), None, &first)?;
    let changed = recipe(of(0), 200, *developer, 600);
    let id = recipes::add_recipe(tx, now.plus(-60 * 86_400), Some(ids.lead), &changed)?;
    let mut next = changed.clone();
    next.time_s = 570;
    next.why = "Came out a little dense".to_owned();
    let lead = person(ids.lead, Role::Lead);
    recipes::enter(tx, now.plus(-9 * 86_400), &lead, Some(id), &next)?;
    next.time_s = 555;
    next.why = "Still dense in the sky".to_owned();
    recipes::enter(tx, now.plus(-86_400), &person(*member, Role::Member), Some(id), &next)?;
    Ok(())
}

//! The invented films, developers and recipes, and what waits in the drop box.

use super::people::Ids;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::recipes::{self, GrowthRow, Handling, NewDeveloper, NewFilm, NewRecipe};

pub(super) struct Chart {
    films: Vec<(&'static str, i64)>,
}

const FILMS: [(&str, i64, bool); 4] = [
    ("Harbour Pan 100", 100, false),
    ("Gannet 400", 400, false),
    ("Skerry T 400", 400, true),
    ("Mudlark 50", 50, false),
];

/// Name, water parts, least concentrate in microlitres, factor per 10 degrees C in thousandths.
const DEVELOPERS: [(&str, i64, i64, Option<i64>); 3] = [
    ("Saltmarsh concentrate, 1+31", 31, 6000, Some(2500)),
    ("Fathom stock, 1+1", 1, 100_000, None),
    ("Lamplight concentrate, 1+9", 9, 10_000, None),
];

/// Film, exposure index, developer, seconds.
const RECIPES: [(usize, i64, usize, i64); 7] = [
    (0, 100, 0, 480),
    (1, 400, 0, 480),
    (1, 800, 0, 660),
    (2, 400, 1, 570),
    (0, 100, 1, 540),
    (3, 50, 2, 420),
    (1, 400, 2, 450),
];

const HAZARDS: &str = "May irritate skin and eyes. Gloves and eye protection. Read its data sheet.";

pub(super) fn enter(tx: &mut Tx<'_>, now: Moment, lead: i64) -> Result<Chart, Error> {
    let mut films = Vec::new();
    for (name, speed, tabular) in FILMS {
        let formats = String::new();
        let new = NewFilm { name: name.to_owned(), speed, tabular, formats };
        films.push((name, recipes::add_film(tx, &new)?));
    }
    let mut developers = Vec::new();
    for (name, water_parts, least_ul_per_roll, factor_milli) in DEVELOPERS {
        let product = name.split(',').next().unwrap_or(name).to_owned();
        let new = NewDeveloper {
            name: name.to_owned(),
            product,
            water_parts,
            least_ul_per_roll,
            factor_milli,
            hazards: HAZARDS.to_owned(),
            handling: Handling::OneShot,
            growth: GrowthRow::default(),
            on_hand: true,
        };
        developers.push(recipes::add_developer(tx, &new)?);
    }
    for (film, ei, developer, time_s) in RECIPES {
        let (Some((_, film_id)), Some(developer_id)) = (films.get(film), developers.get(developer))
        else {
            continue;
        };
        let new = NewRecipe {
            film_id: *film_id,
            ei,
            developer_id: *developer_id,
            temperature_mc: 20_000,
            agitation: "30 s, then 5 s each minute".to_owned(),
            pre_soak_s: 60,
            time_s,
            contrast: String::new(),
            table: Vec::new(),
            why: String::new(),
            source: "Our own test strips, invented for this demonstration".to_owned(),
        };
        recipes::add_recipe(tx, now.plus(-90 * 86_400), Some(lead), &new)?;
    }
    Ok(Chart { films })
}

impl Chart {
    /// What waits in the drop box: owner, film, format, exposure index, note.
    pub(super) fn rolls(&self, ids: &Ids) -> Vec<(i64, i64, &'static str, i64, &'static str)> {
        const WAITING: [(usize, usize, &str, i64, &str); 9] = [
            (0, 1, "135-36", 400, ""),
            (0, 1, "135-36", 400, "The second half is in fog."),
            (1, 0, "135-36", 100, ""),
            (1, 3, "120", 50, "Please return the spool."),
            (2, 2, "135-36", 400, ""),
            (2, 1, "135-36", 800, "EI guessed."),
            (0, 0, "120", 100, ""),
            (1, 1, "135-24", 400, ""),
            (2, 3, "135-36", 200, "Nobody has a recipe for this yet."),
        ];
        WAITING
            .iter()
            .filter_map(|(member, film, format, ei, note)| {
                let member = *ids.members.get(*member)?;
                let (_, film) = *self.films.get(*film)?;
                Some((member, film, *format, *ei, *note))
            })
            .collect()
    }
}

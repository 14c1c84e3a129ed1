use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::day_of;
use crate::app::App;
use crate::chemistry::{
    DeveloperUse, Fill, FillFigures, LoadedReels, LoadedTank, Measuring, Method, ReelVolumes,
    TankVolumes, friendly, friendly_parts,
};
use crate::day::qr::{Code, code};
use crate::day::sheet::{self, Bench, SheetRun, Volume};
use crate::day::store;
use crate::error::Error;
use crate::recipes::{self, Developer};
use crate::sinks::{self, ReelFormat, ReelKind, Tank};
use crate::units::{Dilution, Millilitres, RollEquivalents};
use crate::web::{Asked, Member, Newcomer, show, thousandths};

#[derive(Serialize)]
struct CardsPage {
    date: String,
    day: String,
    letter: bool,
    runs: Vec<Card>,
}

#[derive(Serialize)]
struct Card {
    run: SheetRun,
    code: Option<Code>,
    address: String,
}

/// The loading cards, the tags for loaded tanks and the peg tags of a day.
pub(super) async fn cards(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    path: web::Path<String>,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let (runs, bench) = app
        .db
        .read(move |conn| {
            let runs = store::published_runs(conn, date)?;
            let bench = Bench::load(conn, &runs)?;
            Ok((runs, bench))
        })
        .await?;
    let words = app.words(Some(&person));
    let base = app.config.base_url.trim_end_matches('/').to_owned();
    let card = |run: SheetRun| {
        let address = format!("{base}/runs/{}", run.id);
        Card { code: code(&address), run, address }
    };
    let page = CardsPage {
        date: words.date(date),
        day: date.to_string(),
        letter: asked.0.raw("paper") == "letter",
        runs: sheet::runs(&runs, &bench, &words).into_iter().map(card).collect(),
    };
    show(&app, &req, "Cards and tags", "day/cards.html", &page)
}

#[derive(Serialize)]
struct TankPage {
    name: String,
    note: String,
    kinds: Vec<KindTable>,
    code: Option<Code>,
    address: String,
}

#[derive(Serialize)]
struct KindTable {
    kind: String,
    reels: Vec<ReelLine>,
    developers: Vec<String>,
}

#[derive(Serialize)]
struct ReelLine {
    reels: i64,
    cover: Volume,
    /// One for each developer of the table.
    mixes: Vec<Option<Mix>>,
}

#[derive(Serialize)]
struct Mix {
    total: Volume,
    /// Name and volume of what is poured into the water: one concentrate, or each part.
    poured: Vec<Poured>,
    water: Volume,
}

#[derive(Serialize)]
struct Poured {
    /// Empty for a single concentrate.
    name: String,
    volume: Volume,
}

/// What is poured for a tank, in microlitres.
struct Measured {
    poured: Vec<(String, i64)>,
    water_ul: i64,
}

fn ml(whole: i64) -> Option<Millilitres> {
    Millilitres::from_microlitres(u64::try_from(whole).ok()?.checked_mul(1000)?).ok()
}

/// Working developer for so many reels of one kind in a tank, one roll's worth on each.
fn mix(tank: &Tank, cover_ml: i64, count: i64, developer: &Developer) -> Option<Measured> {
    let figures = FillFigures {
        base_ml: ml(tank.base_ml)?,
        min_ml: ml(tank.min_ml)?,
        max_ml: ml(tank.max_ml)?,
    };
    let volumes = TankVolumes { inversion: Some(Fill::new(figures).ok()?), rotary: None };
    let reels = [LoadedReels {
        reel: ReelVolumes { inversion: Some(ml(cover_ml)?), rotary: None },
        reels: u16::try_from(count).ok()?,
        film: RollEquivalents::of(u16::try_from(count).ok()?),
    }];
    let dilution = Dilution::new(thousandths(developer.rest_milli())).ok()?;
    let least = u64::try_from(developer.least_ul_per_roll).ok()?;
    let minimum_per_roll = Millilitres::from_microlitres(least).ok()?;
    let loaded = LoadedTank { tank: &volumes, reels: &reels, method: Method::Inversion };
    let need = loaded.developer(&DeveloperUse { dilution, minimum_per_roll }).ok()?;
    let units = |v: Millilitres| i64::try_from(v.microlitres()).unwrap_or(i64::MAX);
    let Some(mixture) = developer.mixture().ok()? else {
        let split = friendly(&need, dilution, &Measuring::usual()).split;
        let poured = vec![(String::new(), units(split.concentrate))];
        return Some(Measured { poured, water_ul: units(split.water) });
    };
    let (volumes, _) = friendly_parts(&need, &mixture, &Measuring::usual());
    let named = developer.parts().len();
    let water_ul = volumes.iter().skip(named).map(|v| units(v.volume)).sum();
    let poured = volumes.into_iter().take(named).map(|v| (v.name, units(v.volume))).collect();
    Some(Measured { poured, water_ul })
}

/// What the reels of a pool can be set to.
fn set_to(pool: &ReelKind) -> Vec<ReelFormat> {
    if !pool.formats.is_empty() {
        return pool.formats.clone();
    }
    let (height_mm, cover_ml) = (pool.height_mm, pool.cover_ml);
    vec![ReelFormat { format: pool.kind.clone(), height_mm, cover_ml }]
}

/// A lasting card for one tank: what covers 1 to n reels, and how that is mixed.
pub(super) async fn tank_card(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (tank, reels, developers) = app
        .db
        .read(move |conn| {
            let tank = sinks::tanks(conn)?.into_iter().find(|t| t.id == id);
            let tank = tank.ok_or(Error::NotFound)?;
            Ok((tank, sinks::reel_kinds(conn)?, recipes::developers(conn)?))
        })
        .await?;
    let mut words = app.words(Some(&member));
    words.us_units = words.us_units || asked.0.ticked("us");
    let volume = |ul: i64| sheet::volume(ul, &words);
    let base = app.config.base_url.trim_end_matches('/');
    let address = format!("{base}/tank-cards/{id}");
    let table = |pool: &str, reel: &ReelFormat| {
        let most = (tank.stack_mm / reel.height_mm.max(1)).min(tank.max_reels);
        let line = |count: i64| ReelLine {
            reels: count,
            cover: volume((tank.base_ml + reel.cover_ml * count).max(tank.min_ml) * 1000),
            mixes: developers
                .iter()
                .map(|d| {
                    mix(&tank, reel.cover_ml, count, d).map(|m| Mix {
                        total: volume(m.poured.iter().map(|p| p.1).sum::<i64>() + m.water_ul),
                        water: volume(m.water_ul),
                        poured: m
                            .poured
                            .into_iter()
                            .map(|(name, ul)| Poured { name, volume: volume(ul) })
                            .collect(),
                    })
                })
                .collect(),
        };
        KindTable {
            kind: if pool == reel.format {
                reel.format.clone()
            } else {
                format!("{} on “{pool}”", reel.format)
            },
            reels: (1..=most).map(line).collect(),
            developers: developers.iter().map(|d| d.name.clone()).collect(),
        }
    };
    let page = TankPage {
        kinds: reels
            .iter()
            .flat_map(|pool| set_to(pool).into_iter().map(|r| table(&pool.kind, &r)))
            .filter(|t| !t.reels.is_empty())
            .collect(),
        code: code(&address),
        address,
        name: tank.name.clone(),
        note: tank.note.clone(),
    };
    show(&app, &req, "Tank card", "day/tank_card.html", &page)
}

use actix_web::{HttpResponse, web};
use serde::Serialize;
use utoipa::ToSchema;

use super::{Place, Recipe, Search, store};
use crate::app::App;
use crate::error::Error;
use crate::web::{Asked, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/recipes", Who::Member, list);
    open.get("/api/v1/recipes/{id}", Who::Member, one);
    open.get("/api/v1/recipes/{id}/time", Who::Member, time);
}

/// A time at a temperature.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TimeAt {
    temperature_c: f64,
    time_s: i64,
}

/// One of several parts of a developer.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedPart {
    name: String,
    /// How many parts of it come to one of the first.
    parts: f64,
}

/// A recipe as programs see it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedRecipe {
    id: i64,
    /// Which version of its recipe it is.
    version: i64,
    /// `proposed`, `approved`, `replaced`, `declined` or `withdrawn`.
    standing: String,
    film: String,
    ei: i64,
    developer: String,
    /// Whether the developer stands on the shelf.
    on_hand: bool,
    /// Parts of water to one of concentrate.
    water_parts: i64,
    /// What it is mixed from beside the water; empty where it is poured from one bottle.
    parts: Vec<DescribedPart>,
    temperature_c: f64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    /// Its own time-temperature table; may be empty.
    times: Vec<TimeAt>,
    /// What it is made for.
    contrast: String,
    source: String,
    /// RFC 3339.
    entered: String,
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RecipeList {
    items: Vec<DescribedRecipe>,
    /// Ask again with `?after=` this for the rest.
    next: Option<String>,
}

const PAGE: usize = 100;

fn described(app: &App, r: Recipe) -> DescribedRecipe {
    DescribedRecipe {
        id: r.id,
        version: r.number,
        standing: r.standing.word().to_owned(),
        film: r.film.name,
        ei: r.ei,
        parts: r
            .developer
            .parts()
            .into_iter()
            .map(|p| DescribedPart { name: p.name, parts: thousandths(p.milli) })
            .collect(),
        developer: r.developer.name,
        on_hand: r.developer.on_hand,
        water_parts: r.developer.water_parts,
        temperature_c: thousandths(r.temperature_mc),
        agitation: r.agitation,
        pre_soak_s: r.pre_soak_s,
        time_s: r.time_s,
        times: r
            .table
            .iter()
            .map(|(mc, s)| TimeAt { temperature_c: thousandths(*mc), time_s: *s })
            .collect(),
        contrast: r.contrast,
        source: r.source,
        entered: app.zone().rfc3339(r.entered),
    }
}

/// `ei.id.film`, the place where a page ended.
fn read_place(text: &str) -> Option<Place> {
    let mut parts = text.splitn(3, '.');
    let (ei, id) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    Some(Place { ei, id, film: parts.next()?.to_owned() })
}

/// The time chart by film and exposure index, a hundred recipes at a time.
#[utoipa::path(get, path = "/api/v1/recipes", tag = "recipes",
    params(
        ("search" = Option<String>, Query, description = "Words of film, developer or index"),
        ("ei" = Option<i64>, Query, description = "Only this exposure index"),
        ("on_hand" = Option<bool>, Query, description = "Only what stands on the shelf"),
        ("after" = Option<String>, Query, description = "The `next` of the page before")),
    responses((status = 200, body = RecipeList), Problems))]
pub(crate) async fn list(
    app: web::Data<App>,
    _member: Member,
    mut asked: Asked,
) -> Result<HttpResponse, Error> {
    let f = &mut asked.0;
    let after = f.after(read_place)?;
    let ei = match f.raw("ei") {
        "" => None,
        _ => Some(f.number("ei", "an exposure index", 1..=25_600).ok_or_else(|| f.faults())?),
    };
    let words: String = f.raw("search").chars().take(100).collect();
    let search = Search {
        words: words.split_whitespace().take(8).map(ToOwned::to_owned).collect(),
        ei,
        on_hand: f.ticked("on_hand"),
        after,
        limit: i64::try_from(PAGE + 1).unwrap_or(i64::MAX),
        ..Search::default()
    };
    let mut found = app.db.read(move |conn| store::found(conn, &search)).await?;
    let more = found.len() > PAGE;
    found.truncate(PAGE);
    let last = found.last().filter(|_| more);
    let next = last.map(|r| format!("{}.{}.{}", r.ei, r.id, r.film.name));
    let items = found.into_iter().map(|r| described(&app, r)).collect();
    Ok(HttpResponse::Ok().json(RecipeList { items, next }))
}

/// One version of a recipe.
#[utoipa::path(get, path = "/api/v1/recipes/{id}", tag = "recipes", params(("id" = i64, Path)),
    responses((status = 200, body = DescribedRecipe), Problems))]
pub(crate) async fn one(
    app: web::Data<App>,
    _member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let recipe = app.db.read(move |conn| store::by_id(conn, id)).await?;
    Ok(HttpResponse::Ok().json(described(&app, recipe)))
}

/// One line of the working of a developing time.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TimeStep {
    /// `temperature`, `push or pull`, `re-use`, `agitation` or `rounding`.
    correction: String,
    before_s: f64,
    factor: f64,
    after_s: f64,
    because: String,
    source: String,
}

/// A developing time with its working.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct WorkedTime {
    time_s: u32,
    recipe_time_s: u32,
    recipe_temperature_c: f64,
    steps: Vec<TimeStep>,
    /// Between which times the truth may lie, where a correction is an estimate.
    estimated_between_s: Option<(u32, u32)>,
    warnings: Vec<String>,
}

/// The time of a recipe in another run than it was written for; 409 `no-time` with the reason
/// where there is none.
#[utoipa::path(get, path = "/api/v1/recipes/{id}/time", tag = "recipes",
    params(("id" = i64, Path),
        ("at" = Option<f64>, Query, description = "Temperature of the developer, °C"),
        ("end" = Option<f64>, Query, description = "Its temperature at the end, °C"),
        ("shot" = Option<i64>, Query, description = "The exposure index the film was shot at"),
        ("push_factor" = Option<f64>, Query, description = "An own factor for push or pull"),
        ("way" = Option<String>, Query, description = "Agitation, such as `30s+5s/60s`"),
        ("used" = Option<f64>, Query, description = "Roll equivalents it developed before"),
        ("film" = Option<f64>, Query, description = "Roll equivalents of this run"),
        ("volume" = Option<f64>, Query, description = "Developer poured, ml"),
        ("step" = Option<String>, Query, description = "Rounded to this, such as `0:15`")),
    responses((status = 200, body = WorkedTime), Problems))]
pub(crate) async fn time(
    app: web::Data<App>,
    _member: Member,
    id: web::Path<i64>,
    mut asked: Asked,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let recipe = app.db.read(move |conn| store::by_id(conn, id)).await?;
    let wish = super::pages::working::read(&mut asked.0, &recipe)?;
    let worked = super::time_for(&recipe, &wish).map_err(|refusal| {
        Error::refused("no-time", format!("{}.", super::rules::capital(&refusal.to_string())))
    })?;
    let steps = worked.steps.into_iter().map(|s| TimeStep {
        correction: s.correction.to_string(),
        before_s: s.before_s,
        factor: s.factor,
        after_s: s.after_s,
        because: s.formula,
        source: s.source.to_string(),
    });
    Ok(HttpResponse::Ok().json(WorkedTime {
        time_s: worked.time.get(),
        recipe_time_s: worked.recipe_time.get(),
        recipe_temperature_c: worked.recipe_temperature.degrees(),
        steps: steps.collect(),
        estimated_between_s: worked.estimated_between.map(|(a, b)| (a.get(), b.get())),
        warnings: worked.warnings.iter().map(ToString::to_string).collect(),
    }))
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{NewDeveloper, NewRecipe, Recipe};
use crate::app::App;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Asked, Fields, Filled, Flash, Form, Lead, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/chart", Who::Member, chart);
    open.post("/chart/films", Who::Lead, add_film);
    open.post("/chart/developers", Who::Lead, add_developer);
    open.post("/chart/recipes", Who::Lead, add_recipe);
}

#[derive(Serialize)]
struct Line {
    film: String,
    ei: i64,
    developer: String,
    temperature: String,
    time: String,
    agitation: String,
    source: String,
}

impl Line {
    fn of(r: Recipe) -> Line {
        Line {
            film: r.film.name,
            ei: r.ei,
            developer: r.developer.name,
            temperature: degrees(r.temperature_mc),
            time: minutes(r.time_s),
            agitation: r.agitation,
            source: r.source,
        }
    }
}

/// `20.0 °C` from thousandths of a degree.
fn degrees(mc: i64) -> String {
    format!("{}.{}\u{202f}°C", mc / 1000, mc.rem_euclid(1000) / 100)
}

/// `8:15 min` from seconds.
fn minutes(s: i64) -> String {
    format!("{}:{:02}\u{202f}min", s / 60, s % 60)
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct ChartPage {
    recipes: Vec<Line>,
    search: String,
    may_enter: bool,
    films: Vec<Choice>,
    developers: Vec<Choice>,
    film_form: Form,
    developer_form: Form,
    recipe_form: Form,
}

/// Which of the three forms is shown again, if one is.
async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    role: Role,
    (search, again): (&str, Option<Form>),
) -> Result<HttpResponse, Error> {
    let (recipes, films, developers) = app
        .db
        .read(|conn| Ok((super::all(conn)?, super::films(conn)?, super::developers(conn)?)))
        .await?;
    let wanted = search.to_lowercase();
    let recipes = recipes
        .into_iter()
        .map(Line::of)
        .filter(|l| {
            let text = format!("{} {} {}", l.film, l.developer, l.ei).to_lowercase();
            wanted.split_whitespace().all(|w| text.contains(w))
        })
        .collect();
    let form = |action: &str| match &again {
        Some(f) if f.action == action => f.clone(),
        _ => Form::new(action),
    };
    let page = ChartPage {
        recipes,
        search: search.to_owned(),
        may_enter: role == Role::Lead,
        films: films
            .into_iter()
            .map(|f| Choice { value: f.id.to_string(), text: f.name })
            .collect(),
        developers: developers
            .into_iter()
            .map(|d| Choice { value: d.id.to_string(), text: d.name })
            .collect(),
        film_form: form("/chart/films"),
        developer_form: form("/chart/developers"),
        recipe_form: form("/chart/recipes"),
    };
    let shown = again.unwrap_or_else(|| Form::new("/chart"));
    show_form(app, req, ("Time chart", "recipes/chart.html"), &shown, &page)
}

async fn chart(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let search: String = asked.0.raw("search").chars().take(100).collect();
    page(&app, &req, member.role, (search.trim(), None)).await
}

async fn add_film(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let f = &mut filled.fields;
    let name = f.text("name", "the film's name", 1..=80);
    let speed = f.number("speed", "its speed", 1..=25_600);
    let tabular = f.ticked("tabular");
    let done = match (name, speed) {
        (Some(name), Some(speed)) => {
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| super::add_film(tx, &name, speed, tabular)).await
        }
        _ => Err(filled.fields.faults()),
    };
    finish(&app, &req, &lead, &filled, done).await
}

fn read_developer(f: &mut Fields) -> Result<NewDeveloper, Error> {
    let name = f.text("name", "the developer's name with its dilution", 1..=80);
    let water_parts = f.number("water_parts", "parts of water to one of concentrate", 0..=1000);
    let least =
        f.number("least_ul", "the least concentrate a roll, in thousandths of a ml", 0..=2_000_000);
    let hazards = f.text("hazards", "hazard lines", 0..=1000);
    let factor = match f.raw("factor").trim() {
        "" => Some(None),
        _ => f.number("factor", "the factor per 10 °C, in thousandths", 1000..=5000).map(Some),
    };
    match (name, water_parts, least, hazards, factor) {
        (
            Some(name),
            Some(water_parts),
            Some(least_ul_per_roll),
            Some(hazards),
            Some(factor_milli),
        ) => Ok(NewDeveloper { name, water_parts, least_ul_per_roll, factor_milli, hazards }),
        _ => Err(f.faults()),
    }
}

async fn add_developer(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match read_developer(&mut filled.fields) {
        Ok(new) => {
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| super::add_developer(tx, &new)).await
        }
        Err(e) => Err(e),
    };
    finish(&app, &req, &lead, &filled, done).await
}

fn read_recipe(f: &mut Fields) -> Result<NewRecipe, Error> {
    let film_id = f.number("film", "the film", 1..=i64::MAX);
    let developer_id = f.number("developer", "the developer", 1..=i64::MAX);
    let ei = f.number("ei", "the exposure index", 1..=25_600);
    let tenths = f.number("temperature", "the temperature in tenths of a degree C", 100..=400);
    let time = f.number("time_s", "the developing time in seconds", 1..=86_400);
    let pre_soak = f.number("pre_soak_s", "the pre-soak in seconds", 0..=3600);
    let agitation = f.text("agitation", "how the tank is moved", 1..=100);
    let source = f.text("source", "where the time comes from", 1..=200);
    match (film_id, developer_id, ei, tenths, (time, pre_soak), (agitation, source)) {
        (
            Some(film_id),
            Some(developer_id),
            Some(ei),
            Some(tenths),
            (Some(time_s), Some(pre_soak_s)),
            (Some(agitation), Some(source)),
        ) => Ok(NewRecipe {
            film_id,
            ei,
            developer_id,
            temperature_mc: tenths * 100,
            agitation,
            pre_soak_s,
            time_s,
            source,
        }),
        _ => Err(f.faults()),
    }
}

async fn add_recipe(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match read_recipe(&mut filled.fields) {
        Ok(new) => {
            let (now, by) = (app.clock.now(), lead.id);
            let once = filled.once(&app, Some(&lead))?;
            app.db
                .write_once(once, move |tx| {
                    let known = super::films(tx)?.iter().any(|f| f.id == new.film_id);
                    if !known {
                        return Err(Error::field("film", "That film is not on the chart."));
                    }
                    if !super::developers(tx)?.iter().any(|d| d.id == new.developer_id) {
                        return Err(Error::field("developer", "That developer is not here."));
                    }
                    super::add_recipe(tx, now, Some(by), &new)
                })
                .await
        }
        Err(e) => Err(e),
    };
    finish(&app, &req, &lead, &filled, done).await
}

async fn finish(
    app: &web::Data<App>,
    req: &HttpRequest,
    lead: &Lead,
    filled: &Filled,
    done: Result<i64, Error>,
) -> Result<HttpResponse, Error> {
    match done {
        Ok(_) => Ok(go("/chart", Some(Flash::good("Entered on the time chart.")))),
        Err(e) => {
            let form = filled.again(e)?;
            page(app, req, lead.role, ("", Some(form))).await
        }
    }
}

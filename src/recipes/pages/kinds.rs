//! Films and developers.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, amount, amount_if_any};
use crate::app::App;
use crate::data_sheets;
use crate::error::Error;
use crate::hazards::Sheet;
use crate::recipes::{
    Developer, DeveloperPart, Film, GrowthRow, Handling, NewDeveloper, NewFilm, parts, rules, store,
};
use crate::sessions::Role;
use crate::web::{Fields, Filled, Flash, Form, Lead, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/chart/films", Who::Member, films);
    open.post("/chart/films", Who::Lead, add_film);
    open.get("/chart/developers", Who::Member, developers);
    open.post("/chart/developers", Who::Lead, add_developer);
    open.get("/chart/developers/{id}", Who::Lead, developer);
    open.post("/chart/developers/{id}", Who::Lead, change_developer);
}

#[derive(Serialize)]
struct FilmLine {
    id: i64,
    name: String,
    speed: i64,
    formats: String,
    tabular: bool,
}

impl FilmLine {
    fn of(f: Film) -> FilmLine {
        let (id, speed, tabular) = (f.id, f.speed, f.tabular);
        FilmLine { id, name: f.name, speed, formats: f.formats.replace(' ', ", "), tabular }
    }
}

#[derive(Serialize)]
struct FilmsPage {
    films: Vec<FilmLine>,
    lead: bool,
    form: Form,
}

async fn films_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    lead: bool,
    form: Form,
) -> Result<HttpResponse, Error> {
    let films = app.db.read(store::films).await?;
    let page = FilmsPage { films: films.into_iter().map(FilmLine::of).collect(), lead, form };
    let shown = page.form.clone();
    show_form(app, req, ("Films", "recipes/films.html"), &shown, &page)
}

async fn films(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    films_page(&app, &req, member.role == Role::Lead, Form::new("/chart/films")).await
}

/// The names of formats as typed, split by commas or blanks, if all are known.
fn read_formats(f: &mut Fields) -> Option<String> {
    let typed = f.raw("formats").replace(',', " ");
    let mut names = Vec::new();
    for name in typed.split_whitespace() {
        match name.parse::<crate::chemistry::Format>() {
            Ok(format) => names.push(format.to_string()),
            Err(e) => {
                f.fault("formats", format!("{}.", rules::capital(&e.to_string())));
                return None;
            }
        }
    }
    Some(names.join(" "))
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
    let formats = read_formats(f);
    let tabular = f.ticked("tabular");
    let done = match (name, speed, formats) {
        (Some(name), Some(speed), Some(formats)) => {
            let once = filled.once(&app, Some(&lead))?;
            let new = NewFilm { name, speed, tabular, formats };
            app.db.write_once(once, move |tx| crate::recipes::add_film(tx, &new)).await
        }
        _ => Err(filled.fields.faults()),
    };
    match done {
        Ok(_) => Ok(go("/chart/films", Some(Flash::good("The film is on the chart.")))),
        Err(e) => films_page(&app, &req, true, filled.again(e)?).await,
    }
}

#[derive(Serialize)]
struct DeveloperLine {
    id: i64,
    name: String,
    product: String,
    parts: String,
    least: String,
    factor: String,
    handling: &'static str,
    growth: String,
    on_hand: bool,
    hazards: String,
}

impl DeveloperLine {
    fn of(d: Developer, hazards: String) -> DeveloperLine {
        DeveloperLine {
            least: format!("{}\u{202f}ml", rules::decimal(d.least_ul_per_roll)),
            factor: d.factor_milli.map_or_else(String::new, rules::decimal),
            handling: d.handling().name(),
            growth: growth_in_words(&d.growth),
            parts: parts::written(&d.parts()),
            id: d.id,
            name: d.name,
            product: d.product,
            on_hand: d.on_hand,
            hazards,
        }
    }
}

fn growth_in_words(g: &GrowthRow) -> String {
    let (Some(percent), Some(every)) = (g.growth_percent_milli, g.growth_every_milli) else {
        return String::new();
    };
    let limit = match g.takes_milli {
        Some(milli) => format!(", at most {} rolls' worth", rules::decimal(milli)),
        None => String::new(),
    };
    format!(
        "{}\u{202f}% more for each {} rolls' worth{limit}",
        rules::decimal(percent),
        rules::decimal(every)
    )
}

#[derive(Serialize)]
struct DevelopersPage {
    developers: Vec<DeveloperLine>,
    handlings: Vec<Choice>,
    lead: bool,
    form: Form,
}

async fn developers_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    lead: bool,
    form: Form,
) -> Result<HttpResponse, Error> {
    let (all, sheets) = app
        .db
        .read(|conn| Ok((store::developers(conn)?, data_sheets::of_developers(conn)?)))
        .await?;
    let told = |id| sheets.get(&id).map(Sheet::told_both).unwrap_or_default();
    let page = DevelopersPage {
        developers: all
            .into_iter()
            .map(|d| (told(d.id), d))
            .map(|(t, d)| DeveloperLine::of(d, t))
            .collect(),
        handlings: handlings(),
        lead,
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, ("Developers", "recipes/developers.html"), &shown, &page)
}

fn handlings() -> Vec<Choice> {
    Handling::all().map(|(word, name)| Choice::new(word, name)).collect()
}

async fn developers(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let form = Form::new("/chart/developers").with("on_hand", "yes");
    developers_page(&app, &req, member.role == Role::Lead, form).await
}

/// The re-use rule, which has no default: typed from the maker's sheet or left empty.
fn read_growth(f: &mut Fields) -> Option<GrowthRow> {
    let percent = amount_if_any(f, "growth_percent", "more time in per cent", 0..=100_000)?;
    let every = amount_if_any(f, "growth_every", "an amount of film", 100..=1_000_000)?;
    let takes = amount_if_any(f, "takes", "an amount of film", 100..=1_000_000)?;
    if percent.is_some() != every.is_some() {
        f.fault("growth_every", "Give both: how much more time, and for how much film.");
        return None;
    }
    let word = |name: &str, words: [&str; 2]| {
        let typed = f.raw(name);
        words.into_iter().find(|w| *w == typed).or(Some(words[0])).map(ToOwned::to_owned)
    };
    let kept = percent.is_some();
    Some(GrowthRow {
        growth_percent_milli: percent,
        growth_every_milli: every,
        growth_counted: word("growth_counted", ["whole_steps", "in_proportion"]).filter(|_| kept),
        growth_on: word("growth_on", ["first_time", "last_time"]).filter(|_| kept),
        takes_milli: takes,
    })
}

/// The parts it is mixed from, if it is mixed from several.
fn read_parts(f: &mut Fields, water: Option<i64>) -> Option<Vec<DeveloperPart>> {
    let found = parts::read(f.raw("parts")).and_then(|found| {
        let others: i64 = found.iter().skip(1).map(|p| p.milli).sum();
        if others + water.unwrap_or(0) * 1000 > 1_000_000 {
            return Err("Water and other parts together are at most 1000 to one.".to_owned());
        }
        Ok(found)
    });
    found.map_err(|sentence| f.fault("parts", sentence)).ok()
}

fn read_developer(f: &mut Fields) -> Result<NewDeveloper, Error> {
    let name = f.text("name", "the developer's name with its dilution", 1..=80);
    let product = f.text("product", "the product", 1..=80);
    let water = f.number("water_parts", "parts of water to one of concentrate", 0..=1000);
    let least =
        amount(f, "least", "the least concentrate for a roll's worth, in ml", 0..=2_000_000);
    let factor = amount_if_any(f, "factor", "the factor per 10 °C", 1000..=5000);
    let growth = read_growth(f);
    let parts = read_parts(f, water);
    let typed = f.raw("handling").to_owned();
    let handling = Handling::from_word(&typed);
    if handling.is_none() {
        f.fault("handling", "Please choose how it is used.");
    }
    f.done()?;
    let missing = || f.faults();
    Ok(NewDeveloper {
        name: name.ok_or_else(missing)?,
        product: product.ok_or_else(missing)?,
        water_parts: water.ok_or_else(missing)?,
        least_ul_per_roll: least.ok_or_else(missing)?,
        factor_milli: factor.ok_or_else(missing)?,
        handling: handling.ok_or_else(missing)?,
        growth: growth.ok_or_else(missing)?,
        on_hand: f.ticked("on_hand"),
        parts: parts.ok_or_else(missing)?,
    })
}

async fn add_developer(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let new = read_developer(&mut filled.fields);
    let done = filled.keep(&app, &lead, new, crate::recipes::add_developer).await;
    match done {
        Ok(_) => Ok(go("/chart/developers", Some(Flash::good("The developer is entered.")))),
        Err(e) => developers_page(&app, &req, true, filled.again(e)?).await,
    }
}

#[derive(Serialize)]
struct DeveloperPage {
    name: String,
    handlings: Vec<Choice>,
    form: Form,
}

fn filled_from(d: &Developer) -> Form {
    let maybe = |milli: Option<i64>| milli.map_or_else(String::new, rules::decimal);
    Form::new(&format!("/chart/developers/{}", d.id))
        .of_version(d.version)
        .with("name", &d.name)
        .with("product", &d.product)
        .with("water_parts", d.water_parts)
        .with("parts", parts::written(&d.parts()))
        .with("least", rules::decimal(d.least_ul_per_roll))
        .with("factor", maybe(d.factor_milli))
        .with("handling", d.handling().word())
        .with("growth_percent", maybe(d.growth.growth_percent_milli))
        .with("growth_every", maybe(d.growth.growth_every_milli))
        .with("growth_counted", d.growth.growth_counted.as_deref().unwrap_or("whole_steps"))
        .with("growth_on", d.growth.growth_on.as_deref().unwrap_or("first_time"))
        .with("takes", maybe(d.growth.takes_milli))
        .with("on_hand", if d.on_hand { "yes" } else { "" })
}

fn developer_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    name: String,
    form: Form,
) -> Result<HttpResponse, Error> {
    let page = DeveloperPage { name, handlings: handlings(), form };
    let shown = page.form.clone();
    show_form(app, req, ("Developer", "recipes/developer.html"), &shown, &page)
}

async fn developer(
    app: web::Data<App>,
    req: HttpRequest,
    _lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let found = app.db.read(move |conn| store::developer(conn, id)).await?;
    developer_page(&app, &req, found.name.clone(), filled_from(&found))
}

async fn change_developer(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, version) = (id.into_inner(), filled.version());
    let found = app.db.read(move |conn| store::developer(conn, id)).await?;
    let done = match read_developer(&mut filled.fields) {
        Ok(new) => {
            let once = filled.once(&app, Some(&lead))?;
            let change = move |tx: &mut crate::db::Tx<'_>| {
                crate::recipes::change_developer(tx, id, version, &new)
            };
            app.db.write_once(once, change).await
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(()) => Ok(go("/chart/developers", Some(Flash::good("The developer is changed.")))),
        Err(e) => developer_page(&app, &req, found.name, filled.again(e)?),
    }
}

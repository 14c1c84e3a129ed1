use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, amount, clock, developer_choices, film_choices};
use crate::app::App;
use crate::error::Error;
use crate::recipes::{NewRecipe, Recipe, rules, store};
use crate::sessions::{Person, Role};
use crate::web::{Asked, Fields, Filled, Flash, Form, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/chart/new", Who::Member, new);
    open.post("/chart/new", Who::Member, enter);
}

#[derive(Serialize)]
struct EnterPage {
    form: Form,
    films: Vec<Choice>,
    developers: Vec<Choice>,
    from: Option<i64>,
    lead: bool,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &Person,
    form: Form,
) -> Result<HttpResponse, Error> {
    let (films, developers) =
        app.db.read(|conn| Ok((store::films(conn)?, store::developers(conn)?))).await?;
    let from = form.values.get("from").and_then(|f| f.parse().ok());
    let lead = person.role == Role::Lead;
    let title = match (lead, from) {
        (true, None) => "Enter a recipe",
        (true, Some(_)) => "Change a recipe",
        (false, None) => "Propose a recipe",
        (false, Some(_)) => "Propose a change",
    };
    let page = EnterPage {
        films: film_choices(&films),
        developers: developer_choices(&developers),
        from,
        lead,
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, (title, "recipes/enter.html"), &shown, &page)
}

/// The form as it begins: empty, or with what an earlier version says.
fn filled_from(recipe: &Recipe) -> Form {
    Form::new("/chart/new")
        .with("from", recipe.id)
        .with("film", recipe.film.id)
        .with("ei", recipe.ei)
        .with("developer", recipe.developer.id)
        .with("temperature", rules::decimal(recipe.temperature_mc))
        .with("time", rules::clock_of(recipe.time_s))
        .with("pre_soak", rules::clock_of(recipe.pre_soak_s))
        .with("agitation", &recipe.agitation)
        .with("table", rules::table_in_words(&recipe.table))
        .with("contrast", &recipe.contrast)
        .with("source", &recipe.source)
}

async fn new(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let form = match asked.0.raw("from").parse::<i64>() {
        Ok(id) => filled_from(&app.db.read(move |conn| store::by_id(conn, id)).await?),
        Err(_) => Form::new("/chart/new")
            .with("temperature", "20.0")
            .with("pre_soak", "1:00")
            .with("agitation", "30 s, then 5 s each minute"),
    };
    page(&app, &req, &member, form).await
}

pub(super) fn read(f: &mut Fields) -> Result<NewRecipe, Error> {
    let film_id = f.number("film", "the film", 1..=i64::MAX);
    let developer_id = f.number("developer", "the developer", 1..=i64::MAX);
    let ei = f.number("ei", "the exposure index", 1..=25_600);
    let temperature = amount(f, "temperature", "the temperature in °C", 10_000..=40_000);
    let time = clock(f, "time", "the developing time", 1..=86_400);
    let pre_soak = clock(f, "pre_soak", "the pre-soak", 0..=3600);
    let agitation = f.text("agitation", "how the tank is moved", 1..=100);
    let contrast = f.text("contrast", "what it is made for", 0..=80);
    let source = f.text("source", "where the time comes from", 1..=200);
    let why = f.text("why", "why it is changed", 0..=200);
    let table = rules::read_table(f.raw("table"));
    if let Err(sentence) = &table {
        f.fault("table", sentence.clone());
    }
    f.done()?;
    let missing = || f.faults();
    let temperature_mc = temperature.ok_or_else(missing)?;
    let time_s = time.ok_or_else(missing)?;
    Ok(NewRecipe {
        film_id: film_id.ok_or_else(missing)?,
        ei: ei.ok_or_else(missing)?,
        developer_id: developer_id.ok_or_else(missing)?,
        temperature_mc,
        agitation: rules::agitation_kept(&agitation.ok_or_else(missing)?),
        pre_soak_s: pre_soak.ok_or_else(missing)?,
        time_s,
        contrast: contrast.ok_or_else(missing)?,
        source: source.ok_or_else(missing)?,
        table: rules::fitting_table(&table.unwrap_or_default(), temperature_mc, time_s)?,
        why: why.ok_or_else(missing)?,
    })
}

async fn enter(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let from = filled.fields.raw("from").parse::<i64>().ok();
    let done = match read(&mut filled.fields) {
        Err(e) => Err(e),
        Ok(new) => {
            let (now, person) = (app.clock.now(), member.0.clone());
            let once = filled.once(&app, Some(&member))?;
            app.db
                .write_once(once, move |tx| {
                    let line = match from {
                        Some(id) => Some(store::by_id(tx, id)?.line_id),
                        None => None,
                    };
                    crate::recipes::enter(tx, now, &person, line, &new)
                })
                .await
        }
    };
    match done {
        Ok(id) => {
            let word = match (member.role, from) {
                (Role::Lead, None) => "Entered on the time chart.",
                (Role::Lead, Some(_)) => {
                    "Changed. What waits for a run is developed by this version."
                }
                _ => "Proposed. A lead looks at it; you get a letter.",
            };
            Ok(go(&format!("/chart/{id}"), Some(Flash::good(word))))
        }
        Err(e) => page(&app, &req, &member, filled.again(e)?).await,
    }
}

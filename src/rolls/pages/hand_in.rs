use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, spoken};
use crate::app::App;
use crate::clock::Zone;
use crate::error::Error;
use crate::recipes;
use crate::rolls::rules::{Care, Check, FORMATS, Format, Length, NewRoll};
use crate::rolls::store::{self, Terms};
use crate::sessions::Person;
use crate::web::{Asked, Fields, Filled, Flash, Form, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/new", Who::Member, new);
    open.post("/rolls/new", Who::Member, hand_in);
    open.get("/rolls/recipes", Who::Member, fitting);
}

/// Rolls that one form hands in at the most.
const AT_ONCE: i64 = 24;

#[derive(Serialize)]
struct NewPage {
    form: Form,
    films: Vec<Choice>,
    formats: Vec<Choice>,
    recipes: Vec<Choice>,
    counts: Vec<Choice>,
    cares: Vec<Choice>,
    lengths: Vec<Choice>,
    terms: Option<TermsToAccept>,
}

#[derive(Serialize)]
struct TermsToAccept {
    number: i64,
    body: String,
}

async fn new_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &Person,
    form: Form,
) -> Result<HttpResponse, Error> {
    let number = |name: &str| form.values.get(name).and_then(|v| v.trim().parse::<i64>().ok());
    let (film, ei, id) = (number("film"), number("ei"), person.id);
    let (films, recipes, terms) = app
        .db
        .read(move |conn| {
            let recipes = match (film, ei) {
                (Some(film), Some(ei)) => recipes::for_film(conn, film, ei)?,
                _ => Vec::new(),
            };
            let terms = match store::current_terms(conn)? {
                Some(t) if !store::has_accepted(conn, t.id, id)? => Some(t),
                _ => None,
            };
            Ok((recipes::films(conn)?, recipes, terms))
        })
        .await?;
    let page = NewPage {
        films: films.into_iter().map(|f| Choice::new(f.id, f.name)).collect(),
        formats: FORMATS.iter().map(|f| Choice::new(f.name, format_in_words(f))).collect(),
        recipes: recipes.into_iter().map(|r| Choice::new(r.id, recipe_in_words(&r))).collect(),
        counts: (1..=AT_ONCE).map(|n| Choice::new(n, n.to_string())).collect(),
        cares: Care::ALL.iter().map(|c| Choice::new(c.word(), c.name())).collect(),
        lengths: Length::ALL.iter().map(|l| Choice::new(l.word(), l.name())).collect(),
        terms: terms.map(|Terms { number, body, .. }| TermsToAccept { number, body }),
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, ("Hand in rolls", "rolls/new.html"), &shown, &page)
}

fn format_in_words(format: &Format) -> String {
    if format.is_sheet() { format!("sheets {} in", format.name) } else { format.name.to_owned() }
}

fn recipe_in_words(r: &recipes::Recipe) -> String {
    let made_for = if r.contrast.is_empty() { String::new() } else { format!(", {}", r.contrast) };
    let shelf = if r.developer.on_hand { "" } else { " (not on the shelf)" };
    format!(
        "{}, {} min at {} °C, {}{made_for}{shelf}",
        r.developer.name,
        recipes::clock_of(r.time_s),
        recipes::decimal(r.temperature_mc),
        r.agitation
    )
}

async fn new(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let mut form = Form::new("/rolls/new")
        .with("count", 1)
        .with("format", "135-36")
        .with("care", Care::Ordinary.word())
        .with("length", Length::Usual.word());
    if let Ok(id) = asked.0.raw("recipe").parse::<i64>() {
        let recipe = app.db.read(move |conn| recipes::today_of(conn, id)).await?;
        form = form.with("recipe", recipe.id).with("film", recipe.film.id).with("ei", recipe.ei);
    }
    for name in ["film", "ei", "format"] {
        if !asked.0.raw(name).is_empty() {
            form = form.with(name, asked.0.raw(name));
        }
    }
    new_page(&app, &req, &member, form).await
}

/// The recipes for a film and an index, for the form that asks while somebody fills it in.
async fn fitting(
    app: web::Data<App>,
    _member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let number = |name: &str| asked.0.raw(name).trim().parse::<i64>().ok();
    let (Some(film), Some(ei)) = (number("film"), number("ei")) else {
        return Ok(HttpResponse::Ok().json(Vec::<Choice>::new()));
    };
    let found = app.db.read(move |conn| recipes::for_film(conn, film, ei)).await?;
    let choices: Vec<Choice> =
        found.into_iter().map(|r| Choice::new(r.id, recipe_in_words(&r))).collect();
    Ok(HttpResponse::Ok().json(choices))
}

fn read_check(f: &mut Fields) -> Option<Check> {
    if !f.ticked("negative") {
        f.fault(
            "negative",
            "The studio develops black-and-white negative film only. Tick this if it is that; \
             colour and slide film spoils the baths and is spoilt by them.",
        );
        return None;
    }
    let pick = |f: &Fields, name: &str, usual: &'static str| match f.raw(name) {
        "" => usual.to_owned(),
        word => word.to_owned(),
    };
    let care = Care::from_word(&pick(f, "care", "ordinary"));
    if care.is_none() {
        f.fault("care", "Choose what must be taken care of.");
    }
    let length = Length::from_word(&pick(f, "length", "usual"));
    if length.is_none() {
        f.fault("length", "Choose how long it is.");
    }
    Some(Check {
        backing: f.ticked("backing"),
        spool: f.ticked("spool"),
        torn: f.ticked("torn"),
        guessed: f.ticked("guessed"),
        length: length?,
        care: care?,
    })
}

/// How many alike, and what each is.
fn read(f: &mut Fields, zone: Zone) -> Result<(i64, NewRoll), Error> {
    let film = f.number("film", "the film", 1..=i64::MAX);
    let names: Vec<&str> = FORMATS.iter().map(|x| x.name).collect();
    let format = f.choice("format", "the format", &names).and_then(|n| Format::named(&n));
    let ei = f.number("ei", "the exposure index", 1..=25_600);
    let count = f.number("count", "how many rolls", 1..=AT_ONCE);
    let note = f.text("note", "a note", 0..=500);
    let check = read_check(f);
    let if_any = |f: &mut Fields, name: &str, what: &str, most: i64| match f.raw(name).trim() {
        "" => Some(None),
        _ => f.number(name, what, i64::from(name != "tolerance")..=most).map(Some),
    };
    let recipe_id = if_any(f, "recipe", "the recipe", i64::MAX);
    let sheets = if_any(f, "sheets", "how many sheets", 100);
    let tolerance = if_any(f, "tolerance", "a number of per cent", 20);
    let day = |f: &mut Fields, name: &str, what: &str| match f.raw(name) {
        "" => Some(None),
        _ => f.date(name, what).map(Some),
    };
    let due = day(f, "due", "the day you need it");
    let ready = day(f, "ready", "the day it may be begun");
    f.done()?;
    let missing = || f.faults();
    let new = NewRoll {
        film_id: film.ok_or_else(missing)?,
        format: format.ok_or_else(missing)?,
        sheets: sheets.ok_or_else(missing)?,
        ei: ei.ok_or_else(missing)?,
        recipe_id: recipe_id.ok_or_else(missing)?,
        note: note.ok_or_else(missing)?,
        due: due.ok_or_else(missing)?.map(|d| zone.day(d).to),
        ready: ready.ok_or_else(missing)?.map(|d| zone.day_start(d)),
        check: check.ok_or_else(missing)?,
        shares: !f.ticked("not_shared"),
        tolerance_percent: tolerance.ok_or_else(missing)?,
    };
    Ok((count.ok_or_else(missing)?, new))
}

async fn hand_in(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    // Without script the recipes are looked up by a button of the form.
    if filled.fields.raw("then") == "recipes" {
        let mut form = Form::new("/rolls/new");
        form.values = filled.fields.values();
        return new_page(&app, &req, &member, form).await;
    }
    let terms = filled.fields.raw("terms").parse::<i64>().ok();
    let done: Result<Vec<String>, Error> = match read(&mut filled.fields, app.zone()) {
        Err(e) => Err(e),
        Ok((count, new)) => {
            let (now, by) = (app.clock.now(), member.id);
            let count = usize::try_from(count).unwrap_or(1);
            let once = filled.once(&app, Some(&member))?;
            app.db
                .write_once(once, move |tx| {
                    if let Some(number) = terms {
                        crate::rolls::accept_terms(tx, now, by, number)?;
                    }
                    let alike = vec![new.clone(); count];
                    let done = crate::rolls::hand_in_many(tx, now, by, &alike)?;
                    Ok(done.into_iter().map(|(_, ticket)| ticket).collect())
                })
                .await
        }
    };
    match done {
        Ok(tickets) => {
            let spoken: Vec<String> = tickets.iter().map(|t| spoken(t)).collect();
            let word = format!("Handed in. Write on the film: {}.", spoken.join(", "));
            let to = match filled.fields.raw("then") {
                "more" => "/rolls/new".to_owned(),
                "labels" => format!("/rolls/labels?tickets={}", tickets.join(".")),
                _ => "/rolls".to_owned(),
            };
            Ok(go(&to, Some(Flash::good(word))))
        }
        Err(e) => new_page(&app, &req, &member, filled.again(e)?).await,
    }
}

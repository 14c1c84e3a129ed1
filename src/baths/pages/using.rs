//! The page behind the QR code on a label: can it take this, and it has happened.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, timing};
use crate::app::App;
use crate::baths::rules::{Bath, Material, rolls_in_words};
use crate::baths::using::{Told, load};
use crate::baths::{self, Films, State, Use};
use crate::chemistry;
use crate::error::Error;
use crate::rolls;
use crate::shelf::{self, Settings};
use crate::web::{Asked, Fields, Filled, Flash, Form, Member, go, show_form};

/// What may be put through at once.
const MOST: i64 = 60;
/// The formats of film that can be said, and of paper.
const FILMS: [&str; 8] = ["135-36", "135-24", "120", "220", "127", "4x5", "5x7", "8x10"];
const PAPERS: [(&str, i64, &str); 3] = [
    ("paper-8x10", 1000, "8x10 in (20 x 25 cm)"),
    ("paper-5x7", 438, "5x7 in (13 x 18 cm)"),
    ("paper-11x14", 1925, "11x14 in (28 x 36 cm)"),
];

/// The formats that go through a bath.
fn formats(material: Material) -> Vec<Choice> {
    match material {
        Material::Film => FILMS.iter().map(|f| Choice::new(f, *f)).collect(),
        Material::Paper => PAPERS.iter().map(|p| Choice::new(&p.0, p.2)).collect(),
    }
}

/// One roll or sheet of a format in thousandths of a roll's worth, rounded up.
fn milli_of(format: &str) -> Option<i64> {
    if let Some(paper) = PAPERS.iter().find(|p| p.0 == format) {
        return Some(paper.1);
    }
    if let Some(known) = rolls::Format::named(format) {
        return Some(known.milli);
    }
    let format: chemistry::Format = format.parse().ok()?;
    i64::try_from(format.roll_equivalents().millionths().div_ceil(1000)).ok()
}

/// What somebody wants to put through, or has.
fn read(f: &mut Fields, bath: &Bath) -> Result<Films, Error> {
    let choices = formats(bath.material);
    let words: Vec<&str> = choices.iter().map(|c| c.value.as_str()).collect();
    let format = f.choice("format", "a format", &words);
    let count = f.number("count", "how many", 1..=MOST);
    let tabular = f.ticked("tabular");
    f.done()?;
    let (Some(format), Some(count)) = (format, count) else { return Err(f.faults()) };
    let one = milli_of(&format).ok_or_else(|| Error::field("format", "Choose a format."))?;
    let kind = if tabular { ", tabular grain" } else { "" };
    let format = format.replace("paper-", "paper ");
    let note = format!("{count} of {format}{kind}");
    Ok(Films { bath: bath.id, film_milli: one * count, tabular, note })
}

#[derive(Serialize)]
struct Answer {
    takes: bool,
    sentence: String,
    timing: Option<String>,
}

fn answer(bath: &Bath, state: &State, films: &Films, settings: &Settings) -> Answer {
    let load = load(bath, films, settings);
    let worth = format!("{}, {} rolls' worth", films.note, rolls_in_words(load));
    match state.cannot_take(load) {
        Some(why) => Answer {
            takes: false,
            sentence: format!("Do not put it in: {worth}. {why}"),
            timing: None,
        },
        None => Answer {
            takes: true,
            sentence: format!(
                "It takes them: {worth}. {} are left after that.",
                rolls_in_words(state.remaining_milli - load)
            ),
            timing: timing(bath, state),
        },
    }
}

#[derive(Serialize)]
struct UsePage {
    id: i64,
    label: String,
    material: &'static str,
    word: &'static str,
    tone: &'static str,
    remaining: String,
    over: Option<String>,
    capacity: String,
    advice: Option<String>,
    timing: Option<String>,
    asks_test: bool,
    is_film: bool,
    formats: Vec<Choice>,
    answer: Option<Answer>,
    form: Form,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    (bath, state): (Bath, State),
    (answer, form): (Option<Answer>, Form),
) -> Result<HttpResponse, Error> {
    if !baths::using::takes_film(&bath) {
        return Err(Error::NotFound);
    }
    let page = UsePage {
        id: bath.id,
        material: bath.material.name(),
        word: state.word(),
        tone: state.tone(),
        remaining: rolls_in_words(state.remaining_milli),
        over: super::over(&state),
        capacity: rolls_in_words(bath.capacity_milli),
        advice: super::advice(&bath, &state),
        timing: timing(&bath, &state).filter(|_| state.is_usable()),
        asks_test: state.asks_scrap_test,
        is_film: bath.material == Material::Film,
        formats: formats(bath.material),
        answer,
        form,
        label: bath.of.label,
    };
    let status = page.form.clone();
    show_form(app, req, (&page.label, "baths/use.html"), &status, &page)
}

async fn bath_and_state(app: &web::Data<App>, id: i64) -> Result<(Bath, State, Settings), Error> {
    let now = app.clock.now();
    app.db
        .read(move |conn| {
            let bath = baths::one(conn, id)?;
            let state = baths::state(conn, now, &bath)?;
            Ok((bath, state, shelf::settings(conn)?))
        })
        .await
}

pub(super) async fn ask(
    app: web::Data<App>,
    req: HttpRequest,
    _member: Member,
    id: web::Path<i64>,
    mut asked: Asked,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (bath, state, settings) = bath_and_state(&app, id).await?;
    let mut form = Form::new(&format!("/baths/{id}/uses")).with("count", 1);
    let first = formats(bath.material).into_iter().next();
    form = form.with("format", first.map(|c| c.value).unwrap_or_default());
    if asked.0.raw("format").is_empty() {
        return page(&app, &req, (bath, state), (None, form)).await;
    }
    for name in ["format", "count", "tabular"] {
        form = form.with(name, asked.0.raw(name));
    }
    match read(&mut asked.0, &bath) {
        Ok(films) => {
            let said = answer(&bath, &state, &films, &settings);
            page(&app, &req, (bath, state), (Some(said), form)).await
        }
        Err(Error::Invalid(faults)) => {
            form.faults = faults;
            form.status = 422;
            page(&app, &req, (bath, state), (None, form)).await
        }
        Err(e) => Err(e),
    }
}

/// What is to be recorded: films of a format, or rolls' worth as they are.
enum Wish {
    Films(Films),
    Worth(Use),
}

fn read_wish(f: &mut Fields, bath: &Bath) -> Result<Wish, Error> {
    if f.raw("rolls").is_empty() {
        return read(f, bath).map(Wish::Films);
    }
    match f.decimal("rolls", "how many rolls' worth", 1..=MOST * 1000) {
        Some(milli) => {
            Ok(Wish::Worth(Use { bath: bath.id, milli, run: None, note: String::new() }))
        }
        None => Err(f.faults()),
    }
}

pub(super) async fn record(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (bath, state, _) = bath_and_state(&app, id).await?;
    let (now, by) = (app.clock.now(), member.id);
    let wish = read_wish(&mut filled.fields, &bath);
    let done = filled
        .keep(&app, &member, wish, move |tx, wish| {
            let used = match wish {
                Wish::Films(films) => baths::record_films(tx, now, Some(by), films)?,
                Wish::Worth(worth) => baths::record_use(tx, now, Some(by), worth)?,
            };
            Ok(Told { word: used.state.word().to_owned(), re_fix: used.re_fix })
        })
        .await;
    match done {
        Ok(told) if told.re_fix => {
            let said = format!(
                "Recorded, but the bath could not take it and is now: {}. Re-fix these in fresh \
                 fixer.",
                told.word
            );
            Ok(go(&format!("/baths/{id}"), Some(Flash::bad(said))))
        }
        Ok(told) => {
            let said = format!("Recorded. The bath is now: {}.", told.word);
            Ok(go(&format!("/baths/{id}"), Some(Flash::good(said))))
        }
        Err(e) => page(&app, &req, (bath, state), (None, filled.again(e)?)).await,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_are_counted_by_their_area() {
        // One 135-36 = one 120 = half a 220 = four 4x5 in = one 8x10 in = 80 in2
        // (brodie-tyrrell.org wiki, FixerCapacity; Anchell 2008, p. 108).
        let all = [("135-36", 1000), ("120", 1000), ("220", 2000), ("4x5", 250), ("8x10", 1000)];
        for (format, milli) in all {
            assert_eq!(milli_of(format), Some(milli), "{format}");
        }
        assert_eq!(milli_of("paper-8x10"), Some(1000));
        assert!(FILMS.iter().all(|f| milli_of(f).is_some_and(|m| m > 0)));
        assert_eq!(milli_of("110"), None);
    }
}

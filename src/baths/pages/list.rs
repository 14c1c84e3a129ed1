use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{advice, timing};
use crate::app::App;
use crate::baths::rules::{Bath, Place, rolls_in_words};
use crate::baths::state::State;
use crate::baths::{self, store};
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Asked, Member, counted, show};

#[derive(Serialize)]
struct Line {
    id: i64,
    number: i64,
    label: String,
    kind: &'static str,
    place: &'static str,
    material: &'static str,
    word: &'static str,
    tone: &'static str,
    used: String,
    capacity: String,
    remaining: String,
    /// By how much it is over its capacity, where it is.
    over: Option<String>,
    /// Whether no film may go into it any more.
    is_spent: bool,
    percent: i64,
    age: String,
    timing: Option<String>,
    advice: Option<String>,
    asks_test: bool,
    takes_film: bool,
    goes_first: bool,
    is_fixer: bool,
    stock: Option<String>,
}

fn line(bath: &Bath, state: &State) -> Line {
    let stock = !baths::using::takes_film(bath);
    Line {
        id: bath.id,
        number: bath.number,
        label: bath.label.clone(),
        kind: bath.kind.name(),
        place: bath.place.name(),
        material: bath.material.name(),
        word: state.word(),
        tone: state.tone(),
        used: rolls_in_words(state.used_milli),
        capacity: rolls_in_words(bath.capacity_milli),
        remaining: rolls_in_words(state.remaining_milli),
        over: super::over(state),
        is_spent: !state.is_usable(),
        percent: (state.used_milli.saturating_mul(100) / bath.capacity_milli.max(1)).clamp(0, 100),
        age: format!("{} old", counted(state.age_days, "day", "days")),
        timing: timing(bath, state),
        advice: advice(bath, state),
        asks_test: state.asks_scrap_test,
        takes_film: !stock,
        goes_first: !stock && bath.place != Place::Second,
        is_fixer: bath.is_fixer(),
        stock: stock.then(|| {
            format!(
                "{} of {} ml left",
                crate::shelf::figure(state.left_ul),
                crate::shelf::figure(bath.volume_ul)
            )
        }),
    }
}

/// A lot that badly developed films have in common.
#[derive(Serialize)]
struct Doubt {
    href: String,
    text: String,
}

#[derive(Serialize)]
struct ListPage {
    baths: Vec<Line>,
    doubts: Vec<Doubt>,
    lead: bool,
}

pub(super) async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let lead = member.role == Role::Lead;
    let (found, doubts) = app
        .db
        .read(move |conn| {
            let doubts = if lead { baths::lots_in_doubt(conn)? } else { Vec::new() };
            Ok((baths::on_the_shelf(conn, now)?, doubts))
        })
        .await?;
    let page = ListPage {
        doubts: doubts
            .into_iter()
            .map(|d| Doubt {
                href: format!("/shelf/products/{}", d.product_id),
                text: format!(
                    "{} films that came out thin, stained or milky have lot {} of {} in common",
                    d.films, d.number, d.product
                ),
            })
            .collect(),
        baths: found.iter().map(|(b, s)| line(b, s)).collect(),
        lead,
    };
    show(&app, &req, "Baths", "baths/list.html", &page)
}

#[derive(Serialize)]
struct Past {
    id: i64,
    label: String,
    kind: &'static str,
    mixed: String,
    retired: String,
    used: String,
    capacity: String,
}

#[derive(Serialize)]
struct PastPage {
    baths: Vec<Past>,
    earlier: Option<String>,
    later: Option<String>,
}

/// So many retired baths stand on one page.
const ON_A_PAGE: i64 = 40;

pub(super) async fn retired(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let page = asked.0.raw("page").parse::<i64>().unwrap_or(1).clamp(1, 10_000);
    let now = app.clock.now();
    let mut found = app
        .db
        .read(move |conn| {
            let all = store::retired(conn, (page - 1) * ON_A_PAGE, ON_A_PAGE + 1)?;
            all.into_iter()
                .map(|b| {
                    let state = baths::state(conn, now, &b)?;
                    Ok((b, state))
                })
                .collect::<Result<Vec<_>, Error>>()
        })
        .await?;
    let more = found.len() > usize::try_from(ON_A_PAGE).unwrap_or(usize::MAX);
    found.truncate(usize::try_from(ON_A_PAGE).unwrap_or(usize::MAX));
    let words = app.words(Some(&member));
    let zone = app.zone();
    let day = |m| words.date(zone.date(m));
    let page = PastPage {
        baths: found
            .iter()
            .map(|(b, s)| Past {
                id: b.id,
                label: b.label.clone(),
                kind: b.kind.name(),
                mixed: day(b.mixed),
                retired: b.retired.map(day).unwrap_or_default(),
                used: rolls_in_words(s.used_milli),
                capacity: rolls_in_words(b.capacity_milli),
            })
            .collect(),
        earlier: (page > 1).then(|| format!("/baths/retired?page={}", page - 1)),
        later: more.then(|| format!("/baths/retired?page={}", page + 1)),
    };
    show(&app, &req, "Retired baths", "baths/retired.html", &page)
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, degrees, developer_choices, film_choices, minutes};
use crate::app::App;
use crate::error::Error;
use crate::recipes::{Place, Recipe, Search, Standing, store};
use crate::sessions::{Person, Role};
use crate::web::{Asked, Fields, Form, Member, Routes, Who, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/chart", Who::Member, chart);
    open.get("/chart/proposals", Who::Member, proposals);
}

/// Recipes on one page.
const PAGE: usize = 50;

#[derive(Serialize)]
pub(super) struct Line {
    id: i64,
    film: String,
    ei: i64,
    developer: String,
    on_hand: bool,
    temperature: String,
    time: String,
    agitation: String,
    contrast: String,
    source: String,
}

impl Line {
    pub(super) fn of(app: &App, person: &Person, r: Recipe) -> Line {
        Line {
            temperature: degrees(app, person, r.temperature_mc),
            id: r.id,
            film: r.film.name,
            ei: r.ei,
            on_hand: r.developer.on_hand,
            developer: r.developer.name,
            time: minutes(r.time_s),
            agitation: r.agitation,
            contrast: r.contrast,
            source: r.source,
        }
    }
}

#[derive(Serialize)]
struct ChartPage {
    recipes: Vec<Line>,
    form: Form,
    films: Vec<Choice>,
    developers: Vec<Choice>,
    asked: bool,
    later: Option<String>,
    first: Option<String>,
    lead: bool,
    proposed: i64,
}

/// What is looked for, as the address says it. Nonsense is left out: a search never fails.
fn read(f: &Fields) -> Search {
    let number = |name: &str| f.raw(name).trim().parse::<i64>().ok();
    let words: String = f.raw("search").chars().take(100).collect();
    let after = number("after_id").zip(number("after_ei")).map(|(id, ei)| Place {
        film: f.raw("after_film").to_owned(),
        ei,
        id,
    });
    Search {
        words: words.split_whitespace().take(8).map(ToOwned::to_owned).collect(),
        film: number("film"),
        ei: number("ei"),
        developer: number("developer"),
        on_hand: f.ticked("on_hand"),
        after,
        ..Search::default()
    }
}

/// The address of this search, without the place where a page ended.
fn address(f: &Fields, place: Option<&Place>) -> String {
    let kept = ["search", "film", "ei", "developer", "on_hand"];
    let mut pairs: Vec<(&str, String)> = kept
        .iter()
        .filter(|name| !f.raw(name).is_empty())
        .map(|name| (*name, f.raw(name).to_owned()))
        .collect();
    if let Some(p) = place {
        pairs.push(("after_film", p.film.clone()));
        pairs.push(("after_ei", p.ei.to_string()));
        pairs.push(("after_id", p.id.to_string()));
    }
    let query = serde_urlencoded::to_string(pairs).unwrap_or_default();
    if query.is_empty() { "/chart".to_owned() } else { format!("/chart?{query}") }
}

async fn chart(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let fields = asked.0;
    let mut search = read(&fields);
    search.limit = i64::try_from(PAGE + 1).unwrap_or(i64::MAX);
    let looked = search.clone();
    let (mut found, films, developers, proposed) = app
        .db
        .read(move |conn| {
            Ok((
                store::found(conn, &looked)?,
                store::films(conn)?,
                store::developers(conn)?,
                store::count_proposed(conn)?,
            ))
        })
        .await?;
    let more = found.len() > PAGE;
    found.truncate(PAGE);
    let last = found.last().filter(|_| more);
    let later = last.map(|r| {
        let place = Place { film: r.film.name.clone(), ei: r.ei, id: r.id };
        address(&fields, Some(&place))
    });
    let mut form = Form::new("/chart");
    form.values = fields.values();
    let page = ChartPage {
        asked: address(&fields, None) != "/chart",
        first: search.after.is_some().then(|| address(&fields, None)),
        recipes: found.into_iter().map(|r| Line::of(&app, &member, r)).collect(),
        films: film_choices(&films),
        developers: developer_choices(&developers),
        lead: member.role == Role::Lead,
        later,
        form,
        proposed,
    };
    show(&app, &req, "Time chart", "recipes/chart.html", &page)
}

#[derive(Serialize)]
struct ProposalsPage {
    recipes: Vec<Line>,
    lead: bool,
}

async fn proposals(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let search = Search { standing: Standing::Proposed, limit: 200, ..Search::default() };
    let mut found = app.db.read(move |conn| store::found(conn, &search)).await?;
    let lead = member.role == Role::Lead;
    found.retain(|r| lead || r.entered_by == Some(member.id));
    let recipes = found.into_iter().map(|r| Line::of(&app, &member, r)).collect();
    show(&app, &req, "Proposals", "recipes/proposals.html", &ProposalsPage { recipes, lead })
}

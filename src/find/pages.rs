use actix_web::{HttpRequest, HttpResponse, web};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;

use super::kinds::{self, Hit, KINDS, Kind, Look, Manner, SHOWN};
use super::rules::{self, Typed};
use crate::app::App;
use crate::error::Error;
use crate::rolls;
use crate::web::{Asked, Newcomer, Routes, Who, beginning, go, may_look, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/find", Who::Newcomer, find);
}

/// What of one kind was found, and where the others are.
#[derive(Serialize)]
struct Group {
    head: &'static str,
    hits: Vec<Hit>,
    /// Whether there are more than stand here.
    more: bool,
    list: Link,
}

#[derive(Serialize)]
struct Link {
    href: String,
    text: &'static str,
}

#[derive(Serialize)]
struct FindPage {
    text: String,
    /// Nothing was typed that can be looked for.
    is_blank: bool,
    is_short: bool,
    groups: Vec<Group>,
    /// The rooms' own lists, for whoever found nothing, each once.
    rooms: Vec<Link>,
    /// The notes on results, where they are open to whoever asks.
    results: Option<String>,
}

fn list(manner: &Manner, text: &str) -> Link {
    let href = if manner.list.ends_with('=') {
        format!("{}{}", manner.list, utf8_percent_encode(text, NON_ALPHANUMERIC))
    } else {
        manner.list.to_owned()
    };
    Link { href, text: manner.called }
}

fn rooms(open: &[&Manner]) -> Vec<Link> {
    let mut rooms: Vec<Link> = Vec::new();
    for manner in open {
        let href = manner.list.split('?').next().unwrap_or_default();
        if rooms.iter().all(|r| r.href != href) {
            rooms.push(Link { href: href.to_owned(), text: manner.head });
        }
    }
    rooms
}

async fn find(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let text = asked.0.raw("words").trim().to_owned();
    if let Some(place) = rules::own_place(&text, &app.config.base_url) {
        return Ok(go(place, None));
    }
    let typed = rules::read(&text);
    let (is_blank, is_short) = (typed == Typed::Nothing, typed == Typed::TooShort);
    let open: Vec<&'static Manner> = KINDS.iter().filter(|m| may_look(&req, m.door)).collect();
    let mut groups = Vec::new();
    if let Typed::Words(words) = typed {
        if open.iter().any(|m| m.kind == Kind::Rolls) {
            let (person, ticket) = (person.0.clone(), text.clone());
            let seen = move |conn: &mut _| rolls::ticket_seen_by(conn, &person, &ticket);
            if let Some(ticket) = app.db.read(seen).await? {
                return Ok(go(&format!("/rolls/{ticket}"), None));
            }
        }
        let now = app.clock.now();
        let look = Look {
            words,
            day: rules::day(&text, app.zone().date(now)),
            now,
            say: app.words(Some(&person)),
            person: person.0.clone(),
        };
        let looked: Vec<Kind> = open.iter().map(|m| m.kind).collect();
        let found = app
            .db
            .read(move |conn| {
                looked
                    .iter()
                    .map(|kind| kinds::found(conn, &look, *kind))
                    .collect::<Result<Vec<_>, _>>()
            })
            .await?;
        groups = open.iter().zip(found).filter_map(|(m, hits)| group(m, hits, &text)).collect();
    }
    let title = match &groups[..] {
        [] => "Look for anything".to_owned(),
        _ => format!("Found for “{}”", beginning(&text, 60)),
    };
    let results = may_look(&req, "/rolls/results");
    let page = FindPage {
        is_blank,
        is_short,
        groups,
        rooms: rooms(&open),
        results: results.then(|| {
            format!("/rolls/results?search={}", utf8_percent_encode(&text, NON_ALPHANUMERIC))
        }),
        text,
    };
    show(&app, &req, &title, "find/found.html", &page)
}

fn group(manner: &Manner, mut hits: Vec<Hit>, text: &str) -> Option<Group> {
    let more = hits.len() > SHOWN;
    hits.truncate(SHOWN);
    let list = list(manner, text);
    (!hits.is_empty()).then_some(Group { head: manner.head, hits, more, list })
}

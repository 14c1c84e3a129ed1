use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::ics::{self, Entry};
use super::{Feed, store};
use crate::app::App;
use crate::bookings::Kept;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Filled, Flash, Form, Lead, Newcomer, Routes, Who, go, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/calendar", Who::Newcomer, addresses);
    open.post("/calendar/own", Who::Newcomer, renew_own);
    open.post("/calendar/studio", Who::Lead, renew_studio);
    open.get("/calendar/{secret}.ics", Who::Anyone, feed);
}

#[derive(Serialize)]
struct Address {
    url: String,
    since: String,
}

#[derive(Serialize)]
struct AddressesPage {
    own: Option<Address>,
    own_form: Form,
    studio: Option<Address>,
    studio_form: Option<Form>,
}

async fn addresses(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let (id, is_lead) = (person.id, person.role == Role::Lead);
    let (own, studio) = app
        .db
        .read(move |c| {
            let studio = if is_lead { store::of(c, None)? } else { None };
            Ok((store::of(c, Some(id))?, studio))
        })
        .await?;
    let words = app.words(Some(&person));
    let address = |f: Feed| Address {
        url: f.url(&app.key, &app.config.base_url),
        since: words.moment(f.made),
    };
    let page = AddressesPage {
        own: own.map(address),
        own_form: Form::new("/calendar/own"),
        studio: studio.map(address),
        studio_form: is_lead.then(|| Form::new("/calendar/studio")),
    };
    show(&app, &req, "Calendar", "calendar/addresses.html", &page)
}

async fn renew_own(
    app: web::Data<App>,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), person.id);
    let once = filled.once(&app, Some(&person))?;
    app.db.write_once(once, move |tx| super::renew(tx, now, Some(id))).await?;
    Ok(go("/calendar", Some(Flash::good("This is your address now; an older one has ended."))))
}

async fn renew_studio(
    app: web::Data<App>,
    lead: Lead,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let once = filled.once(&app, Some(&lead))?;
    app.db.write_once(once, move |tx| super::renew(tx, now, None)).await?;
    let word = "This is the studio's address now; an older one has ended.";
    Ok(go("/calendar", Some(Flash::good(word))))
}

fn entry(app: &App, feed: &Feed, kept: Kept) -> Entry {
    // Not the host's name: the studio may move to another, and its entries stay the same.
    let seal = app.key.seal("calendar entries");
    let print: String = seal.chars().filter(char::is_ascii_alphanumeric).take(16).collect();
    let summary = match feed.member_id {
        Some(_) => kept.sink,
        None => format!("{}: {}", kept.sink, kept.member_name),
    };
    Entry {
        uid: format!("booking-{}-{print}", kept.id),
        sequence: u32::try_from(kept.version - 1).unwrap_or(0),
        created: kept.created,
        changed: kept.changed,
        span: kept.span,
        summary,
        // A note may be personal; the studio's feed goes without.
        description: if feed.member_id.is_some() { kept.note } else { String::new() },
        location: app.studio().name.clone(),
        is_cancelled: !kept.stands,
    }
}

async fn feed(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (now, key, secret) = (app.clock.now(), app.key.clone(), secret.into_inner());
    let (feed, kept) = app.db.read(move |c| super::open(c, &key, now, &secret)).await?;
    let studio = app.studio().name.clone();
    let name = if feed.member_id.is_some() { format!("{studio}: my bookings") } else { studio };
    let entries: Vec<Entry> = kept.into_iter().map(|k| entry(&app, &feed, k)).collect();
    let text = ics::text(&name, &entries);
    let print = crate::secrets::hash(&text);
    let tag: String = print.iter().take(12).map(|b| format!("{b:02x}")).collect();
    let tag = format!("\"{tag}\"");
    let known = req.headers().get(header::IF_NONE_MATCH).is_some_and(|v| v == tag.as_str());
    let mut res = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    res.insert_header((header::ETAG, tag))
        .insert_header((header::CACHE_CONTROL, "private, no-cache"));
    if known {
        return Ok(res.finish());
    }
    Ok(res
        .content_type("text/calendar; charset=utf-8")
        .insert_header((header::CONTENT_DISPOSITION, "inline; filename=\"wetside.ics\""))
        .body(text))
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Hours, ReelKind, Sink, Tank, read_hours};
use crate::app::App;
use crate::error::Error;
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/room", Who::Lead, room);
    open.post("/room/sinks", Who::Lead, add_sink);
    open.post("/room/tanks", Who::Lead, add_tank);
    open.post("/room/reels", Who::Lead, add_reels);
    open.post("/room/hours", Who::Lead, set_hours);
    open.get("/room/sinks/{id}", Who::Lead, sink);
    open.post("/room/sinks/{id}", Who::Lead, change_sink);
    open.get("/room/tanks/{id}", Who::Lead, tank);
    open.post("/room/tanks/{id}", Who::Lead, change_tank);
}

const DAYS: [&str; 7] =
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

#[derive(Serialize)]
struct RoomPage {
    sinks: Vec<Sink>,
    tanks: Vec<Tank>,
    reels: Vec<ReelKind>,
    sink_form: Form,
    tank_form: Form,
    reel_form: Form,
    hours_form: Form,
}

/// The page with its four forms; `shown` replaces the one that was sent and refused.
async fn page(app: &App, req: &HttpRequest, shown: Option<Form>) -> Result<HttpResponse, Error> {
    let (sinks, tanks, reels, hours) = app
        .db
        .read(|c| Ok((super::sinks(c)?, super::tanks(c)?, super::reel_kinds(c)?, super::hours(c)?)))
        .await?;
    let form = |action: &str| match &shown {
        Some(f) if f.action == action => f.clone(),
        _ => Form::new(action),
    };
    let mut hours_form = form("/room/hours");
    if hours_form.values.is_empty() {
        for (day, number) in DAYS.iter().zip(1..) {
            let of_day = hours.iter().filter(|h| h.weekday == number);
            let text = of_day.map(Hours::text).collect::<Vec<_>>().join(", ");
            hours_form = hours_form.with(day, text);
        }
    }
    let page = RoomPage {
        sink_form: form("/room/sinks"),
        tank_form: form("/room/tanks"),
        reel_form: form("/room/reels"),
        sinks,
        tanks,
        reels,
        hours_form,
    };
    let status = shown.unwrap_or_else(|| Form::new("/room"));
    show_form(app, req, ("The room", "sinks/room.html"), &status, &page)
}

async fn room(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    page(&app, &req, None).await
}

fn read_sink(f: &mut Fields) -> Result<Sink, Error> {
    let name = f.text("name", "a name", 1..=60);
    let places = f.number("places", "a number of places", 1..=12);
    let position = f.number("position", "a position", 0..=999);
    let note = f.text("note", "a note", 0..=500);
    f.done()?;
    match (name, places, position, note) {
        (Some(name), Some(places), Some(position), Some(note)) => {
            Ok(Sink { id: 0, name, position, places, note, version: 0 })
        }
        _ => Err(f.faults()),
    }
}

fn read_tank(f: &mut Fields) -> Result<Tank, Error> {
    let (name, note) = (f.text("name", "a name", 1..=60), f.text("note", "a note", 0..=500));
    let position = f.number("position", "a position", 0..=999);
    let stack = f.number("stack_mm", "a height in millimetres", 10..=2000);
    let reels = f.number("max_reels", "a number of reels", 1..=40);
    let base = f.number("base_ml", "a volume in millilitres", 0..=100_000);
    let least = f.number("min_ml", "a volume in millilitres", 0..=100_000);
    let most = f.number("max_ml", "a volume in millilitres", 1..=100_000);
    if least > most && most.is_some() {
        f.fault("min_ml", "The least volume is larger than the most; one of them must change.");
    }
    f.done()?;
    let (Some(name), Some(note), Some(position), Some(stack_mm)) = (name, note, position, stack)
    else {
        return Err(f.faults());
    };
    let (Some(max_reels), Some(base_ml), Some(min_ml), Some(max_ml)) = (reels, base, least, most)
    else {
        return Err(f.faults());
    };
    Ok(Tank {
        id: 0,
        name,
        position,
        stack_mm,
        max_reels,
        base_ml,
        min_ml,
        max_ml,
        note,
        version: 0,
    })
}

fn read_reels(f: &mut Fields) -> Result<ReelKind, Error> {
    let kind = f.text("kind", "a kind", 1..=40);
    let height = f.number("height_mm", "a height in millimetres", 1..=500);
    let cover = f.number("cover_ml", "a volume in millilitres", 0..=100_000);
    let owned = f.number("owned", "how many there are", 0..=200);
    let drying = f.number("drying_min", "a drying time in minutes", 0..=1440);
    f.done()?;
    match (kind, height, cover, owned, drying) {
        (Some(kind), Some(height_mm), Some(cover_ml), Some(owned), Some(min)) => {
            Ok(ReelKind { id: 0, kind, height_mm, cover_ml, owned, drying_s: min * 60 })
        }
        _ => Err(f.faults()),
    }
}

fn read_week(f: &mut Fields) -> Result<Vec<Hours>, Error> {
    let mut week = Vec::new();
    for (day, number) in DAYS.iter().zip(1..) {
        match read_hours(number, f.raw(day)) {
            Ok(hours) => week.extend(hours),
            Err(sentence) => f.fault(day, sentence),
        }
    }
    f.done()?;
    Ok(week)
}

macro_rules! adding {
    ($name:ident, $read:ident, $add:path, $said:literal) => {
        async fn $name(
            app: web::Data<App>,
            req: HttpRequest,
            lead: Lead,
            mut filled: Filled,
        ) -> Result<HttpResponse, Error> {
            let done = match $read(&mut filled.fields) {
                Ok(wish) => {
                    let once = filled.once(&app, Some(&lead))?;
                    app.db.write_once(once, move |tx| $add(tx, &wish).map(|_| ())).await
                }
                Err(e) => Err(e),
            };
            match done {
                Ok(_) => Ok(go("/room", Some(Flash::good($said)))),
                Err(e) => page(&app, &req, Some(filled.again(e)?)).await,
            }
        }
    };
}

adding!(add_sink, read_sink, super::add_sink, "The sink is in the list.");
adding!(add_tank, read_tank, super::add_tank, "The tank is in the list.");
adding!(add_reels, read_reels, super::add_reels, "The reels are in the list.");
adding!(set_hours, read_week, super::set_hours, "The opening hours are kept.");

#[derive(Serialize)]
struct EditPage {
    name: String,
    form: Form,
}

async fn sink(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let all = app.db.read(super::sinks).await?;
    let s = all.into_iter().find(|s| s.id == *id).ok_or(Error::NotFound)?;
    let form = Form::new(&format!("/room/sinks/{id}"))
        .of_version(s.version)
        .with("name", &s.name)
        .with("places", s.places)
        .with("position", s.position)
        .with("note", &s.note);
    edit(&app, &req, s.name, "sinks/sink.html", form)
}

async fn tank(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let all = app.db.read(super::tanks).await?;
    let t = all.into_iter().find(|t| t.id == *id).ok_or(Error::NotFound)?;
    let form = Form::new(&format!("/room/tanks/{id}"))
        .of_version(t.version)
        .with("name", &t.name)
        .with("position", t.position)
        .with("stack_mm", t.stack_mm)
        .with("max_reels", t.max_reels)
        .with("base_ml", t.base_ml)
        .with("min_ml", t.min_ml)
        .with("max_ml", t.max_ml)
        .with("note", &t.note);
    edit(&app, &req, t.name, "sinks/tank.html", form)
}

fn edit(
    app: &App,
    req: &HttpRequest,
    name: String,
    template: &str,
    form: Form,
) -> Result<HttpResponse, Error> {
    let page = EditPage { name, form };
    show_form(app, req, (&page.name, template), &page.form, &page)
}

async fn change_sink(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, version) = (app.clock.now(), filled.version());
    let done = match read_sink(&mut filled.fields) {
        Ok(wish) => {
            let wish = Sink { id: *id, version, ..wish };
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| super::change_sink(tx, now, &wish)).await
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(_) => Ok(go("/room", Some(Flash::good("The sink is changed.")))),
        Err(e) => edit(&app, &req, "Change a sink".to_owned(), "sinks/sink.html", filled.again(e)?),
    }
}

async fn change_tank(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let done = match read_tank(&mut filled.fields) {
        Ok(wish) => {
            let wish = Tank { id: *id, version, ..wish };
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| super::change_tank(tx, &wish)).await
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(_) => Ok(go("/room", Some(Flash::good("The tank is changed.")))),
        Err(e) => edit(&app, &req, "Change a tank".to_owned(), "sinks/tank.html", filled.again(e)?),
    }
}

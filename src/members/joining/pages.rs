use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Application, First};
use crate::app::App;
use crate::clock::Zone;
use crate::db;
use crate::error::Error;
use crate::members::{
    self, Email, NewMember, all_faults, check_password, counted_letters, passwords, read_name,
    sign_in,
};
use crate::sessions::Role;
use crate::studio::{Joining, Studio};
use crate::web::{
    Fields, Filled, Flash, Form, Routes, Visitor, Who, client_address, go, show, show_form,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/set-up/{secret}", Who::Anyone, ask_set_up);
    open.post("/set-up/{secret}", Who::Anyone, set_up);
    open.get("/apply", Who::Anyone, ask_application);
    open.post("/apply", Who::Anyone, apply);
    open.get("/prove/{secret}", Who::Anyone, ask_proof);
    open.post("/prove/{secret}", Who::Anyone, prove);
    open.get("/welcome/{secret}", Who::Anyone, ask_in);
    open.post("/welcome/{secret}", Who::Anyone, welcome);
}

/// A page of this part: a form and what stands around it.
#[derive(Serialize)]
struct JoinPage {
    form: Form,
    studio: String,
    least: i64,
    about: String,
    open: bool,
}

const SET_UP: (&str, &str) = ("Set the studio up", "members/set_up.html");
const APPLY: (&str, &str) = ("Apply to join", "members/apply.html");
const PROVE: (&str, &str) = ("Your address", "members/prove.html");
const WELCOME: (&str, &str) = ("Come in", "members/welcome.html");

fn page(
    app: &App,
    req: &HttpRequest,
    which: (&str, &str),
    form: &Form,
    about: &str,
) -> Result<HttpResponse, Error> {
    let studio = app.studio();
    let page = JoinPage {
        form: form.clone(),
        studio: studio.name.clone(),
        least: studio.password_length,
        about: about.to_owned(),
        open: studio.joining == Joining::Application,
    };
    show_form(app, req, which, form, &page)
}

async fn ask_set_up(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (shared, now) = (app.clone(), app.clock.now());
    app.db.read(move |conn| super::setting_up(conn, now, (&shared.key, &secret))).await?;
    let form = Form::new(req.path()).with("zone", app.zone().name());
    page(&app, &req, SET_UP, &form, "")
}

fn first(app: &App, fields: &mut Fields) -> Result<First, Error> {
    let name = fields.text("studio", "the studio's name", 1..=80).unwrap_or_default();
    let zone = Zone::named(fields.raw("zone").trim());
    if zone.is_none() {
        fields.fault("zone", members::ZONE_FAULT);
    }
    let password = fields.raw("password");
    let (person, email) = (fields.raw("name"), fields.raw("email"));
    let studio = Studio { name, zone: zone.unwrap_or(Zone::UTC), ..(*app.studio()).clone() };
    all_faults(vec![
        fields.done(),
        read_name(person).map(|_| ()),
        Email::read(email).map(|_| ()),
        check_password(&studio, password, &[person, email]),
    ])?;
    let lead = NewMember {
        name: person.trim().to_owned(),
        email: email.to_owned(),
        role: Role::Lead,
        password_hash: Some(passwords::hash(app.config.quick_hashes, password)?),
        verified: true,
    };
    Ok(First { studio, lead })
}

async fn set_up(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    (secret, filled): (web::Path<String>, Filled),
) -> Result<HttpResponse, Error> {
    let (shared, mut fields) = (app.clone(), filled.fields.clone());
    let (agent, address) = (sign_in::agent(&req), client_address(&app, &req));
    let before = sign_in::former(&visitor);
    let done = db::block(move || {
        let now = shared.clock.now();
        // Before the slow work, so that a worn-out link costs nothing.
        shared.db.read_now(|conn| super::setting_up(conn, now, (&shared.key, &secret)))?;
        let first = first(&shared, &mut fields)?;
        let token = shared.db.write_now(|tx| {
            let lead = super::set_up(tx, now, (&shared.key, &secret), &first)?;
            crate::app::founded(tx, now)?;
            sign_in::enter(tx, now, lead, before, (&agent, &address))
        })?;
        shared.refresh_studio()?;
        Ok(token)
    })
    .await?;
    match done {
        Ok(token) => {
            let word = "The studio is set up, and you are signed in as its first lead.";
            let mut res = go("/", Some(Flash::good(word)));
            sign_in::add(&mut res, &app, token)?;
            Ok(res)
        }
        Err(e) => page(&app, &req, SET_UP, &filled.again(e)?, ""),
    }
}

async fn ask_application(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    page(&app, &req, APPLY, &Form::new("/apply"), "")
}

fn application(fields: &mut Fields) -> Result<Application, Error> {
    let note = fields.text("note", "what you would like to do here", 0..=1000);
    let (name, email) = (fields.raw("name"), fields.raw("email"));
    all_faults(vec![fields.done(), read_name(name).map(|_| ()), Email::read(email).map(|_| ())])?;
    Ok(Application {
        name: name.trim().to_owned(),
        email: email.trim().to_owned(),
        note: note.unwrap_or_default(),
    })
}

async fn apply(
    app: web::Data<App>,
    req: HttpRequest,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    if app.studio().joining != Joining::Application {
        return Err(Error::refused(
            "by-invitation",
            "The studio takes no applications. Ask one of its leads for an invitation.",
        ));
    }
    let wish = match application(&mut filled.fields) {
        Ok(wish) => wish,
        Err(e) => return page(&app, &req, APPLY, &filled.again(e)?, ""),
    };
    let counted = counted_letters("apply", &wish.email, &client_address(&app, &req));
    let (now, studio) = (app.clock.now(), app.studio().name.clone());
    app.db
        .write_once(filled.once(&app, None)?, move |tx| {
            crate::throttle::record(tx, now, &counted)?;
            super::apply(tx, now, &studio, &wish)
        })
        .await?;
    show(&app, &req, "Look into your post", "members/apply_sent.html", &())
}

async fn ask_proof(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (shared, now) = (app.clone(), app.clock.now());
    let (_, wish) =
        app.db.read(move |conn| super::proving(conn, now, (&shared.key, &secret))).await?;
    page(&app, &req, PROVE, &Form::new(req.path()), &wish.email)
}

async fn prove(
    app: web::Data<App>,
    secret: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, now, studio) = (app.clone(), app.clock.now(), app.studio().name.clone());
    app.db
        .write_once(filled.once(&app, None)?, move |tx| {
            super::prove(tx, now, (&shared.key, &secret), &studio)
        })
        .await?;
    let word = "Thank you. A lead reads your application; the answer comes by letter.";
    Ok(go("/", Some(Flash::good(word))))
}

async fn ask_in(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (shared, now) = (app.clone(), app.clock.now());
    let (_, member) =
        app.db.read(move |conn| super::invited(conn, now, (&shared.key, &secret))).await?;
    let form = Form::new(req.path()).with("name", member.name);
    page(&app, &req, WELCOME, &form, &member.email.unwrap_or_default())
}

async fn welcome(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    (secret, filled): (web::Path<String>, Filled),
) -> Result<HttpResponse, Error> {
    let (shared, fields) = (app.clone(), filled.fields.clone());
    let (agent, address) = (sign_in::agent(&req), client_address(&app, &req));
    let before = sign_in::former(&visitor);
    let done = db::block(move || {
        let now = shared.clock.now();
        let opened = (&shared.key, secret.as_str());
        let (_, member) = shared.db.read_now(|conn| super::invited(conn, now, opened))?;
        let (name, password) = (fields.raw("name"), fields.raw("password"));
        let own = [name, member.email.as_deref().unwrap_or_default()];
        all_faults(vec![
            read_name(name).map(|_| ()),
            check_password(&shared.studio(), password, &own),
        ])?;
        let hash = passwords::hash(shared.config.quick_hashes, password)?;
        shared.db.write_now(|tx| {
            let id = super::welcome(tx, now, opened, (name.trim(), &hash))?;
            sign_in::enter(tx, now, id, before, (&agent, &address))
        })
    })
    .await?;
    match done {
        Ok(token) => {
            let word = "Welcome. You are signed in.";
            let mut res = go("/", Some(Flash::good(word)));
            sign_in::add(&mut res, &app, token)?;
            Ok(res)
        }
        Err(e) => page(&app, &req, WELCOME, &filled.again(e)?, ""),
    }
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Standing, with_code};
use crate::app::App;
use crate::db;
use crate::error::Error;
use crate::members::change::prove_again;
use crate::members::{sign_in, store as people};
use crate::sessions::{self, Via};
use crate::web::{
    Filled, Flash, Form, Newcomer, Qr, Routes, Visitor, Who, client_address, go, qr, show_form,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/me/second-factor", Who::Newcomer, ask);
    open.post("/me/second-factor/begin", Who::Newcomer, begin);
    open.post("/me/second-factor/confirm", Who::Newcomer, confirm);
    open.post("/me/second-factor/codes", Who::Newcomer, renew);
    open.post("/me/second-factor/off", Who::Newcomer, turn_off);
    open.post("/sign-in/code", Who::Anyone, enter);
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Confirm,
    Codes,
    Off,
}

/// What a device is shown, to make codes from.
#[derive(Serialize)]
struct Shown {
    code: Qr,
    letters: String,
    account: String,
}

#[derive(Serialize)]
struct FactorPage {
    is_on: bool,
    codes_left: i64,
    begin: Form,
    device: Option<Shown>,
    confirm: Form,
    codes: Form,
    off: Form,
    new_codes: Vec<String>,
}

/// The page, one of its forms perhaps with faults, new recovery codes perhaps shown this once.
async fn shown(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &Newcomer,
    failed: Option<(Part, Form)>,
    new_codes: Vec<String>,
) -> Result<HttpResponse, Error> {
    let id = person.id;
    let (standing, factor, member) = app
        .db
        .read(move |c| {
            Ok((super::standing(c, id)?, super::store::of(c, id)?, people::by_id(c, id)?))
        })
        .await?;
    let device = match (&standing, factor) {
        (Standing::Begun, Some(factor)) => {
            let secret = super::secret(&app.key, id, &factor.drawn);
            let account = member.email.unwrap_or_default();
            let address = super::device_address(&app.studio().name, &account, &secret);
            let letters = super::rules::in_fours(&super::rules::base32(&secret), " ");
            Some(Shown { code: qr(&address)?, letters, account })
        }
        _ => None,
    };
    let of = |part: Part, action: &str| match &failed {
        Some((which, form)) if *which == part => form.clone(),
        _ => Form::new(action),
    };
    let (is_on, codes_left) = match standing {
        Standing::On { codes_left } => (true, codes_left),
        Standing::Off | Standing::Begun => (false, 0),
    };
    let page = FactorPage {
        is_on,
        codes_left,
        begin: Form::new("/me/second-factor/begin"),
        device,
        confirm: of(Part::Confirm, "/me/second-factor/confirm"),
        codes: of(Part::Codes, "/me/second-factor/codes"),
        off: of(Part::Off, "/me/second-factor/off"),
        new_codes,
    };
    let form = failed.map_or_else(|| Form::new(""), |(_, form)| form);
    show_form(app, req, ("Second factor", "members/second_factor.html"), &form, &page)
}

async fn ask(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, &person, None, Vec::new()).await
}

async fn begin(
    app: web::Data<App>,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, now) = (person.id, app.clock.now());
    let once = filled.once(&app, Some(&person))?;
    app.db.write_once(once, move |tx| super::begin(tx, now, id)).await?;
    Ok(go("/me/second-factor", None))
}

/// What a form of the page asks for.
async fn changed(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
    part: Part,
) -> Result<HttpResponse, Error> {
    let (shared, fields) = (app.clone(), filled.fields.clone());
    let (id, address) = (person.id, client_address(&app, &req));
    let session = match person.via {
        Via::Session(session) => Some(session),
        Via::Token(_) => None,
    };
    let done = db::block(move || {
        prove_again(&shared, id, fields.raw("old_password"), &address)?;
        let (now, studio, typed) = (shared.clock.now(), shared.studio(), fields.raw("code"));
        with_code(&shared, id, |tx| match part {
            Part::Confirm => {
                let whose = (&shared.key, id, session);
                super::confirm(tx, now, whose, (typed, &studio.name))
            }
            Part::Codes => super::renew(tx, now, (&shared.key, id), typed),
            Part::Off => {
                super::turn_off(tx, now, (&shared.key, id), (typed, &studio.name))?;
                Ok(Vec::new())
            }
        })
    })
    .await?;
    match done {
        Ok(_) if part == Part::Off => Ok(go(
            "/me",
            Some(Flash::note("Your second factor is off. Only your password lets you in.")),
        )),
        Ok(codes) => shown(&app, &req, &person, None, codes).await,
        Err(e) => {
            let mut form = filled.again(e)?;
            form.values.clear();
            shown(&app, &req, &person, Some((part, form)), Vec::new()).await
        }
    }
}

async fn confirm(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    changed(app, req, person, filled, Part::Confirm).await
}

async fn renew(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    changed(app, req, person, filled, Part::Codes).await
}

async fn turn_off(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    changed(app, req, person, filled, Part::Off).await
}

#[derive(Serialize)]
struct CodePage {
    form: Form,
}

/// The page between password and session, which asks for a code.
pub(in crate::members) fn ask_code(
    app: &App,
    req: &HttpRequest,
    form: &Form,
) -> Result<HttpResponse, Error> {
    let page = CodePage { form: form.clone() };
    show_form(app, req, ("Your code", "members/code.html"), form, &page)
}

async fn enter(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, fields) = (app.clone(), filled.fields.clone());
    let before = sign_in::former(&visitor);
    let (agent, address) = (sign_in::agent(&req), client_address(&app, &req));
    let entered = db::block(move || {
        let now = shared.clock.now();
        let Some((member, version)) = super::came_half_way(&shared.key, now, fields.raw("proof"))
        else {
            return Err(Error::SignIn);
        };
        with_code(&shared, member, |tx| {
            let found = people::by_id(tx, member)?;
            if found.version != version || !found.state.may_sign_in() {
                return Err(Error::SignIn);
            }
            super::take(tx, now, (&shared.key, member), fields.raw("code"))?;
            let token = sign_in::enter(tx, now, member, before, (&agent, &address))?;
            sessions::raise(tx, &token)?;
            Ok(token)
        })
    })
    .await?;
    match entered {
        Ok(token) => {
            let mut res = go(&sign_in::own_path(filled.fields.raw("next")), None);
            sign_in::add(&mut res, &app, token)?;
            Ok(res)
        }
        Err(Error::SignIn | Error::NotFound) => {
            let word = "It took too long, or your entry changed meanwhile. Please sign in again.";
            Ok(go("/sign-in", Some(Flash::note(word))))
        }
        Err(e) => {
            let mut form = filled.again(e)?;
            form.values.remove("code");
            ask_code(&app, &req, &form)
        }
    }
}

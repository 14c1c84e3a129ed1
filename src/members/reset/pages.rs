use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::db;
use crate::error::Error;
use crate::members::{check_password, counted_letters, passwords};
use crate::throttle;
use crate::web::{Filled, Flash, Form, Routes, Who, client_address, go, show, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/reset", Who::Anyone, ask);
    open.post("/reset", Who::Anyone, send);
    open.get("/new-password/{secret}", Who::Anyone, ask_new);
    open.post("/new-password/{secret}", Who::Anyone, set);
}

#[derive(Serialize)]
struct ResetPage {
    form: Form,
    least: i64,
    email: String,
}

fn page(
    app: &App,
    req: &HttpRequest,
    which: (&str, &str),
    form: &Form,
    email: &str,
) -> Result<HttpResponse, Error> {
    let least = app.studio().password_length;
    let page = ResetPage { form: form.clone(), least, email: email.to_owned() };
    show_form(app, req, which, form, &page)
}

const ASK: (&str, &str) = ("A new password", "members/reset.html");
const SET: (&str, &str) = ("Choose a new password", "members/new_password.html");

async fn ask(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    page(&app, &req, ASK, &Form::new("/reset"), "")
}

async fn send(
    app: web::Data<App>,
    req: HttpRequest,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let typed = filled.fields.raw("email").to_owned();
    if let Err(e) = crate::members::Email::read(&typed) {
        return page(&app, &req, ASK, &filled.again(e)?, "");
    }
    let counted = counted_letters("reset", &typed, &client_address(&app, &req));
    let (now, studio) = (app.clock.now(), app.studio().name.clone());
    app.db
        .write_once(filled.once(&app, None)?, move |tx| {
            throttle::record(tx, now, &counted)?;
            super::ask(tx, now, &typed, &studio)
        })
        .await?;
    show(&app, &req, "Look into your post", "members/reset_sent.html", &())
}

async fn ask_new(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (shared, now) = (app.clone(), app.clock.now());
    let (_, member) =
        app.db.read(move |conn| super::opened(conn, now, (&shared.key, &secret))).await?;
    page(&app, &req, SET, &Form::new(req.path()), &member.email.unwrap_or_default())
}

async fn set(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, password) = (app.clone(), filled.fields.raw("password").to_owned());
    let done = db::block(move || {
        let (now, studio) = (shared.clock.now(), shared.studio());
        let opening = (&shared.key, secret.as_str());
        let (_, member) = shared.db.read_now(|conn| super::opened(conn, now, opening))?;
        let own = [member.name.as_str(), member.email.as_deref().unwrap_or_default()];
        check_password(&studio, &password, &own)?;
        let hash = passwords::hash(shared.config.quick_hashes, &password)?;
        shared.db.write_now(|tx| super::set(tx, now, opening, (&hash, &studio.name)))
    })
    .await?;
    match done {
        Ok(()) => {
            let word = "Your password is changed, and you are signed out everywhere else. Sign \
                        in with the new one.";
            Ok(go("/sign-in", Some(Flash::good(word))))
        }
        Err(e) => page(&app, &req, SET, &filled.again(e)?, ""),
    }
}

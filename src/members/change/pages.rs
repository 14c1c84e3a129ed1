use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::db;
use crate::error::{Error, Faults};
use crate::members::own::{self, Part};
use crate::members::{Email, check_password, passwords, reset, sign_in, store};
use crate::sessions::Via;
use crate::web::{
    Filled, Flash, Form, Newcomer, Routes, Who, client_address, go, show_form, sign_out_cookie,
};

pub(super) fn routes(open: &mut Routes) {
    open.post("/me/password", Who::Newcomer, password);
    open.post("/me/address", Who::Newcomer, address);
    open.get("/new-address/{secret}", Who::Anyone, ask_agreement);
    open.post("/new-address/{secret}", Who::Anyone, agree);
    open.get("/me/leave", Who::Newcomer, ask_leave);
    open.post("/me/leave", Who::Newcomer, leave);
}

/// Compares the password a signed-in member gave once more. For threads that may block.
pub(in crate::members) fn prove_again(
    app: &App,
    id: i64,
    old: &str,
    address: &str,
) -> Result<(), Error> {
    let member = app.db.read_now(|conn| store::by_id(conn, id))?;
    let email = member.email.ok_or(Error::NotFound)?;
    let proven = sign_in::prove(app, &email, old, address).map_err(|e| match e {
        Error::Invalid(_) => Error::Invalid(Faults::from([(
            "old_password".to_owned(),
            "This is not your present password.".to_owned(),
        )])),
        other => other,
    })?;
    app.db.write_now(|tx| {
        tx.leaves_no_line();
        proven.settle(tx)
    })
}

async fn password(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, fields) = (app.clone(), filled.fields.clone());
    let (id, address) = (person.id, client_address(&app, &req));
    let keep = match person.via {
        Via::Session(session) => Some(session),
        Via::Token(_) => None,
    };
    let done = db::block(move || {
        let (now, studio) = (shared.clock.now(), shared.studio());
        prove_again(&shared, id, fields.raw("old_password"), &address)?;
        let member = shared.db.read_now(|conn| store::by_id(conn, id))?;
        let own = [member.name.as_str(), member.email.as_deref().unwrap_or_default()];
        let new = fields.raw("password");
        check_password(&studio, new, &own)?;
        let hash = passwords::hash(shared.config.quick_hashes, new)?;
        shared.db.write_now(|tx| reset::replace(tx, now, (id, keep), (&hash, &studio.name)))
    })
    .await?;
    match done {
        Ok(()) => {
            let word = "Your password is changed. Every other session and every API token is \
                        ended.";
            Ok(go("/me", Some(Flash::good(word))))
        }
        Err(e) => {
            let failed = Some((Part::Password, filled.again(e)?));
            own::shown(&app, &req, &person, failed, None).await
        }
    }
}

async fn address(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, fields) = (app.clone(), filled.fields.clone());
    let (id, address) = (person.id, client_address(&app, &req));
    let done = db::block(move || {
        let email = Email::read(fields.raw("email"))?;
        prove_again(&shared, id, fields.raw("old_password"), &address)?;
        let (now, studio) = (shared.clock.now(), shared.studio());
        shared.db.write_now(|tx| super::ask_address(tx, now, id, &email, &studio.name))
    })
    .await?;
    match done {
        Ok(()) => {
            let word = "A letter went to your present address. Open its link, then the link in \
                        the letter to the new one.";
            Ok(go("/me", Some(Flash::note(word))))
        }
        Err(e) => {
            let failed = Some((Part::Address, filled.again(e)?));
            own::shown(&app, &req, &person, failed, None).await
        }
    }
}

#[derive(Serialize)]
struct AgreePage {
    form: Form,
    name: String,
    email: String,
}

async fn ask_agreement(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (shared, now) = (app.clone(), app.clock.now());
    let (_, member, email) =
        app.db.read(move |conn| super::agreeing(conn, now, (&shared.key, &secret))).await?;
    let form = Form::new(req.path());
    let page = AgreePage { form: form.clone(), name: member.name, email: email.shown().to_owned() };
    show_form(&app, &req, ("Change of address", "members/new_address.html"), &form, &page)
}

async fn agree(
    app: web::Data<App>,
    secret: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, now, studio) = (app.clone(), app.clock.now(), app.studio().name.clone());
    let changed = app
        .db
        .write_once(filled.once(&app, None)?, move |tx| {
            super::agree(tx, now, (&shared.key, &secret), &studio)
        })
        .await?;
    let word = if changed {
        Flash::good("The address is changed. Sign in with the new one from now on.")
    } else {
        Flash::note("Agreed. A letter went to the new address; open its link to finish.")
    };
    Ok(go("/", Some(word)))
}

#[derive(Serialize)]
struct LeavePage {
    form: Form,
}

fn leave_page(app: &App, req: &HttpRequest, form: &Form) -> Result<HttpResponse, Error> {
    let page = LeavePage { form: form.clone() };
    show_form(app, req, ("Leave the studio", "members/leave.html"), form, &page)
}

async fn ask_leave(
    app: web::Data<App>,
    req: HttpRequest,
    _person: Newcomer,
) -> Result<HttpResponse, Error> {
    leave_page(&app, &req, &Form::new("/me/leave"))
}

async fn leave(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (shared, fields) = (app.clone(), filled.fields.clone());
    let (id, address) = (person.id, client_address(&app, &req));
    let done = db::block(move || {
        prove_again(&shared, id, fields.raw("old_password"), &address)?;
        let now = shared.clock.now();
        shared.db.write_now(|tx| {
            super::leave(tx, now, id)?;
            crate::app::leaving(tx, now, id)
        })
    })
    .await?;
    match done {
        Ok(()) => {
            let word = "You have left the studio. Your name and address are deleted.";
            let mut res = go("/", Some(Flash::good(word)));
            res.add_cookie(&sign_out_cookie(&app))
                .map_err(|e| Error::broken("session cookie", e))?;
            Ok(res)
        }
        Err(e) => leave_page(&app, &req, &filled.again(e)?),
    }
}

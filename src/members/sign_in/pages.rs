use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::db;
use crate::error::Error;
use crate::members::{second_factor, store};
use crate::sessions::{self, Person, Via};
use crate::studio::Joining;
use crate::web::{
    Asked, Filled, Flash, Form, Newcomer, Routes, Visitor, Who, client_address, go, session_cookie,
    show_form, sign_out_cookie,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/sign-in", Who::Anyone, ask);
    open.post("/sign-in", Who::Anyone, sign_in);
    open.post("/sign-out", Who::Anyone, sign_out);
    open.post("/sign-out-everywhere", Who::Newcomer, sign_out_everywhere);
}

#[derive(Serialize)]
struct SignInPage {
    form: Form,
    takes_applications: bool,
}

fn page(app: &App, req: &HttpRequest, form: &Form) -> Result<HttpResponse, Error> {
    let takes_applications = app.studio().joining == Joining::Application;
    let page = SignInPage { form: form.clone(), takes_applications };
    show_form(app, req, ("Sign in", "members/sign_in.html"), form, &page)
}

async fn ask(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let next = own_path(asked.0.raw("next"));
    if visitor.0.is_some() {
        return Ok(go(&next, None));
    }
    page(&app, &req, &Form::new("/sign-in").with("next", next))
}

/// Only a path of our own: never another site's address.
pub(in crate::members) fn own_path(next: &str) -> String {
    let own = next.starts_with('/')
        && !next.starts_with("//")
        && !next.contains(|c: char| c == '\\' || c.is_control());
    if own { next.to_owned() } else { "/".to_owned() }
}

/// The browser's session, if it carried one, which a new one replaces.
pub(in crate::members) fn former(visitor: &Visitor) -> Option<(i64, i64)> {
    match &visitor.0 {
        Some(Person { id, via: Via::Session(session), .. }) => Some((*id, *session)),
        _ => None,
    }
}

/// The browser's own description of itself.
pub(in crate::members) fn agent(req: &HttpRequest) -> String {
    let agent = req.headers().get(header::USER_AGENT).and_then(|v| v.to_str().ok());
    agent.unwrap_or("unknown browser").to_owned()
}

/// How far a right password leads.
enum Way {
    /// To a session: its token.
    In(String),
    /// To the question for a code: the proof that the password was right.
    Half(String),
}

async fn sign_in(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let email = filled.fields.raw("email").to_owned();
    let password = filled.fields.raw("password").to_owned();
    let (agent, address) = (agent(&req), client_address(&app, &req));
    let (shared, before) = (app.clone(), former(&visitor));
    let entered = db::block(move || {
        let proven = super::prove(&shared, &email, &password, &address)?;
        let now = shared.clock.now();
        shared.db.write_now(|tx| {
            proven.settle(tx)?;
            let member = proven.member;
            if second_factor::is_on(tx, member)? {
                tx.leaves_no_line();
                let member = store::by_id(tx, member)?;
                return Ok(Way::Half(second_factor::half_way(&shared.key, now, &member)));
            }
            super::enter(tx, now, member, before, (&agent, &address)).map(Way::In)
        })
    })
    .await?;
    match entered {
        Ok(Way::Half(proof)) => {
            let next = own_path(filled.fields.raw("next"));
            let form = Form::new("/sign-in/code").with("proof", proof).with("next", next);
            second_factor::ask_code(&app, &req, &form)
        }
        Ok(Way::In(token)) => {
            let mut res = go(&own_path(filled.fields.raw("next")), None);
            add(&mut res, &app, token)?;
            Ok(res)
        }
        Err(e) => page(&app, &req, &filled.again(e)?),
    }
}

/// Gives the browser its new session.
pub(in crate::members) fn add(
    res: &mut HttpResponse,
    app: &App,
    token: String,
) -> Result<(), Error> {
    res.add_cookie(&session_cookie(app, token)).map_err(|e| Error::broken("session cookie", e))
}

async fn sign_out(app: web::Data<App>, visitor: Visitor) -> Result<HttpResponse, Error> {
    if let Some((member, session)) = former(&visitor) {
        match app.db.write(move |tx| sessions::close(tx, member, session)).await {
            // It may have ended by itself meanwhile.
            Ok(()) | Err(Error::NotFound) => {}
            Err(e) => return Err(e),
        }
    }
    let mut res = go("/", Some(Flash::good("You are signed out.")));
    res.add_cookie(&sign_out_cookie(&app)).map_err(|e| Error::broken("session cookie", e))?;
    Ok(res)
}

async fn sign_out_everywhere(app: web::Data<App>, person: Newcomer) -> Result<HttpResponse, Error> {
    let member = person.id;
    app.db.write(move |tx| sessions::close_all(tx, member, None)).await?;
    let word = Flash::good("You are signed out everywhere, and your API tokens are revoked.");
    let mut res = go("/sign-in", Some(word));
    res.add_cookie(&sign_out_cookie(&app)).map_err(|e| Error::broken("session cookie", e))?;
    Ok(res)
}

#[cfg(test)]
mod tests {
    use super::own_path;

    #[test]
    fn signing_in_leads_nowhere_else() {
        assert_eq!(own_path("/board?date=2026-10-14"), "/board?date=2026-10-14");
        for bad in ["", "//evil.example", "https://evil.example", "/\\evil.example", "board"] {
            assert_eq!(own_path(bad), "/", "{bad}");
        }
    }
}

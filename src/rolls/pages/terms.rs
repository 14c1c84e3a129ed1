use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::rolls::store;
use crate::sessions::{Person, Role};
use crate::web::{Filled, Flash, Form, Lead, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/terms", Who::Member, terms);
    open.post("/rolls/terms", Who::Lead, post);
}

#[derive(Serialize)]
struct Version {
    number: i64,
    body: String,
    published: String,
}

#[derive(Serialize)]
struct TermsPage {
    versions: Vec<Version>,
    lead: bool,
    form: Form,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &Person,
    form: Form,
) -> Result<HttpResponse, Error> {
    let words = app.words(Some(person));
    let versions = app.db.read(store::terms).await?;
    let page = TermsPage {
        versions: versions
            .into_iter()
            .map(|t| Version {
                number: t.number,
                published: words.moment(t.published()),
                body: t.body,
            })
            .collect(),
        lead: person.role == Role::Lead,
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, ("Drop-off terms", "rolls/terms.html"), &shown, &page)
}

async fn terms(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let current = app.db.read(store::current_terms).await?;
    let form = Form::new("/rolls/terms").with("body", current.map(|t| t.body).unwrap_or_default());
    page(&app, &req, &member, form).await
}

async fn post(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match filled.fields.text("body", "the terms", 20..=4000) {
        None => Err(filled.fields.faults()),
        Some(body) => {
            let (now, by) = (app.clock.now(), lead.id);
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| crate::rolls::post_terms(tx, now, by, &body)).await
        }
    };
    match done {
        Ok(number) => {
            let word =
                format!("Version {number} is in force. Members accept it with their next roll.");
            Ok(go("/rolls/terms", Some(Flash::good(word))))
        }
        Err(e) => page(&app, &req, &lead, filled.again(e)?).await,
    }
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::rolls::{self, Customs};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/customs", Who::Lead, customs);
    open.post("/rolls/customs", Who::Lead, change);
}

#[derive(Serialize)]
struct CustomsPage {
    form: Form,
}

fn shown(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let page = CustomsPage { form };
    show_form(app, req, ("How long film waits", "rolls/customs.html"), &page.form, &page)
}

async fn customs(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let c = app.db.read(rolls::customs).await?;
    let form = Form::new("/rolls/customs")
        .with("wait_days", c.wait_days)
        .with("kept_days", c.kept_days)
        .with("join_min", c.join_min)
        .of_version(c.version);
    shown(&app, &req, form)
}

fn read(f: &mut Fields, version: i64) -> Result<Customs, Error> {
    let wait = f.number("wait_days", "a number of days", 1..=365);
    let kept = f.number("kept_days", "a number of days", 1..=365);
    let join = f.number("join_min", "a number of minutes", 0..=10_080);
    match (wait, kept, join) {
        (Some(wait_days), Some(kept_days), Some(join_min)) => {
            Ok(Customs { wait_days, kept_days, join_min, version })
        }
        _ => Err(f.faults()),
    }
}

async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let to = read(&mut filled.fields, version);
    match filled.keep(&app, &lead, to, rolls::change_customs).await {
        Ok(()) => Ok(go("/rolls/customs", Some(Flash::good("Saved.")))),
        Err(e) => shown(&app, &req, filled.again(e)?),
    }
}

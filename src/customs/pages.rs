use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::Customs;
use crate::app::App;
use crate::error::Error;
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/room/customs", Who::Lead, customs);
    open.post("/room/customs", Who::Lead, change);
}

#[derive(Serialize)]
struct CustomsPage {
    form: Form,
}

fn shown(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let page = CustomsPage { form };
    show_form(app, req, ("Customs", "customs/customs.html"), &page.form, &page)
}

async fn customs(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let c = app.db.read(super::load).await?;
    let form = Form::new("/room/customs")
        .with("remind_min", c.remind_min)
        .with("offer_min", c.offer_min)
        .with("no_show_min", c.no_show_min)
        .with("left_open_min", c.left_open_min)
        .of_version(c.version);
    shown(&app, &req, form)
}

fn read(f: &mut Fields, version: i64) -> Result<Customs, Error> {
    let remind = f.number("remind_min", "a number of minutes", 0..=10_080);
    let offer = f.number("offer_min", "a number of minutes", 10..=2880);
    let no_show = f.number("no_show_min", "a number of minutes", 0..=240);
    let left_open = f.number("left_open_min", "a number of minutes", 0..=720);
    match (remind, offer, no_show, left_open) {
        (Some(remind_min), Some(offer_min), Some(no_show_min), Some(left_open_min)) => {
            Ok(Customs { remind_min, offer_min, no_show_min, left_open_min, version })
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
    let done = filled.keep(&app, &lead, to, super::change).await;
    match done {
        Ok(()) => Ok(go("/room/customs", Some(Flash::good("The customs are saved.")))),
        Err(e) => shown(&app, &req, filled.again(e)?),
    }
}

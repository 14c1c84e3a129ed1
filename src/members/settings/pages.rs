use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::clock::Zone;
use crate::error::Error;
use crate::members::{ZONE_FAULT, rules};
use crate::studio::{self, Joining, Studio};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/studio", Who::Lead, ask);
    open.post("/studio", Who::Lead, change);
}

#[derive(Serialize)]
struct StudioPage {
    form: Form,
}

fn page(app: &App, req: &HttpRequest, form: &Form) -> Result<HttpResponse, Error> {
    let page = StudioPage { form: form.clone() };
    show_form(app, req, ("The studio", "members/studio.html"), form, &page)
}

async fn ask(app: web::Data<App>, req: HttpRequest, _lead: Lead) -> Result<HttpResponse, Error> {
    let s = app.db.read(studio::load).await?;
    let form = Form::new("/studio")
        .with("name", &s.name)
        .with("about", &s.about)
        .with("zone", s.zone.name())
        .with("joining", s.joining.word())
        .with("password_length", s.password_length)
        .with("near_limit_percent", s.near_limit_percent)
        .of_version(s.version);
    page(&app, &req, &form)
}

fn read(fields: &mut Fields, version: i64) -> Result<Studio, Error> {
    let name = fields.text("name", "the studio's name", 1..=80);
    if name.as_deref().is_some_and(|n| rules::turns_writing(n) || n.contains(['\n', '\t'])) {
        fields.fault("name", "This name holds an invisible sign. Please type it afresh.");
    }
    let about = fields.text("about", "the text for the front page", 0..=2000);
    let zone = Zone::named(fields.raw("zone").trim());
    if zone.is_none() {
        fields.fault("zone", ZONE_FAULT);
    }
    let joining = fields.choice("joining", "how people come in", &["invitation", "application"]);
    let least = fields.number("password_length", "a number of characters", 12..=64);
    let near = fields.number("near_limit_percent", "a share in percent", 10..=99);
    fields.done()?;
    Ok(Studio {
        name: name.unwrap_or_default(),
        about: about.unwrap_or_default(),
        zone: zone.unwrap_or(Zone::UTC),
        joining: Joining::from_word(&joining.unwrap_or_default()),
        password_length: least.unwrap_or(12),
        near_limit_percent: near.unwrap_or(80),
        version,
    })
}

async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let done = match read(&mut filled.fields, version) {
        Err(e) => Err(e),
        Ok(to) => {
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| studio::change(tx, &to)).await
        }
    };
    if let Err(e) = done {
        return page(&app, &req, &filled.again(e)?);
    }
    let shared = app.clone();
    web::block(move || shared.refresh_studio()).await??;
    Ok(go("/studio", Some(Flash::good("The studio's settings are saved."))))
}

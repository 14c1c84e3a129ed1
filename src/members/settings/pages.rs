use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::{self, App, Collision, Followed};
use crate::clock::{Moment, Zone};
use crate::db::Tx;
use crate::error::Error;
use crate::members::{ZONE_FAULT, rules};
use crate::sessions::Person;
use crate::studio::{self, Joining, Studio};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/studio", Who::Lead, ask);
    open.post("/studio", Who::Lead, change);
}

#[derive(Serialize)]
struct StudioPage {
    form: Form,
    collisions: Vec<String>,
    seen: String,
}

fn page(
    app: &App,
    req: &HttpRequest,
    (form, hit): (&Form, &Followed),
) -> Result<HttpResponse, Error> {
    let words = app.words(None);
    let line = |c: &Collision| {
        let when = words.span(c.booking.span.from, c.booking.span.to);
        let then = if c.stays {
            "it stays where it is, at another hour of the new clock"
        } else {
            "it is cancelled, and its owner is told"
        };
        format!("{}: {when}. Because {}, {then}.", c.booking.member_name, c.why)
    };
    let seen: Vec<String> = hit.collisions.iter().map(|c| c.booking.id.to_string()).collect();
    let collisions = hit.collisions.iter().map(line).collect();
    let page = StudioPage { form: form.clone(), collisions, seen: seen.join(" ") };
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
    page(&app, &req, (&form, &Followed::default()))
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
    let to = match read(&mut filled.fields, version) {
        Err(e) => return page(&app, &req, (&filled.again(e)?, &Followed::default())),
        Ok(to) => to,
    };
    let turn = Turn { to, now: app.clock.now(), address: app.config.base_url.clone(), by: lead.0 };
    let seen = filled.fields.raw("seen").split(' ').filter_map(|id| id.parse().ok());
    let seen: Vec<i64> = seen.collect();
    let once = filled.once(&app, Some(&turn.by))?;
    let make = turn.clone();
    let done = app.db.write_once(once, move |tx| make.make(tx, &seen)).await;
    let (moved, runs) = match done {
        Ok(done) => done,
        Err(e) => {
            let hit = if matches!(&e, Error::Refused { code, .. } if *code == UNSEEN) {
                app.db.write(move |tx| tx.as_if(|tx| turn.follow(tx))).await?
            } else {
                Followed::default()
            };
            return page(&app, &req, (&filled.again(e)?, &hit));
        }
    };
    let shared = app.clone();
    web::block(move || shared.refresh_studio()).await??;
    let mut said = "The studio's settings are saved.".to_owned();
    if moved > 0 {
        said.push_str(&format!(" {moved} coming bookings keep their hours on the new clock."));
    }
    if runs > 0 {
        said.push_str(" Published day plans stay at their instants: plan those days again.");
    }
    Ok(go("/studio", Some(Flash::good(&said))))
}

/// What is said when another zone hits bookings nobody was shown yet.
const UNSEEN: &str = "hits-unseen";

/// New settings, and who puts them in place.
#[derive(Clone)]
struct Turn {
    to: Studio,
    now: Moment,
    address: String,
    by: Person,
}

impl Turn {
    /// Changes the settings; where the clock is another, the bookings follow it. Says what came of
    /// that.
    fn follow(&self, tx: &mut Tx<'_>) -> Result<Followed, Error> {
        let before = studio::load(tx)?;
        studio::change(tx, &self.to)?;
        if before.zone == self.to.zone {
            return Ok(Followed::default());
        }
        app::follow_clock(tx, (self.now, self.to.zone), (&self.address, &self.by))
    }

    /// As [`Turn::follow`], unless it hits bookings that were not shown. Says how many moved, and
    /// how many runs did not.
    fn make(&self, tx: &mut Tx<'_>, seen: &[i64]) -> Result<(usize, usize), Error> {
        let followed = self.follow(tx)?;
        if followed.collisions.iter().any(|c| !seen.contains(&c.booking.id)) {
            return Err(Error::refused(
                UNSEEN,
                "Not every coming booking can follow the new clock: those that cannot stand \
                 above the form. If you go on, it is done as it says there.",
            ));
        }
        let runs = if followed.moved > 0 { followed.runs } else { 0 };
        Ok((followed.moved, runs))
    }
}

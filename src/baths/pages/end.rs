//! Retiring a bath, and rotating two.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::Choice;
use crate::app::App;
use crate::baths::ending::{self, Poured};
use crate::baths::rules::{Bath, rolls_in_words};
use crate::baths::{self, Fresh, State, store};
use crate::db::Conn;
use crate::error::Error;
use crate::shelf::{self, figure};
use crate::waste;
use crate::web::{Fields, Filled, Flash, Form, Lead, go, show_form};

struct Facts {
    bath: Bath,
    state: State,
    containers: Vec<Choice>,
    silver: Option<String>,
    disposal: String,
    second: Option<Bath>,
    worn: Option<String>,
}

fn facts(conn: &mut Conn, now: crate::clock::Moment, id: i64) -> Result<Facts, Error> {
    let bath = store::one(conn, id)?;
    let ledger = store::entries(conn, id)?;
    let ((least, most), assumed) = ending::silver_in(&bath, &ledger);
    let settings = shelf::settings(conn)?;
    let containers = waste::containers(conn)?
        .into_iter()
        .filter(|(c, _)| c.of.accepts == ending::waste_of(bath.kind))
        .map(|(c, contents)| {
            let room = figure((c.of.holds_ul - contents.volume_ul).max(0));
            let text = format!("{}: {} only, room for {room} ml", c.of.name, c.of.accepts.name());
            Choice::new(&c.id, text)
        })
        .collect();
    Ok(Facts {
        state: baths::state(conn, now, &bath)?,
        containers,
        silver: (most > 0).then(|| {
            format!("{} of silver. Assumed: {assumed}.", waste::silver_range((least, most)))
        }),
        disposal: waste::disposal_of(conn, ending::waste_of(bath.kind))?,
        second: ending::pair(conn, &bath).ok(),
        worn: ending::is_worn(&bath, settings.most_promotions),
        bath,
    })
}

#[derive(Serialize)]
struct EndPage {
    id: i64,
    label: String,
    word: &'static str,
    tone: &'static str,
    took: String,
    silver: Option<String>,
    disposal: String,
    containers: Vec<Choice>,
    second: Option<String>,
    worn: Option<String>,
    form: Form,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    (id, what): (i64, &'static str),
    shown: Option<Form>,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let f = app.db.read(move |conn| facts(conn, now, id)).await?;
    if f.bath.retired.is_some() || (what == "rotate" && f.second.is_none()) {
        return Err(Error::NotFound);
    }
    let form = shown.unwrap_or_else(|| {
        let form = Form::new(&format!("/baths/{id}/{what}"))
            .with("volume_ml", figure(f.state.left_ul.max(0)));
        match &f.second {
            Some(second) if what == "rotate" => form.with("fresh_ml", figure(second.volume_ul)),
            _ => form,
        }
    });
    // Where only one container takes it, there is nothing to choose.
    let form = match f.containers.as_slice() {
        [only] if !form.values.contains_key("container") => form.with("container", &only.value),
        _ => form,
    };
    let page = EndPage {
        id,
        word: f.state.word(),
        tone: f.state.tone(),
        took: rolls_in_words(f.state.used_milli),
        silver: f.silver,
        disposal: f.disposal,
        containers: f.containers,
        second: f.second.map(|b| b.of.label),
        worn: f.worn,
        form,
        label: f.bath.of.label,
    };
    let status = page.form.clone();
    let (title, file) = if what == "rotate" {
        ("Rotate two baths", "baths/rotate.html")
    } else {
        ("Retire a bath", "baths/retire.html")
    };
    show_form(app, req, (title, file), &status, &page)
}

pub(super) async fn retire_page(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    page(&app, &req, (id.into_inner(), "retire"), None).await
}

pub(super) async fn rotate_page(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    page(&app, &req, (id.into_inner(), "rotate"), None).await
}

fn read_poured(f: &mut Fields) -> Option<Poured> {
    let container = f.raw("container").parse::<i64>().ok();
    if container.is_none() {
        f.fault("container", "Choose the container it was poured into.");
    }
    let volume = f.decimal("volume_ml", "how much was poured in, in ml", 1..=100_000_000);
    let note = f.text("note", "a note", 0..=300);
    let all = container.zip(volume).zip(note);
    all.map(|((container, volume_ul), note)| Poured { container, volume_ul, note })
}

pub(super) async fn retire(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let into = read_poured(&mut filled.fields);
    let into = filled.fields.whole(into);
    let done =
        filled.keep(&app, &lead, into, move |tx, into| baths::retire(tx, at, id, into)).await;
    match done {
        Ok(()) => Ok(go(
            "/baths",
            Some(Flash::good(
                "It is retired and in the waste log. Rinse the bottle, take its label off.",
            )),
        )),
        // Somebody else was quicker: there is no form to show any more.
        Err(Error::Refused { code: "retired", sentence }) => {
            Ok(go(&format!("/baths/{id}"), Some(Flash::bad(sentence))))
        }
        Err(e) => page(&app, &req, (id, "retire"), Some(filled.again(e)?)).await,
    }
}

pub(super) async fn rotate(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let poured = read_poured(&mut filled.fields);
    let fresh = filled.fields.decimal("fresh_ml", "how much is mixed fresh", 50_000..=100_000_000);
    let label = filled.fields.text("label", "what its label says", 0..=60);
    let fresh = fresh.zip(label).map(|(volume_ul, label)| Fresh { volume_ul, label });
    let both = filled.fields.whole(poured.zip(fresh));
    let done = filled
        .keep(&app, &lead, both, move |tx, (into, fresh)| baths::rotate(tx, at, id, (into, fresh)))
        .await;
    match done {
        Ok(new) => Ok(go(
            &format!("/baths/{new}/label"),
            Some(Flash::good(
                "Rotated: the first is collected, the second took its place, and this one is mixed \
                 fresh. Print its label; move the old label's “bath 2” to “bath 1”.",
            )),
        )),
        Err(Error::Invalid(mut faults)) => {
            // The fresh bath's own faults stand beside the fields of this form.
            if let Some(sentence) = faults.remove("volume_ml").filter(|s| s.contains("the shelf")) {
                faults.insert("fresh_ml".to_owned(), sentence);
            }
            let form = filled.again(Error::Invalid(faults))?;
            page(&app, &req, (id, "rotate"), Some(form)).await
        }
        Err(e) => page(&app, &req, (id, "rotate"), Some(filled.again(e)?)).await,
    }
}

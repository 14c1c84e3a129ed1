use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::rules::{Bath, Kind, State, rolls_in_words};
use super::{NewBath, Use};
use crate::app::App;
use crate::error::Error;
use crate::units::{Millilitres, RollsPerLitre};
use crate::web::{Fields, Filled, Flash, Form, Lead, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/baths", Who::Member, list);
    open.post("/baths", Who::Lead, mix);
    open.post("/baths/{id}/uses", Who::Member, use_bath);
    open.post("/baths/{id}/clip-tests", Who::Member, clip_test);
}

#[derive(Serialize)]
struct Line {
    id: i64,
    label: String,
    kind: &'static str,
    word: &'static str,
    tone: &'static str,
    usable: bool,
    used: String,
    capacity: String,
    remaining: String,
    age_days: i64,
    use_form: Form,
    test_form: Form,
}

impl Line {
    fn of(bath: Bath, state: &State) -> Line {
        Line {
            id: bath.id,
            kind: bath.kind.name(),
            word: state.word(),
            tone: state.tone(),
            usable: state.is_usable(),
            used: rolls_in_words(state.used_milli),
            capacity: rolls_in_words(bath.capacity_milli),
            remaining: rolls_in_words(state.remaining_milli),
            age_days: state.age_days,
            use_form: Form::new(&format!("/baths/{}/uses", bath.id)),
            test_form: Form::new(&format!("/baths/{}/clip-tests", bath.id)),
            label: bath.label,
        }
    }
}

#[derive(Serialize)]
struct ListPage {
    baths: Vec<Line>,
    form: Form,
    may_mix: bool,
    kinds: Vec<Choice>,
}

#[derive(Serialize)]
struct Choice {
    value: &'static str,
    text: &'static str,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    form: Form,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let found = app.db.read(move |conn| super::on_the_shelf(conn, now)).await?;
    let page = ListPage {
        baths: found.into_iter().map(|(bath, state)| Line::of(bath, &state)).collect(),
        may_mix: member.role == crate::sessions::Role::Lead,
        kinds: Kind::ALL.iter().map(|k| Choice { value: k.1, text: k.2 }).collect(),
        form,
    };
    let status = Form { action: String::new(), ..page.form.clone() };
    show_form(app, req, ("Baths", "baths/list.html"), &status, &page)
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let form = Form::new("/baths")
        .with("kind", "fixer")
        .with("rolls_per_litre", 20)
        .with("margin", 75)
        .with("keeps_days", 60)
        .with("minutes", 5);
    page(&app, &req, &member, form).await
}

fn read_new(f: &mut Fields, app: &App) -> Result<NewBath, Error> {
    let kinds: Vec<&str> = Kind::ALL.iter().map(|k| k.1).collect();
    let kind = f.choice("kind", "what the bath is for", &kinds).and_then(|w| Kind::from_word(&w));
    let label = f.text("label", "what its label says", 1..=60);
    let ml = f.number("volume_ml", "its volume in ml", 50..=100_000);
    let per_litre = f.number("rolls_per_litre", "how many rolls' worth a litre takes", 1..=200);
    let margin = f.number("margin", "the share of it the studio allows, in percent", 10..=100);
    let days = f.number("keeps_days", "how many days it keeps", 1..=3650);
    let minutes = f.number("minutes", "how many minutes film stays in it", 1..=60);
    let (Some(kind), Some(label), Some(ml), Some(per_litre), Some(margin), Some(days), Some(min)) =
        (kind, label, ml, per_litre, margin, days, minutes)
    else {
        return Err(f.faults());
    };
    let capacity_milli = capacity_milli(ml, per_litre, margin)?;
    let mixed = app.clock.now();
    Ok(NewBath {
        kind,
        label,
        volume_ul: ml * 1000,
        capacity_milli,
        fix_s: min * 60,
        mixed,
        keeps_days: days,
    })
}

/// Volume x rolls' worth per litre x the studio's margin, in thousandths of a roll's worth.
fn capacity_milli(ml: i64, per_litre: i64, margin: i64) -> Result<i64, Error> {
    let wrong = |e: crate::units::OutOfRange| Error::field("volume_ml", e.to_string());
    let micro = u64::try_from(ml * 1000).unwrap_or_default();
    let volume = Millilitres::from_microlitres(micro).map_err(wrong)?;
    let rate = RollsPerLitre::new(f64::from(i32::try_from(per_litre).unwrap_or_default()));
    let rolls = rate.map_err(wrong)?.of_volume(volume).rolls();
    let share = f64::from(i32::try_from(margin).unwrap_or_default()) / 100.0;
    #[expect(clippy::as_conversions, reason = "bounded by the ranges of the three fields")]
    Ok((rolls * share * 1000.0).round() as i64)
}

async fn mix(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match read_new(&mut filled.fields, &app) {
        Err(e) => Err(e),
        Ok(new) => {
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| super::mix(tx, &new)).await
        }
    };
    match done {
        Ok(_) => Ok(go("/baths", Some(Flash::good("The bath is on the shelf. Label it now.")))),
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &Member(lead.0.clone()), form).await
        }
    }
}

async fn use_bath(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let Some(rolls) = filled.fields.number("rolls", "how many rolls' worth", 1..=50) else {
        return again(&app, &req, &member, filled.fields.faults()).await;
    };
    let (now, by, once) = (app.clock.now(), member.id, filled.once(&app, Some(&member))?);
    let wish = Use { bath: id.into_inner(), milli: rolls * 1000, run: None, note: String::new() };
    let word = app
        .db
        .write_once(once, move |tx| {
            Ok(super::record_use(tx, now, Some(by), &wish)?.word().to_owned())
        })
        .await?;
    Ok(go("/baths", Some(Flash::good(format!("Recorded. The bath is now: {word}.")))))
}

async fn clip_test(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let Some(seconds) = filled.fields.number("seconds", "the seconds to clear", 1..=3600) else {
        return again(&app, &req, &member, filled.fields.faults()).await;
    };
    let (now, by, id) = (app.clock.now(), member.id, id.into_inner());
    let once = filled.once(&app, Some(&member))?;
    let word = app
        .db
        .write_once(once, move |tx| {
            Ok(super::record_clip_test(tx, now, by, id, seconds)?.word().to_owned())
        })
        .await?;
    Ok(go("/baths", Some(Flash::good(format!("Recorded. The bath is now: {word}.")))))
}

/// The small forms stand in rows of one page; their fault is said at its top.
async fn again(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    error: Error,
) -> Result<HttpResponse, Error> {
    let Error::Invalid(faults) = error else { return Err(error) };
    let mut form = Form::new("/baths");
    form.fault = faults.into_values().next();
    form.status = 422;
    page(app, req, member, form).await
}

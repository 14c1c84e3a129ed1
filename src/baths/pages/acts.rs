use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::one;
use crate::app::App;
use crate::baths::rules::{EntryKind, Place, rolls_in_words};
use crate::baths::{self, ClipTest, store};
use crate::error::Error;
use crate::web::{Fields, Filled, Flash, Form, Lead, Member, go, show_form};

/// Back to the bath with a word about how it stands now, or its page again with what was wrong.
async fn answer(
    app: &web::Data<App>,
    req: &HttpRequest,
    (member, id): (&Member, i64),
    filled: &Filled,
    done: Result<String, Error>,
) -> Result<HttpResponse, Error> {
    match done {
        Ok(word) => {
            let said = format!("Recorded. The bath is now: {word}.");
            let tone = if ["Good", "Near its limit"].contains(&word.as_str()) {
                Flash::good(said)
            } else {
                Flash::bad(said)
            };
            Ok(go(&format!("/baths/{id}"), Some(tone)))
        }
        // The bath's present state refuses it: its form may not even be on the page.
        Err(Error::Refused { sentence, .. }) => {
            Ok(go(&format!("/baths/{id}"), Some(Flash::bad(sentence))))
        }
        Err(e) => one::page(app, req, member, (id, Some(filled.again(e)?))).await,
    }
}

fn read_clip_test(f: &mut Fields) -> Result<ClipTest, Error> {
    let seconds = f.number("seconds", "the seconds to clear", 1..=3600);
    let film = f.text("film", "the film of the scrap", 0..=80);
    let temperature = f.decimal_or_none("temperature", "a temperature", 0..=60_000);
    let pre_wet = f.ticked("pre_wet");
    f.done()?;
    match (seconds, film, temperature) {
        (Some(seconds), Some(film), Some(temperature_mc)) => {
            Ok(ClipTest { seconds, film, temperature_mc, pre_wet })
        }
        _ => Err(f.faults()),
    }
}

pub(super) async fn clip_test(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), member.id));
    let test = read_clip_test(&mut filled.fields);
    let done = filled
        .keep(&app, &member, test, move |tx, test| {
            Ok(baths::record_clip_test(tx, at, id, test)?.word().to_owned())
        })
        .await;
    answer(&app, &req, (&member, id), &filled, done).await
}

pub(super) async fn scrap_test(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), member.id));
    let result = filled.fields.choice("result", "what the scrap did", &["black", "pale"]);
    let result = filled.fields.whole(result);
    let done = filled
        .keep(&app, &member, result, move |tx, said| {
            Ok(baths::record_scrap_test(tx, at, id, said == "black")?.word().to_owned())
        })
        .await;
    answer(&app, &req, (&member, id), &filled, done).await
}

pub(super) async fn top_up(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let ul = filled.fields.decimal("volume_ml", "a volume in ml", 1..=100_000_000);
    let ul = filled.fields.whole(ul);
    let done = filled
        .keep(&app, &lead, ul, move |tx, ul| Ok(baths::top_up(tx, at, id, *ul)?.word().to_owned()))
        .await;
    answer(&app, &req, (&Member(lead.0.clone()), id), &filled, done).await
}

pub(super) async fn replenish(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let once = filled.once(&app, Some(&lead))?;
    let done = app
        .db
        .write_once(once, move |tx| Ok(baths::replenish(tx, at, id)?.word().to_owned()))
        .await;
    answer(&app, &req, (&Member(lead.0.clone()), id), &filled, done).await
}

pub(super) async fn move_to(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, now) = (id.into_inner(), app.clock.now());
    let words: Vec<&str> = Place::ALL.iter().map(|p| p.1).collect();
    let place = filled.fields.choice("place", "a place", &words);
    let place = filled.fields.whole(place.and_then(|p| Place::from_word(&p)));
    let at = (now, lead.id);
    let done = filled
        .keep(&app, &lead, place, move |tx, place| {
            baths::move_to(tx, at, id, *place)?;
            let bath = baths::one(tx, id)?;
            Ok(baths::state(tx, now, &bath)?.word().to_owned())
        })
        .await;
    answer(&app, &req, (&Member(lead.0.clone()), id), &filled, done).await
}

#[derive(Serialize)]
struct CorrectionPage {
    bath: i64,
    label: String,
    what: &'static str,
    is_use: bool,
    said: String,
    form: Form,
}

async fn correction_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    (bath, entry): (i64, i64),
    shown: Option<Form>,
) -> Result<HttpResponse, Error> {
    let (bath, ledger) =
        app.db.read(move |conn| Ok((store::one(conn, bath)?, store::entries(conn, bath)?))).await?;
    let wrong = ledger.iter().find(|e| e.id == entry).ok_or(Error::NotFound)?;
    let corrected = ledger.iter().filter(|e| e.corrects == Some(entry));
    let net = wrong.milli + corrected.map(|e| e.milli).sum::<i64>();
    let words = app.words(None);
    let form = shown.unwrap_or_else(|| {
        Form::new(&format!("/baths/{}/corrections/{entry}", bath.id))
            .with("rolls", rolls_in_words(net))
    });
    let page = CorrectionPage {
        bath: bath.id,
        label: bath.of.label,
        what: wrong.kind.name(),
        is_use: wrong.kind == EntryKind::Use,
        said: format!(
            "{}, {} rolls' worth. {}",
            words.moment(wrong.at),
            rolls_in_words(net),
            wrong.note
        ),
        form,
    };
    let status = page.form.clone();
    show_form(app, req, ("Correct the ledger", "baths/correction.html"), &status, &page)
}

pub(super) async fn correction(
    app: web::Data<App>,
    req: HttpRequest,
    path: web::Path<(i64, i64)>,
) -> Result<HttpResponse, Error> {
    correction_page(&app, &req, path.into_inner(), None).await
}

pub(super) async fn correct(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    path: web::Path<(i64, i64)>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let of = path.into_inner();
    let at = (app.clock.now(), lead.id);
    // Only a use is corrected to an amount; the form of anything else has no such field.
    let is_amount = !filled.fields.raw("rolls").is_empty();
    let rolls = if is_amount {
        filled.fields.decimal("rolls", "rolls' worth", 0..=200_000)
    } else {
        Some(0)
    };
    let why = filled.fields.text("why", "a reason", 1..=300);
    let said = filled.fields.whole(rolls.zip(why));
    let done = filled
        .keep(&app, &lead, said, move |tx, (milli, why)| {
            Ok(baths::correct(tx, at, of, *milli, why)?.word().to_owned())
        })
        .await;
    match done {
        Ok(word) => Ok(go(
            &format!("/baths/{}", of.0),
            Some(Flash::good(format!("Corrected. The bath is now: {word}."))),
        )),
        Err(e) => correction_page(&app, &req, of, Some(filled.again(e)?)).await,
    }
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::timing;
use crate::app::App;
use crate::baths::rules::{minutes, rolls_in_words};
use crate::baths::{self, Place};
use crate::error::Error;
use crate::hazards::Strength;
use crate::shelf::{self, figure};
use crate::web::{Member, Qr, qr, show};

#[derive(Serialize)]
struct LabelPage {
    id: i64,
    number: i64,
    label: String,
    contents: String,
    material: &'static str,
    volume: String,
    capacity: String,
    timing: String,
    mixed: String,
    by: String,
    until: String,
    hazards: String,
    symbols: String,
    qr: Qr,
    address: String,
}

pub(super) async fn label(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (id, now) = (id.into_inner(), app.clock.now());
    let (bath, state, product, names) = app
        .db
        .read(move |conn| {
            let bath = baths::one(conn, id)?;
            let state = baths::state(conn, now, &bath)?;
            let product = bath.product_id.map(|p| shelf::product(conn, p)).transpose()?;
            let people: Vec<i64> = bath.mixed_by.into_iter().collect();
            Ok((bath, state, product, crate::members::names(conn, &people)?))
        })
        .await?;
    let (words, zone) = (app.words(Some(&member)), app.zone());
    let strength = bath.water_parts.map(|w| format!(", 1+{w}")).unwrap_or_default();
    let sheet = product.as_ref().map(|p| p.of.sheet.clone()).unwrap_or_default();
    let name = product.map_or_else(|| bath.kind.name().to_owned(), |p| p.of.name);
    let what = if baths::using::takes_film(&bath) { "use" } else { "" };
    let address = format!("{}/baths/{id}/{what}", app.config.base_url);
    let address = address.trim_end_matches('/').to_owned();
    let two = matches!(bath.place, Place::First | Place::Second);
    let page = LabelPage {
        id,
        number: bath.number,
        contents: format!("{}: {name}{strength}", bath.kind.name()),
        material: bath.material.name(),
        volume: figure(bath.volume_ul),
        capacity: rolls_in_words(bath.capacity_milli),
        timing: match timing(&bath, &state) {
            Some(_) if bath.is_fixer() && two => {
                format!("{} min in all, half in each", minutes(state.fix_s))
            }
            Some(_) if bath.is_fixer() => format!("{} min", minutes(state.fix_s)),
            Some(said) => said,
            None => "as the mix sheet says".to_owned(),
        },
        mixed: words.moment(bath.mixed),
        by: bath.mixed_by.and_then(|b| names.get(&b)).cloned().unwrap_or_default(),
        until: words.date(zone.date(bath.mixed.plus(bath.keeps_days * 86_400))),
        hazards: sheet.told(Strength::Working),
        symbols: sheet.working.symbols(),
        qr: qr(&address)?,
        address,
        label: bath.of.label,
    };
    show(&app, &req, &format!("Label of {}", page.label), "baths/label.html", &page)
}

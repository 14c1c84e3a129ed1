use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::shelf::{self, Settings, figure};
use crate::web::{Fields, Filled, Flash, Form, Lead, go, show_form};

#[derive(Serialize)]
struct FiguresPage {
    form: Form,
}

async fn page(app: &web::Data<App>, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let page = FiguresPage { form };
    let shown = page.form.clone();
    show_form(app, req, ("Figures for baths", "shelf/figures.html"), &shown, &page)
}

pub(super) async fn show(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let s = app.db.read(shelf::settings).await?;
    let form = Form::new("/shelf/figures")
        .of_version(s.version)
        .with("margin", s.margin_percent)
        .with("tabular", s.tabular_percent)
        .with("carry_over", figure(s.carry_over_ul))
        .with("second_bath", s.second_bath_percent)
        .with("promotions", s.most_promotions)
        .with("opened_long", s.opened_long_days)
        .with("currency", s.currency);
    page(&app, &req, form).await
}

fn read(f: &mut Fields, version: i64) -> Result<Settings, Error> {
    let margin = f.number("margin", "a share in percent", 10..=100);
    let tabular = f.number("tabular", "a share in percent", 100..=300);
    let carry = f.decimal("carry_over", "a volume in ml", 0..=100_000);
    let second = f.number("second_bath", "a share in percent", 1..=100);
    let promotions = f.number("promotions", "a number of promotions", 0..=20);
    let long = f.number("opened_long", "a number of days", 1..=3650);
    let currency = f.text("currency", "a currency", 1..=8);
    f.done()?;
    let (Some(margin_percent), Some(tabular_percent), Some(carry_over_ul), Some(currency)) =
        (margin, tabular, carry, currency)
    else {
        return Err(f.faults());
    };
    let (Some(second_bath_percent), Some(most_promotions), Some(opened_long_days)) =
        (second, promotions, long)
    else {
        return Err(f.faults());
    };
    Ok(Settings {
        margin_percent,
        tabular_percent,
        carry_over_ul,
        second_bath_percent,
        most_promotions,
        opened_long_days,
        currency,
        version,
    })
}

pub(super) async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let to = read(&mut filled.fields, version);
    let done = filled.keep(&app, &lead, to, shelf::change_settings).await;
    match done {
        Ok(()) => Ok(go("/shelf/figures", Some(Flash::good("The figures are kept.")))),
        Err(e) => page(&app, &req, filled.again(e)?).await,
    }
}

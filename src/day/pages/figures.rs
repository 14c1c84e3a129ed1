use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::day::figures::{ALL, Figure, Figures};
use crate::day::store;
use crate::error::Error;
use crate::web::{Filled, Flash, Form, Lead, go, show_form};

#[derive(Serialize)]
struct Line {
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    help: String,
}

#[derive(Serialize)]
struct FiguresPage {
    form: Form,
    lines: Vec<Line>,
}

fn line(figure: &Figure) -> Line {
    Line {
        name: figure.name,
        label: figure.label,
        unit: figure.unit,
        help: format!("{} unless you set it: {}.", figure.default, figure.source),
    }
}

fn page(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let page = FiguresPage { form, lines: ALL.iter().map(line).collect() };
    let shown = page.form.clone();
    show_form(app, req, ("Figures of a day", "day/figures.html"), &shown, &page)
}

/// Every figure a day is planned with.
pub(super) async fn figures(
    app: web::Data<App>,
    req: HttpRequest,
    _lead: Lead,
) -> Result<HttpResponse, Error> {
    let own = app.db.read(store::figures).await?;
    let present = Figures::of(&own);
    let form = ALL
        .iter()
        .fold(Form::new("/days/figures"), |form, f| form.with(f.name, present.value(f.name)));
    page(&app, &req, form)
}

pub(super) async fn set(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let mut wanted: Vec<(&'static str, Option<i64>)> = Vec::new();
    for figure in ALL {
        let range = figure.least..=figure.most;
        if let Some(value) = filled.fields.number(figure.name, "this figure", range) {
            wanted.push((figure.name, (value != figure.default).then_some(value)));
        }
    }
    if let Err(e) = filled.fields.done() {
        return page(&app, &req, filled.again(e)?);
    }
    let once = filled.once(&app, Some(&lead))?;
    app.db
        .write_once(once, move |tx| {
            for (name, value) in &wanted {
                store::set_figure(tx, name, *value)?;
            }
            Ok(())
        })
        .await?;
    Ok(go("/days/figures", Some(Flash::good("Saved. The next plan uses these figures."))))
}

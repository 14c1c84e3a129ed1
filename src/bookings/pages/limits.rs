//! The limits on bookings, for leads.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::bookings::{self, GRIDS, Limits};
use crate::error::Error;
use crate::sinks::{hours_text, read_hours};
use crate::web::{Fields, Filled, Flash, Form, Lead, go, show_form};

const DAYS: [&str; 7] =
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

#[derive(Serialize)]
struct LimitsPage {
    form: Form,
    grids: Vec<Grid>,
}

#[derive(Serialize)]
struct Grid {
    value: String,
    text: String,
}

fn fill(l: &Limits) -> Form {
    let maybe = |n: Option<i64>| n.map(|n| n.to_string()).unwrap_or_default();
    let mut form = Form::new("/room/limits")
        .of_version(l.version)
        .with("grid_min", l.grid_min)
        .with("longest_min", l.longest_min)
        .with("per_week", maybe(l.per_week))
        .with("minutes_per_week", maybe(l.minutes_per_week))
        .with("ahead_days", l.ahead_days)
        .with("notice_min", l.notice_min)
        .with("gap_min", l.gap_min)
        .with("newcomers_per_lead", l.newcomers_per_lead)
        .with("peak_minutes_per_week", maybe(l.peak_minutes_per_week))
        .with("peak_opens_min", l.peak_opens_min);
    for (day, weekday) in DAYS.iter().zip(1..) {
        form = form.with(day, hours_text(&l.peak, weekday));
    }
    form
}

/// A number that may be left empty.
fn maybe(f: &mut Fields, name: &str, what: &str, low: i64) -> Option<Option<i64>> {
    if f.raw(name).trim().is_empty() {
        return Some(None);
    }
    f.number(name, what, low..=10_080).map(Some)
}

fn read(f: &mut Fields, version: i64) -> Result<Limits, Error> {
    let grids = GRIDS.map(|g| g.to_string());
    let grids: Vec<&str> = grids.iter().map(String::as_str).collect();
    let grid = f.choice("grid_min", "a grid", &grids).and_then(|g| g.parse().ok());
    let longest = f.number("longest_min", "a length in minutes", 5..=1440);
    let per_week = maybe(f, "per_week", "a number of bookings", 1);
    let minutes = maybe(f, "minutes_per_week", "a time in minutes", 5);
    let ahead = f.number("ahead_days", "a number of days", 1..=730);
    let notice = f.number("notice_min", "a time in minutes", 0..=20_160);
    let gap = f.number("gap_min", "a time in minutes", 0..=240);
    let newcomers = f.number("newcomers_per_lead", "a number of newcomers", 0..=20);
    let peak_minutes = maybe(f, "peak_minutes_per_week", "a time in minutes", 5);
    let opens = f.number("peak_opens_min", "a time in minutes", 0..=20_160);
    let mut peak = Vec::new();
    for (day, weekday) in DAYS.iter().zip(1..) {
        match read_hours(weekday, f.raw(day)) {
            Ok(hours) => peak.extend(hours),
            Err(sentence) => f.fault(day, sentence),
        }
    }
    if grid.is_some_and(|g: i64| longest.is_some_and(|l| l < g)) {
        f.fault("longest_min", "This is shorter than one step of the grid.");
    }
    f.done()?;
    let read = || {
        Some(Limits {
            grid_min: grid?,
            longest_min: longest?,
            per_week: per_week?,
            minutes_per_week: minutes?,
            ahead_days: ahead?,
            notice_min: notice?,
            gap_min: gap?,
            newcomers_per_lead: newcomers?,
            peak_minutes_per_week: peak_minutes?,
            peak_opens_min: opens?,
            peak,
            version,
        })
    };
    read().ok_or_else(|| f.faults())
}

fn page(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let grid = |g: &i64| Grid { value: g.to_string(), text: bookings::rules::lasting(*g) };
    let page = LimitsPage { form, grids: GRIDS.iter().map(grid).collect() };
    show_form(app, req, ("Limits on bookings", "bookings/limits.html"), &page.form, &page)
}

pub(super) async fn show_limits(
    app: web::Data<App>,
    req: HttpRequest,
) -> Result<HttpResponse, Error> {
    let limits = app.db.read(bookings::limits).await?;
    page(&app, &req, fill(&limits))
}

pub(super) async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let limits = read(&mut filled.fields, version);
    let done = filled.keep(&app, &lead, limits, bookings::change_limits).await;
    match done {
        Ok(()) => Ok(go("/room", Some(Flash::good("The limits are kept.")))),
        Err(e) => page(&app, &req, filled.again(e)?),
    }
}

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{Datelike, NaiveDate};
use serde::Serialize;

use super::drawing::{Bars, Fill, Leaf, Row, bars, leaf};
use super::rules::{self, DayUse, WeekOfRolls, hours, percent};
use crate::app::App;
use crate::baths;
use crate::clock::{Moment, Month, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::shelf::{Form, UsedUp, figure};
use crate::sinks::Sink;
use crate::web::{Asked, DAYS, Member, Routes, Who, Words, show};
use crate::{bookings, day, rolls, shelf, sinks};

pub(super) fn routes(open: &mut Routes) {
    open.get("/month", Who::Member, month);
}

/// What the rooms keep of a month.
struct Facts {
    sinks: Vec<Sink>,
    days: Vec<DayUse>,
    weeks: Vec<WeekOfRolls>,
    used: Vec<UsedUp>,
    took: Vec<(baths::Kind, i64)>,
}

fn facts(conn: &mut Conn, month: Month, zone: Zone) -> Result<Facts, Error> {
    let span = month.span(zone);
    let open = sinks::openings(conn, zone, (month.first(), month.last()))?;
    let mut taken = bookings::taken(conn, span)?;
    taken.extend(day::wet(conn, span)?);
    let mut all = sinks::all_sinks(conn)?;
    all.retain(|s| !s.retired || taken.iter().any(|(sink, _)| *sink == s.id));
    let ids: Vec<i64> = all.iter().map(|s| s.id).collect();
    let (came, developed) = rolls::came_and_went(conn, span)?;
    let dates = |all: Vec<Moment>| all.into_iter().map(|at| zone.date(at)).collect::<Vec<_>>();
    Ok(Facts {
        days: rules::days(&open.into_iter().collect::<Vec<_>>(), &ids, &taken),
        weeks: rules::weeks(month, &dates(came), &dates(developed)),
        used: shelf::used_up(conn, span)?,
        took: baths::took(conn, span)?,
        sinks: all,
    })
}

#[derive(Serialize)]
struct MonthPage {
    month: String,
    before: String,
    after: Option<String>,
    room: Option<RoomPart>,
    rolls: Option<RollsPart>,
    used: Option<UsedPart>,
}

#[derive(Serialize)]
struct RoomPart {
    sentence: String,
    drawing: Leaf,
    sinks: Vec<String>,
    days: Vec<DayRow>,
    sums: Vec<String>,
    open: String,
    sum: String,
}

#[derive(Serialize)]
struct DayRow {
    day: String,
    /// Nothing where the room is closed all day.
    open: Option<String>,
    taken: Vec<String>,
    sum: String,
}

fn day_row(d: &DayUse) -> DayRow {
    let weekday = usize::try_from(d.date.weekday().num_days_from_monday()).ok();
    let name = weekday.and_then(|n| DAYS.get(n)).copied().unwrap_or_default();
    DayRow {
        day: format!("{} {}", name.chars().take(3).collect::<String>(), d.date.day()),
        open: (d.open > 0).then(|| hours(d.open)),
        taken: d.taken.iter().map(|t| hours(*t)).collect(),
        sum: hours(d.sum()),
    }
}

fn room(f: &Facts, words: &Words) -> Option<RoomPart> {
    let sum: i64 = f.days.iter().map(DayUse::sum).sum();
    let open: i64 = f.days.iter().map(|d| d.open).sum();
    if f.sinks.is_empty() || sum == 0 {
        return None;
    }
    let of = |n: usize| f.days.iter().filter_map(|d| d.taken.get(n)).sum::<i64>();
    let count = i64::try_from(f.sinks.len()).unwrap_or(1);
    Some(RoomPart {
        sentence: format!(
            "The room is open for {} hours. {} taken for {} of {} hours, {} per cent.",
            hours(open),
            if count == 1 { "It is".to_owned() } else { format!("Its {count} places are") },
            hours(sum),
            hours(open.saturating_mul(count)),
            percent(sum, open.saturating_mul(count))
        ),
        drawing: leaf(&f.days, &|date: NaiveDate| words.date(date)),
        sinks: f.sinks.iter().map(|s| s.name.clone()).collect(),
        days: f.days.iter().map(day_row).collect(),
        sums: (0..f.sinks.len()).map(|n| hours(of(n))).collect(),
        open: hours(open),
        sum: hours(sum),
    })
}

#[derive(Serialize)]
struct RollsPart {
    drawing: Bars,
    weeks: Vec<WeekRow>,
    came: i64,
    developed: i64,
}

#[derive(Serialize)]
struct WeekRow {
    week: String,
    came: i64,
    developed: i64,
}

/// `1 to 7 March`.
fn week(w: &WeekOfRolls) -> String {
    let last = w.to.format("%-d %B");
    if w.from == w.to { last.to_string() } else { format!("{} to {last}", w.from.day()) }
}

fn rolls_of(weeks: &[WeekOfRolls]) -> Option<RollsPart> {
    let came: i64 = weeks.iter().map(|w| w.came).sum();
    let developed: i64 = weeks.iter().map(|w| w.developed).sum();
    let row = |w: &WeekOfRolls| Row {
        text: week(w),
        bars: vec![
            (Fill::Hatched, w.came, format!("{} in", w.came)),
            (Fill::Full, w.developed, format!("{} developed", w.developed)),
        ],
    };
    let line = |w: &WeekOfRolls| WeekRow { week: week(w), came: w.came, developed: w.developed };
    (came + developed > 0).then(|| RollsPart {
        drawing: bars(weeks.iter().map(row).collect()),
        weeks: weeks.iter().map(line).collect(),
        came,
        developed,
    })
}

#[derive(Serialize)]
struct UsedPart {
    /// Liquids, then powders, each of their own scale.
    drawings: Vec<Bars>,
    products: Vec<ProductRow>,
    took: Vec<TookRow>,
}

#[derive(Serialize)]
struct ProductRow {
    name: String,
    purpose: &'static str,
    for_runs: String,
    into_baths: String,
    sum: String,
}

#[derive(Serialize)]
struct TookRow {
    kind: &'static str,
    rolls: String,
}

fn product_bars(u: &UsedUp) -> Row {
    let parts = [(Fill::Full, u.for_runs), (Fill::Hatched, u.into_baths)];
    let shown = parts.into_iter().filter(|(_, amount)| *amount != 0);
    Row {
        text: u.name.clone(),
        bars: shown.map(|(fill, amount)| (fill, amount, u.form.amount(amount))).collect(),
    }
}

fn used_of(f: &Facts) -> Option<UsedPart> {
    let drawing = |powder: bool| {
        let of = f.used.iter().filter(|u| (u.form == Form::Powder) == powder);
        let rows: Vec<Row> = of.map(product_bars).collect();
        (!rows.is_empty()).then(|| bars(rows))
    };
    let row = |u: &UsedUp| ProductRow {
        name: u.name.clone(),
        purpose: u.purpose.name(),
        for_runs: u.form.amount(u.for_runs),
        into_baths: u.form.amount(u.into_baths),
        sum: u.form.amount(u.for_runs.saturating_add(u.into_baths)),
    };
    let took =
        |(kind, milli): &(baths::Kind, i64)| TookRow { kind: kind.name(), rolls: figure(*milli) };
    (!f.used.is_empty() || !f.took.is_empty()).then(|| UsedPart {
        drawings: [false, true].into_iter().filter_map(drawing).collect(),
        products: f.used.iter().map(row).collect(),
        took: f.took.iter().map(took).collect(),
    })
}

async fn month(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let (month, zone) = (app.month(asked.0.raw("month")), app.zone());
    let f = app.db.read(move |conn| facts(conn, month, zone)).await?;
    let words = app.words(Some(&member));
    // Bookings reach into the next month, not beyond.
    let after = Some(month.step(1)).filter(|m| *m > month && *m <= app.month("").step(1));
    let page = MonthPage {
        month: month.named(),
        before: format!("/month?month={}", month.step(-1)),
        after: after.map(|m| format!("/month?month={m}")),
        room: room(&f, &words),
        rolls: rolls_of(&f.weeks),
        used: used_of(&f),
    };
    show(&app, &req, &format!("The studio in {}", page.month), "month/month.html", &page)
}

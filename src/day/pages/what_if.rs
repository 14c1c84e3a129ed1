use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::day_of;
use crate::app::App;
use crate::clock::Moment;
use crate::day::drafting::{self, WhatIf};
use crate::day::rules::{Sums, cost};
use crate::day::sheet::ml;
use crate::day::store;
use crate::error::Error;
use crate::sinks;
use crate::web::{Lead, Words, show};

#[derive(Serialize)]
struct WhatIfPage {
    date: String,
    day: String,
    present: Row,
    others: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    name: String,
    fault: Option<String>,
    runs: String,
    left: String,
    late: String,
    concentrate: String,
    ends: String,
    cost: String,
}

impl Row {
    fn of(name: String, sums: &Sums, present: &Sums, words: &Words) -> Row {
        Row {
            name,
            fault: None,
            runs: sums.runs.to_string(),
            left: sums.left.to_string(),
            late: sums.late.len().to_string(),
            concentrate: ml(sums.concentrate_ul),
            ends: if sums.ends_s > 0 { words.time(Moment(sums.ends_s)) } else { "-".to_owned() },
            cost: cost(present, sums),
        }
    }
}

/// The present plan beside what it would be under other conditions.
pub(super) async fn what_if(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let (at, by) = ((app.clock.now(), app.zone(), date), lead.id);
    let (plan, basis, tank) = app
        .db
        .read(move |conn| {
            let plan = store::draft(conn, date)?.ok_or(Error::NotFound)?;
            let basis = drafting::basis(conn, at, by, plan.wish.clone())?;
            let tanks = sinks::tanks(conn)?;
            let largest = tanks.into_iter().max_by_key(|t| (t.stack_mm, -t.position));
            Ok((plan, basis, largest.map(|t| (t.id, t.name))))
        })
        .await?;
    let others = web::block(move || drafting::what_ifs(&basis, tank.as_ref())).await?;
    let words = app.words(Some(&lead));
    let row = |other: WhatIf| match other.outcome {
        Ok(outcome) => Row::of(other.name, &outcome.sums, &plan.sums, &words),
        Err(fault) => {
            Row { fault: Some(fault), ..Row::of(other.name, &Sums::default(), &plan.sums, &words) }
        }
    };
    let page = WhatIfPage {
        date: words.date(date),
        day: date.to_string(),
        others: others.into_iter().map(row).collect(),
        present: Row::of("As it is planned".to_owned(), &plan.sums, &plan.sums, &words),
    };
    show(&app, &req, "What if", "day/what_if.html", &page)
}

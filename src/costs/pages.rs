use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Line, Statement, coins};
use crate::app::App;
use crate::clock::Month;
use crate::error::Error;
use crate::members;
use crate::sessions::Role;
use crate::shelf::{self, figure, money};
use crate::web::{Asked, Member, Routes, Who, csv_file, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/costs", Who::Member, costs);
    open.get("/costs.csv", Who::Member, costs_csv);
}

#[derive(Serialize)]
struct Row {
    at: String,
    what: String,
    rolls: String,
    developer: String,
    baths: String,
    sum: String,
}

#[derive(Serialize)]
struct MemberRow {
    name: String,
    films: usize,
    rolls: String,
    developer: String,
    baths: String,
    sum: String,
}

#[derive(Serialize)]
struct CostsPage {
    month: String,
    value: String,
    before: String,
    after: Option<String>,
    currency: String,
    mine: Vec<Row>,
    sum: String,
    everybody: Vec<MemberRow>,
    for_runs: String,
    into_baths: String,
    missing: String,
    lead: bool,
}

/// Everything in one line as coins in words: developer, baths, both.
fn in_money(developer: i64, baths: i64) -> [String; 3] {
    [developer, baths, developer.saturating_add(baths)].map(|m| money(coins(m)))
}

/// The members' lines together, by name.
fn by_member(said: &Statement, names: &BTreeMap<i64, String>) -> Vec<MemberRow> {
    let mut sums: BTreeMap<String, (usize, i64, i64, i64)> = BTreeMap::new();
    for line in &said.lines {
        let name = line.owner.and_then(|o| names.get(&o)).cloned();
        let sum = sums.entry(name.unwrap_or_else(|| "Nobody named".to_owned())).or_default();
        sum.0 += 1;
        sum.1 += line.milli;
        sum.2 += line.developer;
        sum.3 += line.baths;
    }
    sums.into_iter()
        .map(|(name, (films, milli, developer, baths))| {
            let [developer, baths, sum] = in_money(developer, baths);
            MemberRow { name, films, rolls: figure(milli), developer, baths, sum }
        })
        .collect()
}

async fn facts(
    app: &web::Data<App>,
    month: Month,
) -> Result<(Statement, BTreeMap<i64, String>, String), Error> {
    let span = month.span(app.zone());
    app.db
        .read(move |conn| {
            let said = super::statement(conn, span)?;
            let people: Vec<i64> = said.lines.iter().filter_map(|l| l.owner).collect();
            Ok((said, members::names(conn, &people)?, shelf::settings(conn)?.currency))
        })
        .await
}

async fn costs(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let month = app.month(asked.0.raw("month"));
    let (said, names, currency) = facts(&app, month).await?;
    let lead = member.role == Role::Lead;
    let words = app.words(Some(&member));
    let mine: Vec<&Line> = said.lines.iter().filter(|l| l.owner == Some(member.id)).collect();
    let sum: i64 = mine.iter().map(|l| l.developer + l.baths).sum();
    let after = Some(month.step(1)).filter(|m| *m <= app.month(""));
    let page = CostsPage {
        month: month.named(),
        value: month.to_string(),
        before: format!("/costs?month={}", month.step(-1)),
        after: after.map(|m| format!("/costs?month={m}")),
        mine: mine
            .iter()
            .map(|l| {
                let [developer, baths, sum] = in_money(l.developer, l.baths);
                Row {
                    at: words.moment(l.at),
                    what: l.what.clone(),
                    rolls: figure(l.milli),
                    developer,
                    baths,
                    sum,
                }
            })
            .collect(),
        sum: money(coins(sum)),
        everybody: if lead { by_member(&said, &names) } else { Vec::new() },
        for_runs: money(said.for_runs),
        into_baths: money(said.into_baths),
        missing: money(said.missing),
        currency,
        lead,
    };
    show(&app, &req, "Costs", "costs/month.html", &page)
}

async fn costs_csv(
    app: web::Data<App>,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let month = app.month(asked.0.raw("month"));
    let all = member.role == Role::Lead && !asked.0.ticked("mine");
    let (said, names, currency) = facts(&app, month).await?;
    let zone = app.zone();
    let mut rows = vec![
        ["when", "member", "what", "rolls' worth", "developer", "baths", "sum", "currency"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for l in said.lines.iter().filter(|l| all || l.owner == Some(member.id)) {
        let [developer, baths, sum] = in_money(l.developer, l.baths);
        rows.push(vec![
            zone.rfc3339(l.at),
            l.owner.and_then(|o| names.get(&o)).cloned().unwrap_or_default(),
            l.what.clone(),
            figure(l.milli),
            developer,
            baths,
            sum,
            currency.clone(),
        ]);
    }
    csv_file(&format!("costs-{month}.csv"), &rows)
}

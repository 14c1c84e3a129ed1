//! Rolls as a table for a spreadsheet.

use actix_web::{HttpResponse, web};

use super::list;
use crate::app::App;
use crate::error::Error;
use crate::rolls::store;
use crate::web::{Asked, Member, Routes, Who, csv_file};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/export.csv", Who::Member, export);
}

/// Rows that one export holds at the most.
const MOST: i64 = 100_000;

const HEAD: [&str; 12] = [
    "ticket",
    "owner",
    "film",
    "format",
    "sheets",
    "ei",
    "state",
    "handed_in",
    "since",
    "due",
    "care",
    "note",
];

async fn export(app: web::Data<App>, member: Member, asked: Asked) -> Result<HttpResponse, Error> {
    let mut search = list::read(&app, &member, &asked.0);
    search.limit = MOST;
    let rolls = app.db.read(move |conn| store::found(conn, &search)).await?;
    let zone = app.zone();
    let mut rows = vec![HEAD.iter().map(|name| (*name).to_owned()).collect::<Vec<String>>()];
    for r in rolls {
        rows.push(vec![
            r.ticket,
            r.member_name,
            r.film,
            r.format,
            r.sheets.map(|n| n.to_string()).unwrap_or_default(),
            r.ei.to_string(),
            r.state.word().to_owned(),
            zone.rfc3339(r.handed_in),
            zone.rfc3339(r.since),
            r.due.map(|d| zone.rfc3339(d)).unwrap_or_default(),
            r.check.care.word().to_owned(),
            r.note,
        ]);
    }
    csv_file("rolls.csv", &rows)
}

//! Who has acknowledged what: on a page, and as a file for a spreadsheet.

use std::collections::BTreeSet;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::safety::store;
use crate::web::{Lead, Routes, Who, csv_file, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/safety/record", Who::Lead, table);
    open.get("/safety/record.csv", Who::Lead, file);
}

#[derive(Serialize)]
struct Cell {
    word: &'static str,
    tone: &'static str,
    note: String,
}

#[derive(Serialize)]
struct Row {
    name: String,
    role: String,
    cells: Vec<Cell>,
}

#[derive(Serialize)]
struct RecordPage {
    notes: Vec<String>,
    rows: Vec<Row>,
    waiting: usize,
}

async fn table(app: web::Data<App>, req: HttpRequest, _: Lead) -> Result<HttpResponse, Error> {
    let (notes, people, pairs) = app
        .db
        .read(|conn| Ok((store::current(conn)?, store::people(conn)?, store::all_pairs(conn)?)))
        .await?;
    let notes: Vec<store::Note> = notes.into_iter().filter(|n| n.essential).collect();
    let pairs: BTreeSet<(i64, String, i64)> = pairs.into_iter().collect();
    let rows: Vec<Row> = people
        .into_iter()
        .map(|(id, name, role)| {
            let cell = |n: &store::Note| {
                let note = n.title.clone();
                if pairs.contains(&(id, n.slug.clone(), n.number)) {
                    Cell { word: "read", tone: "good", note }
                } else if pairs
                    .range((id, n.slug.clone(), 0)..(id, n.slug.clone(), n.number))
                    .next()
                    .is_some()
                {
                    Cell { word: "older version", tone: "note", note }
                } else {
                    Cell { word: "not yet", tone: "wait", note }
                }
            };
            Row { name, role, cells: notes.iter().map(cell).collect() }
        })
        .collect();
    let is_waiting = |r: &&Row| r.cells.iter().any(|c| c.tone != "good");
    let page = RecordPage {
        waiting: rows.iter().filter(is_waiting).count(),
        notes: notes.into_iter().map(|n| n.title).collect(),
        rows,
    };
    show(&app, &req, "Who has read what", "safety/record.html", &page)
}

async fn file(app: web::Data<App>, _: Lead) -> Result<HttpResponse, Error> {
    let zone = app.zone();
    let all = app.db.read(store::all_acknowledgements).await?;
    let mut rows: Vec<Vec<String>> = vec![
        ["member", "email", "note", "version", "acknowledged", "questions_answered"]
            .map(ToOwned::to_owned)
            .to_vec(),
    ];
    rows.extend(all.into_iter().map(|r| {
        vec![
            r.member,
            r.email.unwrap_or_default(),
            r.slug,
            r.number.to_string(),
            zone.rfc3339(r.at),
            r.questions.to_string(),
        ]
    }));
    csv_file("acknowledgements.csv", &rows)
}

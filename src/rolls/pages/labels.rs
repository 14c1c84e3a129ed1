//! A sheet of labels to print and cut, each with the code that opens its roll's page.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, format_of, spoken, whose};
use crate::app::App;
use crate::error::Error;
use crate::rolls::labels::{SHEETS, Sheet, code, millimetres};
use crate::rolls::{Roll, store, ticket};
use crate::sessions::Role;
use crate::web::{Asked, Form, Member, Routes, Who, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/labels", Who::Member, labels);
}

/// The most labels in one go.
const MOST: usize = 200;

#[derive(Serialize)]
struct LabelsPage {
    form: Form,
    sheets: Vec<Choice>,
    paper: &'static str,
    /// The style sheet that says how large the paper is, for a sheet of the studio's own.
    style: Option<String>,
    lead: bool,
    width: String,
    height: String,
    pages: Vec<Vec<Label>>,
    missing: usize,
}

/// One label; all measures in millimetres, as an SVG takes them.
#[derive(Serialize)]
struct Label {
    ticket: String,
    spoken: String,
    film: String,
    owner: String,
    about: String,
    care: String,
    x: String,
    y: String,
    path: String,
    /// How large one module of the code is.
    module: String,
    text_x: String,
    lines: [String; 5],
    /// Sizes of the ticket's and the other letters.
    large: String,
    small: String,
}

/// Letters that fit beside the code, so that no word runs off the label.
fn fitting(text: &str, width: i64, size: i64) -> String {
    // A letter is about half as wide as it is high.
    let most = usize::try_from(width * 100 / (size * 52).max(1)).unwrap_or(0);
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}

fn label(sheet: &Sheet, place: i64, roll: &Roll, address: &str) -> Option<Label> {
    let code = code(&format!("{address}/rolls/{}", roll.ticket))?;
    let (x, y) = sheet.corner(place);
    let edge = 20;
    // The code with its quiet zone takes the height, or somewhat less than half the width.
    let side = (sheet.label.1 - 2 * edge).min(sheet.label.0 * 45 / 100);
    let modules = i64::try_from(code.width).ok()? + 8;
    let module = side * 1000 / modules;
    let text_x = edge + side;
    let width = sheet.label.0 - text_x - edge;
    let (large, small) = (46.min(width / 5), 26.min(sheet.label.1 / 10));
    let care = roll.check.in_words().join(", ");
    let top = (sheet.label.1 - large - 4 * (small + small / 3)).max(0) / 2;
    let row = |n: i64| millimetres(top + large + n * (small + small / 3));
    Some(Label {
        spoken: spoken(&roll.ticket),
        film: fitting(&roll.film, width, small),
        owner: fitting(&roll.member_name, width, small),
        about: fitting(&format!("{}, EI {}", format_of(roll), roll.ei), width, small),
        care: fitting(&care, width, small),
        ticket: roll.ticket.clone(),
        x: millimetres(x),
        y: millimetres(y),
        path: code.path,
        // Thousandths of a tenth of a millimetre.
        module: format!("{}.{:04}", module / 10_000, module % 10_000),
        text_x: millimetres(text_x),
        lines: [row(0), row(1), row(2), row(3), row(4)],
        large: millimetres(large),
        small: millimetres(small),
    })
}

async fn labels(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let f = asked.0;
    let own = app.db.read(store::sheets).await?;
    let all: Vec<Sheet> = SHEETS.into_iter().chain(own.into_iter().map(|(_, s)| s)).collect();
    let wanted = all.iter().find(|s| s.word == f.raw("sheet"));
    let sheet = wanted.or(all.first()).ok_or(Error::NotFound)?.clone();
    let skip: i64 = f.raw("skip").trim().parse().unwrap_or(0);
    let skip = skip.clamp(0, sheet.count() - 1);
    let typed = f.raw("tickets");
    let tickets: Vec<String> = typed
        .split(|c: char| c == '.' || c == ',' || c.is_whitespace())
        .filter(|t| !t.is_empty())
        .take(MOST)
        .filter_map(ticket::read)
        .collect();
    let of = whose(&member);
    let rolls = app
        .db
        .read(move |conn| {
            let mut rolls = Vec::new();
            for ticket in &tickets {
                match store::by_ticket(conn, ticket, of) {
                    Ok(roll) => rolls.push(roll),
                    Err(Error::NotFound) => {}
                    Err(e) => return Err(e),
                }
            }
            Ok(rolls)
        })
        .await?;
    let asked = typed.split(['.', ',', ' ', '\n']).filter(|t| !t.trim().is_empty()).count();
    let mut pages: Vec<Vec<Label>> = Vec::new();
    for (place, roll) in (skip..).zip(&rolls) {
        let page = usize::try_from(place / sheet.count()).unwrap_or(0);
        if pages.len() <= page {
            pages.resize_with(page + 1, Vec::new);
        }
        let label = label(&sheet, place % sheet.count(), roll, &app.config.base_url);
        if let (Some(page), Some(label)) = (pages.get_mut(page), label) {
            page.push(label);
        }
    }
    let mut form = Form::new("/rolls/labels").with("sheet", &sheet.word).with("skip", skip);
    form.values.insert("tickets".to_owned(), typed.to_owned());
    let page = LabelsPage {
        form,
        sheets: all.iter().map(|s| Choice::new(&s.word, s.in_words())).collect(),
        paper: sheet.paper,
        style: (sheet.paper == "own").then(|| format!("/rolls/label-sheets/{}.css", sheet.word)),
        lead: member.role == Role::Lead,
        width: millimetres(sheet.page.0),
        height: millimetres(sheet.page.1),
        pages,
        missing: asked.saturating_sub(rolls.len()),
    };
    show(&app, &req, "Labels", "rolls/labels.html", &page)
}

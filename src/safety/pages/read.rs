//! Reading the notes, and acknowledging one.

use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::clock::Moment;
use crate::db::Conn;
use crate::error::Error;
use crate::safety::blanks::Fillings;
use crate::safety::changes::{self, Piece};
use crate::safety::store::{self, Note, Question};
use crate::safety::{learning, markdown, rules};
use crate::sessions::{Person, Role};
use crate::web::{Filled, Flash, Form, Newcomer, Routes, Visitor, Who, go, show, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/notes", Who::Anyone, list);
    open.get("/notes/{slug}", Who::Anyone, one);
    open.post("/notes/{slug}/acknowledge", Who::Newcomer, acknowledge);
}

#[derive(Serialize)]
struct Line {
    href: String,
    title: String,
    summary: String,
    essential: bool,
    /// The state of an essential note for the reader: its word and tone, if they are signed in.
    state: Option<(&'static str, &'static str)>,
}

#[derive(Serialize)]
struct ListPage {
    notes: Vec<Line>,
    lead: bool,
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
) -> Result<HttpResponse, Error> {
    let id = visitor.0.as_ref().map(|p| p.id);
    let (notes, read) = app
        .db
        .read(move |conn| {
            let read = id.map(|id| store::acknowledged(conn, id)).transpose()?;
            Ok((store::current(conn)?, read))
        })
        .await?;
    let line = |n: Note| Line {
        state: read.as_ref().filter(|_| n.essential).map(|read| match read.get(&n.slug) {
            Some((number, _)) if *number == n.number => ("You have read this", "good"),
            Some(_) => ("Changed since you read it", "note"),
            None => ("For you to read", "wait"),
        }),
        href: format!("/notes/{}", n.slug),
        title: n.title,
        summary: n.summary,
        essential: n.essential,
    };
    let lead = visitor.0.as_ref().is_some_and(|p| p.role == Role::Lead);
    let page = ListPage { notes: notes.into_iter().map(line).collect(), lead };
    show(&app, &req, "Safety notes", "safety/list.html", &page)
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
    help: Option<String>,
}

#[derive(Serialize)]
struct Ask {
    name: String,
    question: String,
    answers: Vec<Choice>,
}

#[derive(Serialize)]
struct Acknowledge {
    form: Form,
    questions: Vec<Ask>,
    /// The version this reader read before, and what changed since.
    before: Option<i64>,
    changes: Vec<Vec<Piece>>,
}

#[derive(Serialize)]
struct NotePage {
    title: String,
    html: String,
    slug: String,
    number: i64,
    posted: String,
    change_note: String,
    withdrawn: bool,
    essential: bool,
    read: Option<String>,
    acknowledge: Option<Acknowledge>,
    lead: bool,
}

/// What a page about a note needs.
struct Facts {
    note: Note,
    fillings: Fillings,
    shelf: String,
    questions: Vec<Question>,
    read: Option<(i64, Moment)>,
    before: Option<Note>,
}

fn facts(conn: &mut Conn, slug: &str, person: Option<i64>) -> Result<Facts, Error> {
    let note = store::latest(conn, slug)?;
    let mut read = None;
    if let Some(id) = person {
        read = store::acknowledged(conn, id)?.remove(slug);
    }
    let before = match read {
        Some((number, _)) if number != note.number => Some(store::version(conn, slug, number)?),
        _ => None,
    };
    Ok(Facts {
        fillings: store::fillings(conn)?,
        shelf: crate::safety::shelf_lines(conn, &note.body)?,
        questions: if person.is_some() { store::questions(conn, slug)? } else { Vec::new() },
        note,
        read,
        before,
    })
}

/// The answers of a question in an order that tells nothing.
fn ask(question: Question) -> Ask {
    let mut answers = vec![question.right_answer, question.wrong_answer, question.second_wrong];
    answers.retain(|a| !a.is_empty());
    answers.sort_unstable();
    let choice = |a: String| Choice { value: a.clone(), text: a, help: None };
    Ask {
        name: rules::field_of(question.id),
        question: question.question,
        answers: answers.into_iter().map(choice).collect(),
    }
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    (slug, person): (String, Option<&Person>),
    failed: Option<Form>,
) -> Result<HttpResponse, Error> {
    let id = person.map(|p| p.id);
    let lead = person.is_some_and(|p| p.role == Role::Lead);
    let asked = slug.clone();
    let facts = app.db.read(move |conn| facts(conn, &asked, id)).await?;
    let note = facts.note;
    if note.withdrawn && !lead {
        return Err(Error::NotFound);
    }
    let words = app.words(person);
    let read = facts.read.filter(|(number, _)| *number == note.number);
    let status = failed.as_ref().map_or(200, |f| f.status);
    let form = failed.unwrap_or_else(|| {
        Form::new(&format!("/notes/{slug}/acknowledge")).of_version(note.number)
    });
    let wanted = person.is_some() && read.is_none() && !note.withdrawn;
    let acknowledge = wanted.then(|| Acknowledge {
        form: form.clone(),
        questions: facts.questions.into_iter().map(ask).collect(),
        changes: facts
            .before
            .as_ref()
            .map(|b| changes::between(&b.body, &note.body))
            .unwrap_or_default(),
        before: facts.before.map(|b| b.number),
    });
    let page = NotePage {
        html: markdown::with_shelf(markdown::to_html(&note.body, &facts.fillings), &facts.shelf),
        slug,
        number: note.number,
        posted: words.moment(Moment(note.published_s)),
        change_note: note.change_note,
        withdrawn: note.withdrawn,
        essential: note.essential,
        read: read.map(|(_, at)| words.moment(at)),
        acknowledge,
        lead,
        title: note.title,
    };
    let mut plain = Form { status, ..Form::default() };
    plain.action = form.action;
    show_form(app, req, (&page.title, "safety/one.html"), &plain, &page)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    slug: web::Path<String>,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, (slug.into_inner(), visitor.0.as_ref()), None).await
}

async fn acknowledge(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    slug: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (slug, now, id) = (slug.into_inner(), app.clock.now(), person.id);
    let number = filled.version();
    let mut answers = BTreeMap::new();
    for (name, value) in filled.fields.values() {
        if let Some(question) = name.strip_prefix("question-").and_then(|n| n.parse().ok()) {
            answers.insert(question, value);
        }
    }
    let understood = filled.fields.ticked("understood");
    let once = filled.once(&app, Some(&person))?;
    let of = slug.clone();
    let done = if understood {
        app.db
            .write_once(once, move |tx| {
                learning::acknowledge(tx, now, id, (&of, number), &answers)?;
                Ok(i64::try_from(learning::unread(tx, id)?.len()).unwrap_or(0))
            })
            .await
    } else {
        Err(Error::field(
            "understood",
            "Tick this when you have read the note and will keep to it. Ask a lead if anything in \
             it is not clear.",
        ))
    };
    match done {
        Ok(0) => Ok(go("/way-in", Some(Flash::good("You have read every essential note.")))),
        Ok(left) => {
            let word = if left == 1 { "One note is" } else { "Some notes are" };
            Ok(go("/way-in", Some(Flash::good(format!("Acknowledged. {word} still to be read.")))))
        }
        Err(e) => {
            let form = filled.again(e)?;
            shown(&app, &req, (slug, Some(&person)), Some(form)).await
        }
    }
}

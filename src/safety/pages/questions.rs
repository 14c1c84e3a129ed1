//! A lead edits the questions of understanding of a note.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::safety::learning;
use crate::safety::store::{self, Question};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/notes/{slug}/questions", Who::Lead, list);
    open.post("/notes/{slug}/questions", Who::Lead, add);
    open.post("/notes/{slug}/questions/{id}", Who::Lead, reword);
    open.post("/notes/{slug}/questions/{id}/retire", Who::Lead, retire);
}

#[derive(Serialize)]
struct Line {
    id: i64,
    question: String,
    form: Form,
}

#[derive(Serialize)]
struct QuestionsPage {
    title: String,
    slug: String,
    questions: Vec<Line>,
    add: Form,
}

fn form_of(q: &Question) -> Form {
    Form::new(&format!("/notes/{}/questions/{}", q.slug, q.id))
        .with("question", &q.question)
        .with("right", &q.right_answer)
        .with("wrong", &q.wrong_answer)
        .with("second", &q.second_wrong)
        .with("why", &q.why)
        .of_version(q.version)
}

/// The page, the form of one question (or of a new one, 0) perhaps with faults.
async fn shown(
    app: &App,
    req: &HttpRequest,
    slug: String,
    failed: Option<(i64, Form)>,
) -> Result<HttpResponse, Error> {
    let asked = slug.clone();
    let (note, questions) = app
        .db
        .read(move |conn| Ok((store::latest(conn, &asked)?, store::questions(conn, &asked)?)))
        .await?;
    let status = failed.as_ref().map_or(200, |(_, f)| f.status);
    let of = |id: i64, fresh: Form| match &failed {
        Some((n, form)) if *n == id => form.clone(),
        _ => fresh,
    };
    let page = QuestionsPage {
        add: of(0, Form::new(&format!("/notes/{slug}/questions"))),
        questions: questions
            .iter()
            .map(|q| Line { id: q.id, question: q.question.clone(), form: of(q.id, form_of(q)) })
            .collect(),
        title: note.title,
        slug,
    };
    let plain = Form { status, ..Form::default() };
    show_form(
        app,
        req,
        (&format!("{}: questions", page.title), "safety/questions.html"),
        &plain,
        &page,
    )
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    slug: web::Path<String>,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, slug.into_inner(), None).await
}

fn read(f: &mut Fields, (slug, id, version): (&str, i64, i64)) -> Result<Question, Error> {
    let question = f.text("question", "the question", 1..=300);
    let right = f.text("right", "the right answer", 1..=300);
    let wrong = f.text("wrong", "a wrong answer", 1..=300);
    let second = f.text("second", "another wrong answer", 0..=300);
    let why = f.text("why", "why it is so", 0..=500);
    f.done()?;
    match (question, right, wrong, second, why) {
        (Some(question), Some(right_answer), Some(wrong_answer), Some(second_wrong), Some(why)) => {
            let slug = slug.to_owned();
            Ok(Question {
                id,
                slug,
                question,
                right_answer,
                wrong_answer,
                second_wrong,
                why,
                version,
            })
        }
        _ => Err(f.faults()),
    }
}

async fn keep(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    (slug, id): (String, i64),
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let question = read(&mut filled.fields, (&slug, id, version));
    let done = filled.keep(&app, &lead, question, learning::keep_question).await;
    match done {
        Ok(()) => {
            let to = format!("/notes/{slug}/questions");
            Ok(go(&to, Some(Flash::good("The question is saved."))))
        }
        Err(e) => shown(&app, &req, slug, Some((id, filled.again(e)?))).await,
    }
}

async fn add(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    slug: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    keep(app, req, lead, (slug.into_inner(), 0), filled).await
}

async fn reword(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    path: web::Path<(String, i64)>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (slug, id) = path.into_inner();
    let of = slug.clone();
    app.db
        .read(move |conn| match store::question(conn, id)?.slug == of {
            true => Ok(()),
            false => Err(Error::NotFound),
        })
        .await?;
    keep(app, req, lead, (slug, id), filled).await
}

async fn retire(
    app: web::Data<App>,
    path: web::Path<(String, i64)>,
) -> Result<HttpResponse, Error> {
    let (slug, id) = path.into_inner();
    let (now, of) = (app.clock.now(), slug.clone());
    app.db
        .write(move |tx| {
            if store::question(tx, id)?.slug != of {
                return Err(Error::NotFound);
            }
            store::retire_question(tx, now, id)
        })
        .await?;
    Ok(go(&format!("/notes/{slug}/questions"), Some(Flash::good("It is no longer asked."))))
}

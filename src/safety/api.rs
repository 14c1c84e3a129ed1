use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{learning, store};
use crate::app::App;
use crate::clock::Moment;
use crate::error::{Error, Faults};
use crate::web::{Body, Newcomer, Problems, Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/notes", Who::Newcomer, list);
    open.get("/api/v1/notes/{slug}", Who::Newcomer, one);
    open.post("/api/v1/notes/{slug}/acknowledgements", Who::Newcomer, acknowledge);
}

/// A posted safety note.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct NoteLine {
    /// The last part of its address.
    slug: String,
    /// Its title.
    title: String,
    /// What it is about.
    summary: String,
    /// Its present version, from 1.
    version: i64,
    /// Whether everyone must have read it before booking.
    essential: bool,
    /// The latest version the caller has acknowledged, if any.
    acknowledged_version: Option<i64>,
}

/// The posted safety notes.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct NoteList {
    /// In their posted order.
    items: Vec<NoteLine>,
    /// There are no further pages.
    next: Option<String>,
}

/// A question of understanding.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct QuestionLine {
    /// Its id, for the answer.
    id: i64,
    /// What is asked.
    question: String,
    /// What can be answered.
    answers: Vec<String>,
}

/// A note with its text and its questions.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct NoteText {
    /// The last part of its address.
    slug: String,
    /// Its title.
    title: String,
    /// Its present version.
    version: i64,
    /// When that was posted, RFC 3339.
    published: String,
    /// Its text in Markdown; a blank stands as `[[name]]`.
    markdown: String,
    /// What is asked before it can be acknowledged.
    questions: Vec<QuestionLine>,
}

/// One answer.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Given {
    /// The question's id.
    question_id: i64,
    /// The answer, word for word.
    answer: String,
}

/// That somebody has read a version.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Acknowledgement {
    /// The version that was read.
    version: i64,
    /// An answer to each question.
    answers: Vec<Given>,
}

/// What is still to be read.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct StillToRead {
    /// The essential notes not yet acknowledged in their present version.
    still_to_read: Vec<String>,
}

/// The safety notes, and which version the caller has acknowledged.
#[utoipa::path(
    get, path = "/api/v1/notes", tag = "safety",
    responses((status = 200, description = "The notes", body = NoteList), Problems))]
pub(crate) async fn list(app: web::Data<App>, person: Newcomer) -> Result<HttpResponse, Error> {
    let id = person.id;
    let (notes, read) = app
        .db
        .read(move |conn| Ok((store::current(conn)?, store::acknowledged(conn, id)?)))
        .await?;
    let line = |n: store::Note| NoteLine {
        acknowledged_version: read.get(&n.slug).map(|(number, _)| *number),
        slug: n.slug,
        title: n.title,
        summary: n.summary,
        version: n.number,
        essential: n.essential,
    };
    Ok(HttpResponse::Ok()
        .json(NoteList { items: notes.into_iter().map(line).collect(), next: None }))
}

/// A note's text and questions.
#[utoipa::path(
    get, path = "/api/v1/notes/{slug}", tag = "safety",
    params(("slug" = String, Path, description = "The last part of the note's address")),
    responses((status = 200, description = "The note", body = NoteText), Problems))]
pub(crate) async fn one(
    app: web::Data<App>,
    _: Newcomer,
    slug: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    let (note, questions) = app
        .db
        .read(move |conn| Ok((store::latest(conn, &slug)?, store::questions(conn, &slug)?)))
        .await?;
    if note.withdrawn {
        return Err(Error::NotFound);
    }
    let question = |q: store::Question| {
        let mut answers = vec![q.right_answer, q.wrong_answer, q.second_wrong];
        answers.retain(|a| !a.is_empty());
        answers.sort_unstable();
        QuestionLine { id: q.id, question: q.question, answers }
    };
    Ok(HttpResponse::Ok().json(NoteText {
        published: app.zone().rfc3339(Moment(note.published_s)),
        slug: note.slug,
        title: note.title,
        version: note.number,
        markdown: note.body,
        questions: questions.into_iter().map(question).collect(),
    }))
}

/// Acknowledges a note's present version; every question must be answered right.
#[utoipa::path(
    post, path = "/api/v1/notes/{slug}/acknowledgements", tag = "safety",
    params(
        ("slug" = String, Path, description = "The last part of the note's address"),
        ("Idempotency-Key" = Option<String>, Header, description = "Makes a repetition harmless"),
    ),
    request_body = Acknowledgement,
    responses((status = 201, description = "Acknowledged", body = StillToRead), Problems))]
pub(crate) async fn acknowledge(
    app: web::Data<App>,
    person: Newcomer,
    slug: web::Path<String>,
    body: Body<Acknowledgement>,
) -> Result<HttpResponse, Error> {
    let once = body.once(&app, &person)?;
    let (slug, now, id) = (slug.into_inner(), app.clock.now(), person.id);
    let number = body.value.version;
    let answers: BTreeMap<i64, String> =
        body.value.answers.into_iter().map(|a| (a.question_id, a.answer)).collect();
    let left = app
        .db
        .write_once(once, move |tx| {
            learning::acknowledge(tx, now, id, (&slug, number), &answers)?;
            Ok(learning::unread(tx, id)?.into_iter().map(|n| n.slug).collect::<Vec<_>>())
        })
        .await
        .map_err(by_question)?;
    Ok(HttpResponse::Created().json(StillToRead { still_to_read: left }))
}

/// Faults beside form fields, named as a program names them.
fn by_question(error: Error) -> Error {
    match error {
        Error::Invalid(faults) => {
            let named = |name: String| match name.strip_prefix("question-") {
                Some(id) => format!("answers (question_id {id})"),
                None => name,
            };
            let faults: Faults = faults.into_iter().map(|(n, s)| (named(n), s)).collect();
            Error::Invalid(faults)
        }
        other => other,
    }
}

//! Errors for programs: RFC 9457 problem details.

use std::collections::BTreeMap;

use actix_web::http::StatusCode;
use serde::Serialize;
use utoipa::openapi::response::{Response, ResponseBuilder};
use utoipa::openapi::{Content, ContentBuilder, Ref, RefOr};
use utoipa::{IntoResponses, ToSchema};

use crate::error::{Error, Faults};

/// RFC 9457 problem details.
#[derive(Debug, Serialize, ToSchema)]
pub struct Problem {
    /// A stable address for this kind of problem, relative to the server.
    #[serde(rename = "type")]
    pub kind: String,
    /// The kind in a few words.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What is wrong this time and what to do.
    pub detail: String,
    /// A stable word for the rule that said no, where one did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    /// A sentence for each field that is wrong.
    #[serde(skip_serializing_if = "Faults::is_empty")]
    pub fields: Faults,
}

/// The status, the stable word and the title of an error.
#[must_use]
pub(super) fn kind_of(error: &Error) -> (StatusCode, &'static str, &'static str) {
    match error {
        Error::SignIn => (StatusCode::UNAUTHORIZED, "sign-in", "Sign in first"),
        Error::Forbidden(_) => (StatusCode::FORBIDDEN, "forbidden", "Not open to you"),
        Error::NotFound => (StatusCode::NOT_FOUND, "not-found", "Nothing here"),
        Error::Refused { code: "rule", .. } => {
            (StatusCode::UNPROCESSABLE_ENTITY, "rule", "A studio rule says no")
        }
        Error::Refused { code, .. } => (StatusCode::CONFLICT, code, "That cannot be done now"),
        Error::Unreadable(_) => (StatusCode::BAD_REQUEST, "unreadable", "Not readable"),
        Error::Invalid(_) => {
            (StatusCode::UNPROCESSABLE_ENTITY, "invalid", "Some of it needs another look")
        }
        Error::TooLarge => (StatusCode::PAYLOAD_TOO_LARGE, "too-large", "Too large"),
        Error::WrongKind(_) => {
            (StatusCode::UNSUPPORTED_MEDIA_TYPE, "wrong-kind", "Another kind of body is wanted")
        }
        Error::Method(_) => {
            (StatusCode::METHOD_NOT_ALLOWED, "method", "This address does not do that")
        }
        Error::Slow(_) => (StatusCode::TOO_MANY_REQUESTS, "slow-down", "Too many tries"),
        Error::Busy => (StatusCode::SERVICE_UNAVAILABLE, "busy", "Busy just now"),
        Error::Broken(_) => {
            (StatusCode::INTERNAL_SERVER_ERROR, "broken", "Something broke on our side")
        }
    }
}

impl Problem {
    /// The problem an error is; `number` is the short number under which it was logged.
    #[must_use]
    pub fn of(error: &Error, number: Option<&str>) -> Problem {
        let (status, word, title) = kind_of(error);
        let (code, fields) = match error {
            Error::Refused { code, .. } => (Some((*code).to_owned()), Faults::new()),
            Error::Invalid(f) => (None, f.clone()),
            _ => (None, Faults::new()),
        };
        let detail = match number {
            Some(n) => format!("{error} The log knows it as {n}."),
            None => error.to_string(),
        };
        Problem {
            kind: format!("/problems/{word}"),
            title: title.to_owned(),
            status: status.as_u16(),
            detail,
            code,
            fields,
        }
    }
}

/// The problems any door of the API may answer with, for its description.
#[derive(Debug)]
pub struct Problems;

/// Statuses with their meaning, in the words of the description.
const MEANINGS: [(&str, &str); 10] = [
    ("400", "The request cannot be read"),
    ("401", "A token is needed"),
    ("403", "Not open to the token's owner"),
    ("404", "Nothing here under that address, or not the owner's"),
    ("409", "The present state does not allow it; `code` says why"),
    ("413", "Too large"),
    ("415", "Another kind of body is wanted"),
    ("422", "Some fields are wrong, or a studio rule says no"),
    ("429", "Too many tries; wait `Retry-After` seconds"),
    ("503", "Busy; try again after `Retry-After` seconds"),
];

impl IntoResponses for Problems {
    fn responses() -> BTreeMap<String, RefOr<Response>> {
        let body = || -> Content {
            ContentBuilder::new().schema(Some(Ref::from_schema_name("Problem"))).build()
        };
        MEANINGS
            .iter()
            .map(|(status, meaning)| {
                let response = ResponseBuilder::new()
                    .description(*meaning)
                    .content("application/problem+json", body())
                    .build();
                ((*status).to_owned(), RefOr::T(response))
            })
            .collect()
    }
}

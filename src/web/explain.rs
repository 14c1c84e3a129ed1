//! The one place where an error becomes a page for people or a problem for programs.

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::{StatusCode, header};
use actix_web::middleware::Next;
use actix_web::{HttpRequest, HttpResponse, ResponseError, web};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;

use super::page::Frame;
use super::problem::{Problem, kind_of};
use crate::app::App;
use crate::error::Error;

impl ResponseError for Error {
    fn status_code(&self) -> StatusCode {
        kind_of(self).0
    }

    fn error_response(&self) -> HttpResponse {
        HttpResponse::build(self.status_code()).body(self.to_string())
    }
}

#[derive(Serialize)]
struct ErrorPage {
    status: u16,
    headline: &'static str,
    sentence: String,
    remedy: &'static str,
    number: Option<String>,
    back: Back,
}

#[derive(Serialize)]
struct Back {
    href: &'static str,
    text: &'static str,
}

/// Turns every error of the inner services into an answer that its reader understands. They hand
/// errors on inside a response: the request is needed to explain them.
///
/// # Errors
/// None of its own.
pub async fn explain(
    req: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, actix_web::Error> {
    let res = next.call(req).await?;
    let Some(error) = res.response().error() else { return Ok(res.map_into_boxed_body()) };
    let answer = answer(res.request(), &known(error));
    Ok(res.into_response(answer))
}

/// Our own error inside actix's, or the nearest of ours to one of actix's.
fn known(error: &actix_web::Error) -> Error {
    if let Some(own) = error.as_error::<Error>() {
        return own.clone();
    }
    match error.as_response_error().status_code() {
        StatusCode::NOT_FOUND => Error::NotFound,
        StatusCode::PAYLOAD_TOO_LARGE => Error::TooLarge,
        s if s.is_client_error() => Error::Unreadable(format!("{error}.")),
        _ => Error::broken("request", error),
    }
}

fn answer(req: &HttpRequest, error: &Error) -> HttpResponse {
    let number = match error {
        Error::Broken(cause) => {
            let number = format!("{:06x}", rand::random::<u32>() >> 8);
            let route = req.match_pattern().unwrap_or_default();
            tracing::error!(number, route, cause, "a request broke");
            Some(number)
        }
        _ => None,
    };
    let for_programs = req.path().starts_with("/api/");
    if matches!(error, Error::SignIn) && !for_programs && req.method().is_safe() {
        let target = req.uri().path_and_query().map_or("/", |p| p.as_str());
        let target = utf8_percent_encode(target, NON_ALPHANUMERIC);
        return HttpResponse::SeeOther()
            .insert_header((header::LOCATION, format!("/sign-in?next={target}")))
            .finish();
    }
    let mut res = HttpResponse::build(error.status_code());
    match error {
        Error::Slow(seconds) => res.insert_header((header::RETRY_AFTER, seconds.to_string())),
        Error::Busy => res.insert_header((header::RETRY_AFTER, "2")),
        Error::Method(allowed) => res.insert_header((header::ALLOW, allowed.clone())),
        Error::SignIn => res.insert_header((header::WWW_AUTHENTICATE, "Bearer")),
        _ => &mut res,
    };
    if for_programs {
        let body = serde_json::to_string(&Problem::of(error, number.as_deref()));
        return res.content_type("application/problem+json").body(body.unwrap_or_default());
    }
    match page(req, error, number) {
        Ok(html) => res.content_type("text/html; charset=utf-8").body(html),
        Err(_) => res.content_type("text/plain; charset=utf-8").body(error.to_string()),
    }
}

fn page(req: &HttpRequest, error: &Error, number: Option<String>) -> Result<String, Error> {
    let app = req.app_data::<web::Data<App>>().ok_or(Error::NotFound)?;
    let (status, _, headline) = kind_of(error);
    let (href, text) = match error {
        Error::SignIn => ("/sign-in", "Sign in"),
        _ => ("/", "To the front page"),
    };
    let page = ErrorPage {
        status: status.as_u16(),
        headline,
        sentence: error.to_string(),
        remedy: remedy(error),
        number,
        back: Back { href, text },
    };
    app.pages.fill(
        "errors/plain.html",
        &Frame::of(app, req, headline),
        tera::Value::try_from_serializable(&page)?,
    )
}

fn remedy(error: &Error) -> &'static str {
    match error {
        Error::Busy => "Nothing was changed. Wait a few seconds and send it again.",
        Error::Broken(_) => {
            "Nothing was changed. Please tell a lead, with the number below, what you were doing."
        }
        Error::Invalid(_) | Error::Refused { .. } | Error::Unreadable(_) => {
            "Nothing was changed. Go back, mend it and send it again."
        }
        Error::NotFound => "Check the address, or look for it from the front page.",
        Error::Slow(_) => "This pause protects everybody's account from guessing.",
        Error::TooLarge => "Send less at once.",
        _ => "",
    }
}

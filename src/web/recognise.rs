//! Who is asking: the session cookie for pages, the bearer token for the API.

use std::future::{Ready, ready};

use actix_web::body::{BoxBody, MessageBody};
use actix_web::cookie::{Cookie, SameSite, time::Duration};
use actix_web::dev::{Payload, ServiceRequest, ServiceResponse};
use actix_web::http::header;
use actix_web::middleware::Next;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};

use crate::app::App;
use crate::error::Error;
use crate::sessions::{self, Person, Proof, Role};

/// Puts the person, if any, where the doors look for them.
///
/// # Errors
/// When the database is away; the pages that need nobody still answer.
pub async fn recognise(
    req: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, actix_web::Error> {
    if let Some(found) = found(&req).await {
        match found {
            Ok((person, proof)) => {
                req.extensions_mut().insert(person);
                req.extensions_mut().insert(proof);
            }
            Err(e) => return Ok(req.error_response(e)),
        }
    }
    Ok(next.call(req).await?.map_into_boxed_body())
}

async fn found(req: &ServiceRequest) -> Option<Result<(Person, Proof), Error>> {
    let app = req.app_data::<web::Data<App>>()?.clone();
    let now = app.clock.now();
    let is_api = req.path().starts_with("/api/");
    let token =
        if is_api { bearer(req)? } else { req.cookie(app.cookie_name())?.value().to_owned() };
    if token.len() > 100 || asks_nobody(req.path()) {
        return None;
    }
    let seen = if is_api {
        app.db.glance(move |conn| sessions::of_token(conn, now, &token)).await
    } else {
        app.browsers.of_cookie(&app.db, now, &token).await
    };
    match seen {
        Err(e) => Some(Err(e)),
        Ok(None) => None,
        Ok(Some((person, proof))) => {
            if proof.is_stale {
                let via = person.via;
                // Losing this mark only makes the list of sessions a little stale.
                let _ = app.db.write(move |tx| sessions::mark_seen(tx, now, via)).await;
            }
            Some(Ok((person, proof)))
        }
    }
}

/// The pulse's count as whoever asks was recognised.
#[must_use]
pub fn beat(req: &HttpRequest) -> Option<i64> {
    req.extensions().get::<Proof>().map(|proof| proof.beat)
}

/// Paths that answer without the database, whoever asks.
fn asks_nobody(path: &str) -> bool {
    path.starts_with("/static/") || matches!(path, "/healthz" | "/readyz" | "/metrics")
}

fn bearer(req: &ServiceRequest) -> Option<String> {
    let value = req.headers().get(header::AUTHORIZATION)?.to_str().ok()?;
    let (scheme, token) = value.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim().to_owned())
}

/// The cookie that carries a new session's token.
#[must_use]
pub fn session_cookie(app: &App, token: String) -> Cookie<'static> {
    Cookie::build(app.cookie_name(), token)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.config.is_https())
        .max_age(Duration::seconds(sessions::LONGEST_S))
        .finish()
}

/// The cookie that takes the session away again.
#[must_use]
pub fn sign_out_cookie(app: &App) -> Cookie<'static> {
    let mut cookie = session_cookie(app, String::new());
    cookie.make_removal();
    cookie
}

macro_rules! hand {
    ($(#[$doc:meta])* $name:ident, $least:expr) => {
        $(#[$doc])*
        #[derive(Clone, Debug)]
        pub struct $name(pub Person);

        impl FromRequest for $name {
            type Error = Error;
            type Future = Ready<Result<$name, Error>>;

            fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
                ready(match req.extensions().get::<Person>() {
                    None => Err(Error::SignIn),
                    Some(p) if p.role >= $least => Ok($name(p.clone())),
                    Some(_) => Err(Error::Forbidden("This is not open to you.".to_owned())),
                })
            }
        }

        impl std::ops::Deref for $name {
            type Target = Person;
            fn deref(&self) -> &Person {
                &self.0
            }
        }
    };
}

hand!(
    /// Proof that somebody is signed in.
    Newcomer, Role::Newcomer
);
hand!(
    /// Proof that a member or a lead is signed in.
    Member, Role::Member
);
hand!(
    /// Proof that a lead is signed in.
    Lead, Role::Lead
);

/// Somebody or nobody.
#[derive(Clone, Debug)]
pub struct Visitor(pub Option<Person>);

impl FromRequest for Visitor {
    type Error = Error;
    type Future = Ready<Result<Visitor, Error>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(Ok(Visitor(req.extensions().get::<Person>().cloned())))
    }
}

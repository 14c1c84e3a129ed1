//! Extractors for what a request carries: a filled-in form, a query, a JSON body.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, web};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::fields::{Fields, unfit};
use super::form::Form;
use crate::app::App;
use crate::db::{Once, Tx};
use crate::error::Error;
use crate::sessions::Person;

/// The largest body an ordinary door takes, in bytes.
const LARGEST: usize = 256 * 1024;

type Later<T> = Pin<Box<dyn Future<Output = Result<T, Error>>>>;

/// A form as it was sent.
#[derive(Clone, Debug)]
pub struct Filled {
    /// Its fields.
    pub fields: Fields,
    body: Vec<u8>,
    door: String,
}

impl Filled {
    /// The key against double sending, as the form carried it.
    ///
    /// # Errors
    /// When the key is overlong.
    pub fn once(&self, app: &App, person: Option<&Person>) -> Result<Option<Once>, Error> {
        let key = self.fields.raw("once_key");
        if key.is_empty() {
            return Ok(None);
        }
        let whose = person.map_or(0, |p| p.id);
        Once::new(format!("form {whose} {}", self.door), key, &self.body, app.clock.now()).map(Some)
    }

    /// Does what was read from this form, in one transaction and once, however often it is sent.
    ///
    /// # Errors
    /// What reading said of the fields, or what the change says.
    pub async fn keep<W, T>(
        &self,
        app: &App,
        person: &Person,
        read: Result<W, Error>,
        change: impl Fn(&mut Tx<'_>, &W) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error>
    where
        W: Send + 'static,
        T: Serialize + DeserializeOwned + Send + 'static,
    {
        let wish = read?;
        let once = self.once(app, Some(person))?;
        app.db.write_once(once, move |tx| change(tx, &wish)).await
    }

    /// The version of the thing that the form was made from.
    #[must_use]
    pub fn version(&self) -> i64 {
        self.fields.raw("version").parse().unwrap_or(0)
    }

    /// The form to be shown again with what was typed and what was wrong.
    ///
    /// # Errors
    /// Any error that is not about what was typed is handed on.
    pub fn again(&self, error: Error) -> Result<Form, Error> {
        Form::again(&self.door, self.fields.values(), self.fields.raw("version"), error)
    }
}

impl FromRequest for Filled {
    type Error = Error;
    type Future = Later<Filled>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let (kind, door) = (content_kind(req), req.path().to_owned());
        let body = take(req, payload);
        Box::pin(async move {
            if kind != "application/x-www-form-urlencoded" {
                return Err(Error::WrongKind("a form (application/x-www-form-urlencoded)"));
            }
            let body = body.await?;
            Ok(Filled { fields: Fields::parse(&body)?, body, door })
        })
    }
}

/// What stands after the question mark.
#[derive(Clone, Debug)]
pub struct Asked(pub Fields);

impl FromRequest for Asked {
    type Error = Error;
    type Future = std::future::Ready<Result<Asked, Error>>;

    fn from_request(req: &HttpRequest, _: &mut Payload) -> Self::Future {
        std::future::ready(Fields::parse(req.query_string().as_bytes()).map(Asked))
    }
}

/// A JSON body of a known shape.
#[derive(Clone, Debug)]
pub struct Body<T> {
    /// What it says.
    pub value: T,
    once: Option<(String, String)>,
    raw: Vec<u8>,
}

impl<T> Body<T> {
    /// The caller's `Idempotency-Key`, if one was sent.
    ///
    /// # Errors
    /// When the key is empty or overlong.
    pub fn once(&self, app: &App, person: &Person) -> Result<Option<Once>, Error> {
        let Some((door, key)) = &self.once else { return Ok(None) };
        Once::new(format!("api {} {door}", person.id), key, &self.raw, app.clock.now()).map(Some)
    }
}

impl<T: DeserializeOwned + 'static> FromRequest for Body<T> {
    type Error = Error;
    type Future = Later<Body<T>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = content_kind(req);
        let once = once_header(req);
        let body = take(req, payload);
        Box::pin(async move {
            if kind != "application/json" {
                return Err(Error::WrongKind("JSON (application/json)"));
            }
            let raw = body.await?;
            let value = read_json(&raw)?;
            Ok(Body { value, once: once?, raw })
        })
    }
}

/// The caller's key and the door it was used at.
fn once_header(req: &HttpRequest) -> Result<Option<(String, String)>, Error> {
    let Some(value) = req.headers().get("idempotency-key") else { return Ok(None) };
    let key = value.to_str().ok().filter(|k| !k.trim().is_empty()).ok_or_else(|| {
        Error::field("Idempotency-Key", "Write 1 to 100 plain characters as the key.")
    })?;
    Ok(Some((format!("{} {}", req.method(), req.path()), key.to_owned())))
}

/// Reads JSON into its shape; faults are named by their path.
///
/// # Errors
/// [`Error::Unreadable`] for broken text, [`Error::Invalid`] for a wrong shape.
pub fn read_json<T: DeserializeOwned>(raw: &[u8]) -> Result<T, Error> {
    let text = std::str::from_utf8(raw)
        .map_err(|e| Error::Unreadable(format!("The body is not UTF-8: {e}.")))?;
    let value: serde_json::Value = serde_json::from_str(text)
        .map_err(|e| Error::Unreadable(format!("The body is not JSON: {e}.")))?;
    if let Some((path, fault)) = unfit_in(&value, String::new()) {
        return Err(Error::field(&path, fault));
    }
    serde_path_to_error::deserialize(value).map_err(|e| {
        let path = e.path().to_string();
        let path = if path == "." { "body".to_owned() } else { path };
        Error::field(&path, format!("{}.", e.inner()))
    })
}

fn unfit_in(value: &serde_json::Value, path: String) -> Option<(String, &'static str)> {
    match value {
        serde_json::Value::String(s) => unfit(s).map(|f| (path, f)),
        serde_json::Value::Array(items) => {
            items.iter().enumerate().find_map(|(i, v)| unfit_in(v, format!("{path}[{i}]")))
        }
        serde_json::Value::Object(map) => map.iter().find_map(|(k, v)| {
            let path = if path.is_empty() { k.clone() } else { format!("{path}.{k}") };
            unfit(k).map(|f| ("body".to_owned(), f)).or_else(|| unfit_in(v, path))
        }),
        _ => None,
    }
}

fn content_kind(req: &HttpRequest) -> String {
    let kind = req.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or("");
    kind.split(';').next().unwrap_or("").trim().to_ascii_lowercase()
}

fn take(req: &HttpRequest, payload: &mut Payload) -> Later<Vec<u8>> {
    let declared = req
        .headers()
        .get(header::CONTENT_LENGTH)
        .and_then(|v| v.to_str().ok())
        .and_then(|v| v.parse::<u64>().ok());
    let mut payload = web::Payload::from_request(req, payload);
    Box::pin(async move {
        use futures_util::StreamExt;
        if declared.is_some_and(|n| n > u64::try_from(LARGEST).unwrap_or(u64::MAX)) {
            return Err(Error::TooLarge);
        }
        let mut stream =
            (&mut payload).await.map_err(|e| Error::Unreadable(format!("Body: {e}.")))?;
        let mut body = Vec::new();
        while let Some(piece) = stream.next().await {
            let piece = piece.map_err(|e| Error::Unreadable(format!("Body: {e}.")))?;
            if body.len() + piece.len() > LARGEST {
                return Err(Error::TooLarge);
            }
            body.extend_from_slice(&piece);
        }
        Ok(body)
    })
}

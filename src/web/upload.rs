//! A file sent with a form (RFC 7578), or as the body itself.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest, web};

use super::fields::Fields;
use crate::app::App;
use crate::db::Once;
use crate::error::Error;
use crate::sessions::Person;

/// The largest file a door takes, in bytes.
const LARGEST: usize = 4 * 1024 * 1024;
/// The most parts a form may have.
const MOST_PARTS: usize = 50;

/// A form with a file, or a file alone.
#[derive(Clone, Debug)]
pub struct Upload {
    /// The form's fields; none where the file came alone.
    pub fields: Fields,
    /// The file.
    pub file: Vec<u8>,
    door: String,
}

impl Upload {
    /// The key against double sending, as the form carried it.
    ///
    /// # Errors
    /// When the key is overlong.
    pub fn once(&self, app: &App, person: &Person) -> Result<Option<Once>, Error> {
        let key = self.fields.raw("once_key");
        if key.is_empty() {
            return Ok(None);
        }
        let scope = format!("form {} {}", person.id, self.door);
        Once::new(scope, key, &self.file, app.clock.now()).map(Some)
    }

    /// The file as text.
    ///
    /// # Errors
    /// A sentence that names the row with the first sign that is not UTF-8.
    pub fn text(&self) -> Result<String, String> {
        String::from_utf8(self.file.clone()).map_err(|e| {
            let good = self.file.get(..e.utf8_error().valid_up_to()).unwrap_or_default();
            let row = good.iter().filter(|b| **b == b'\n').count() + 1;
            format!("Row {row} is not readable text. Save the file as UTF-8 and send it again.")
        })
    }
}

impl FromRequest for Upload {
    type Error = Error;
    type Future = Pin<Box<dyn Future<Output = Result<Upload, Error>>>>;

    fn from_request(req: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = req.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok());
        let (kind, door) = (kind.unwrap_or_default().to_owned(), req.path().to_owned());
        let payload = web::Payload::from_request(req, payload);
        Box::pin(async move {
            let lower = kind.to_ascii_lowercase();
            let plain = lower.starts_with("text/csv");
            if !plain && !lower.starts_with("multipart/form-data") {
                return Err(Error::WrongKind("a form with a file, or a table (text/csv)"));
            }
            let body = take(payload.await).await?;
            if plain {
                return Ok(Upload { fields: Fields::default(), file: body, door });
            }
            let boundary = boundary(&kind).ok_or_else(|| unreadable("it names no boundary"))?;
            let (fields, file) = parts(&body, &boundary)?;
            Ok(Upload { fields, file, door })
        })
    }
}

fn unreadable(why: &str) -> Error {
    Error::Unreadable(format!("The form with the file cannot be read: {why}."))
}

async fn take(payload: Result<web::Payload, actix_web::Error>) -> Result<Vec<u8>, Error> {
    use futures_util::StreamExt;
    let mut stream = payload.map_err(|e| Error::Unreadable(format!("Body: {e}.")))?;
    let mut body = Vec::new();
    while let Some(piece) = stream.next().await {
        let piece = piece.map_err(|e| Error::Unreadable(format!("Body: {e}.")))?;
        if body.len() + piece.len() > LARGEST {
            return Err(Error::TooLarge);
        }
        body.extend_from_slice(&piece);
    }
    Ok(body)
}

/// The boundary between the parts, as the header names it.
fn boundary(kind: &str) -> Option<String> {
    let named = kind.split(';').find_map(|p| {
        let (name, value) = p.trim().split_once('=')?;
        name.trim().eq_ignore_ascii_case("boundary").then(|| value.trim().trim_matches('"'))
    })?;
    (1..=70).contains(&named.len()).then(|| named.to_owned())
}

fn find(text: &[u8], what: &[u8]) -> Option<usize> {
    text.windows(what.len()).position(|w| w == what)
}

/// The fields and the file of a form.
fn parts(body: &[u8], boundary: &str) -> Result<(Fields, Vec<u8>), Error> {
    let mark = format!("--{boundary}");
    let between = format!("\r\n{mark}");
    let mut rest = body.strip_prefix(mark.as_bytes()).ok_or_else(|| unreadable("no first part"))?;
    let (mut pairs, mut file) = (Vec::new(), Vec::new());
    for _ in 0..MOST_PARTS {
        if rest.starts_with(b"--") {
            let form =
                serde_urlencoded::to_string(&pairs).map_err(|e| unreadable(&e.to_string()))?;
            return Ok((Fields::parse(form.as_bytes())?, file));
        }
        let part = rest.strip_prefix(b"\r\n").ok_or_else(|| unreadable("a part is cut off"))?;
        let end = find(part, between.as_bytes()).ok_or_else(|| unreadable("a part has no end"))?;
        let (whole, after) = part.split_at(end);
        let head_end = find(whole, b"\r\n\r\n").ok_or_else(|| unreadable("a part has no head"))?;
        let (head, value) = whole.split_at(head_end);
        let value = value.get(4..).unwrap_or_default();
        let head = String::from_utf8_lossy(head);
        if setting(&head, "filename").is_some() {
            file = value.to_vec();
        } else if let Some(name) = setting(&head, "name") {
            let value = String::from_utf8(value.to_vec())
                .map_err(|e| unreadable(&format!("a field is not UTF-8: {e}")))?;
            pairs.push((name, value));
        }
        rest = after.get(between.len()..).unwrap_or_default();
    }
    Err(Error::TooLarge)
}

/// A setting of a part's `Content-Disposition`, such as `name="file"`.
fn setting(head: &str, wanted: &str) -> Option<String> {
    let line = head.lines().find(|l| {
        l.get(..20).is_some_and(|start| start.eq_ignore_ascii_case("content-disposition:"))
    })?;
    line.split(';').find_map(|p| {
        let (name, value) = p.trim().split_once('=')?;
        (name == wanted).then(|| value.trim_matches('"').to_owned())
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const BODY: &str = "--x\r\nContent-Disposition: form-data; name=\"once_key\"\r\n\r\nk1\r\n\
        --x\r\ncontent-disposition: form-data; name=\"file\"; filename=\"a.csv\"\r\n\
        Content-Type: text/csv\r\n\r\nfilm,ei\r\nGannet,400\r\n\r\n--x--\r\n";

    #[test]
    fn a_form_gives_its_fields_and_its_file_to_the_byte() {
        let kind = "multipart/form-data; boundary=\"x\"";
        let (fields, file) = parts(BODY.as_bytes(), &boundary(kind).unwrap()).unwrap();
        assert_eq!(fields.raw("once_key"), "k1");
        assert_eq!(file, b"film,ei\r\nGannet,400\r\n");
        assert_eq!(boundary("multipart/form-data"), None);
        assert!(parts(&BODY.as_bytes()[..60], "x").is_err());
    }

    proptest! {
        #[test]
        fn nothing_sent_makes_it_panic(
            body in proptest::collection::vec(any::<u8>(), 0..300), cut in 0_usize..250,
        ) {
            let _ = parts(&body, "x");
            let mut bytes = BODY.as_bytes().to_vec();
            bytes.truncate(cut);
            bytes.extend(&body);
            let _ = parts(&bytes, "x");
        }
    }
}

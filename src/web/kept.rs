//! Pages kept ready for a moment: the text of a page, under everything it was made from.

use std::collections::{HashMap, VecDeque};

use actix_web::web::Bytes;
use actix_web::{HttpMessage, HttpRequest, HttpResponse};
use parking_lot::Mutex;

use super::page::{FLASH, Frame, LOOK, show};
use crate::app::App;
use crate::error::Error;
use crate::sessions::Person;

/// The most text that is kept, in octets.
const MOST: usize = 6 * 1024 * 1024;

#[derive(Debug, Default)]
struct Shelf {
    texts: HashMap<String, Bytes>,
    order: VecDeque<String>,
    octets: usize,
}

/// Pages that were just made. What a page was made from is its key, so that none is ever stale:
/// it is looked up under the present state, or not found.
#[derive(Debug, Default)]
pub struct KeptPages(Mutex<Shelf>);

impl KeptPages {
    /// The page that was made from all this, if it is still here.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<Bytes> {
        self.0.lock().texts.get(key).cloned()
    }

    /// Keeps a page; the oldest make room for it.
    pub fn keep(&self, key: String, text: Bytes) {
        if text.len() > MOST / 8 {
            return;
        }
        let mut shelf = self.0.lock();
        if let Some(before) = shelf.texts.remove(&key) {
            shelf.octets -= before.len();
            shelf.order.retain(|k| *k != key);
        }
        while shelf.octets + text.len() > MOST {
            let Some(oldest) = shelf.order.pop_front() else { break };
            if let Some(gone) = shelf.texts.remove(&oldest) {
                shelf.octets -= gone.len();
            }
        }
        shelf.octets += text.len();
        shelf.order.push_back(key.clone());
        shelf.texts.insert(key, text);
    }
}

/// What the page of this request is made from: what `of` says of its content, its reader and how
/// they like things written, the look, the address, the studio's version, the minute. Nothing where
/// a word from the page before is to be shown, which is for once.
#[must_use]
pub fn page_key(app: &App, req: &HttpRequest, of: &str) -> Option<String> {
    if req.cookie(FLASH).is_some() {
        return None;
    }
    let person = req.extensions().get::<Person>().cloned();
    let reader = person.map(|p| (p.id, p.name, p.role, p.paused, p.taste));
    let look = req.cookie(LOOK).map(|c| c.value().to_owned());
    let (studio, minute) = (app.studio().version, app.clock.now().0.div_euclid(60));
    let address = req.uri().path_and_query().map_or("", |p| p.as_str());
    Some(format!("{of} {minute} {address} {look:?} {reader:?} {studio}"))
}

/// The page that was made under this key, if it is still here.
#[must_use]
pub fn show_kept(app: &App, key: Option<&str>) -> Option<HttpResponse> {
    let text = app.kept.get(key?)?;
    Some(HttpResponse::Ok().content_type("text/html; charset=utf-8").body(text))
}

/// Answers with a page, and keeps it under its key.
///
/// # Errors
/// When the template cannot be filled.
pub fn show_and_keep(
    app: &App,
    req: &HttpRequest,
    (title, template): (&str, &str),
    key: Option<String>,
    page: tera::Value,
) -> Result<HttpResponse, Error> {
    let Some(key) = key else { return show(app, req, title, template, &page) };
    let text = app.pages.fill(template, &Frame::of(app, req, title), page)?;
    // Without the room in which it grew, which would be kept with it.
    let text = Bytes::from(text.into_boxed_str().into_boxed_bytes());
    app.kept.keep(key, text.clone());
    Ok(HttpResponse::Ok().content_type("text/html; charset=utf-8").body(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_make_room_and_a_page_kept_twice_counts_once() {
        let kept = KeptPages::default();
        let page = || Bytes::from(vec![b'x'; MOST / 8]);
        for n in 0..20 {
            kept.keep(format!("page {n}"), page());
            kept.keep(format!("page {n}"), page());
        }
        assert_eq!(kept.get("page 11"), None);
        assert!((12..20).all(|n| kept.get(&format!("page {n}")).is_some()));
        kept.keep("too large".to_owned(), Bytes::from(vec![b'x'; MOST / 8 + 1]));
        assert_eq!(kept.get("too large"), None);
    }
}

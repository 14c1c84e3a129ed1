//! Server-sent events: a small stream of our own that says at which count a day stands.

use std::time::{Duration, Instant};

use actix_web::http::header::{self, ContentEncoding};
use actix_web::{HttpResponse, web};
use chrono::Days;
use futures_util::stream;

use super::watch::Place;
use crate::app::App;
use crate::clock::Span;
use crate::error::Error;
use crate::web::{Asked, Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/live/board", Who::Newcomer, board);
}

/// How often a stream looks whether there is something to say.
const STEP: Duration = Duration::from_millis(250);
/// A stream that has said nothing for so many steps says that it is still there.
const QUIET: u32 = 60;
/// A stream ends after this; the browser comes back, and is asked again who it is.
const LONGEST: Duration = Duration::from_secs(600);

struct Listener {
    app: web::Data<App>,
    span: Span,
    told: Option<i64>,
    quiet: u32,
    ends: Instant,
    _place: Place,
}

impl Listener {
    /// The next piece of the stream; nothing when it ends.
    async fn next(&mut self) -> Option<String> {
        loop {
            if self.app.watch.is_closing() || Instant::now() > self.ends {
                return None;
            }
            // While the database is away the last count stands.
            let count = match self.app.watch.latest(&self.app.db, self.span).await {
                Ok(count) => self.told.unwrap_or(0).max(count),
                Err(_) => self.told.unwrap_or(0),
            };
            if self.told != Some(count) {
                self.told = Some(count);
                self.quiet = 0;
                return Some(format!("event: revision\nid: {count}\ndata: {count}\n\n"));
            }
            self.quiet += 1;
            if self.quiet >= QUIET {
                self.quiet = 0;
                return Some(": still here\n\n".to_owned());
            }
            actix_web::rt::time::sleep(STEP).await;
        }
    }
}

/// Answers with the stream of one stretch of days, until the server stops or the reader goes.
///
/// # Errors
/// [`Error::Busy`] when too many watch already.
pub async fn stream(app: web::Data<App>, span: Span) -> Result<HttpResponse, Error> {
    let place = app.watch.enter()?;
    // First what the watch knows, then the present count: so no change falls between.
    app.watch.latest(&app.db, span).await?;
    let now = app.db.read(move |conn| super::revision(conn, span)).await?;
    let ends = Instant::now() + LONGEST;
    let first = format!("retry: 2000\nevent: revision\nid: {now}\ndata: {now}\n\n");
    let told = Some(now);
    let listener = Listener { app, span, told, quiet: 0, ends, _place: place };
    let pieces = stream::unfold((Some(first), listener), |(first, mut listener)| async move {
        let piece = match first {
            Some(piece) => piece,
            None => listener.next().await?,
        };
        Some((Ok::<_, Error>(web::Bytes::from(piece)), (None, listener)))
    });
    Ok(HttpResponse::Ok()
        .content_type("text/event-stream")
        .insert_header((header::CACHE_CONTROL, "no-store"))
        // Proxies must hand each piece on at once, and compression would hold it back.
        .insert_header(("x-accel-buffering", "no"))
        .insert_header(ContentEncoding::Identity)
        .streaming(Box::pin(pieces)))
}

async fn board(app: web::Data<App>, Asked(mut asked): Asked) -> Result<HttpResponse, Error> {
    let date = asked.date("date", "a day");
    let days = if asked.raw("days").is_empty() {
        Some(1)
    } else {
        asked.number("days", "a number of days", 1..=31)
    };
    let (Some(date), Some(days)) = (date, days) else { return Err(asked.faults()) };
    let zone = app.zone();
    let last = u64::try_from(days - 1).ok().and_then(|d| date.checked_add_days(Days::new(d)));
    let span = Span { from: zone.day(date).from, to: zone.day(last.unwrap_or(date)).to };
    stream(app, span).await
}

//! Booking, looking at a booking, changing it, giving it back.

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveTime;
use serde::Serialize;

use super::form::{self, Asked as Offering, Offer, read_wish};
use crate::app::App;
use crate::bookings::{self, Booking, Wish};
use crate::error::Error;
use crate::sessions::Person;
use crate::sinks;
use crate::web::{Asked, Fields, Filled, Flash, Form, Newcomer, go, show_form};

#[derive(Serialize)]
struct BookPage {
    form: Form,
    offer: Offer,
    booking: Option<Standing>,
}

/// A booking that is being changed.
#[derive(Serialize)]
struct Standing {
    what: String,
    whose: String,
    cancel: Form,
    board: String,
}

async fn page(
    app: &App,
    req: &HttpRequest,
    (form, asked): (Form, Offering),
    booking: Option<Standing>,
) -> Result<HttpResponse, Error> {
    let at = app.place();
    let offer = app.db.read(move |conn| form::offer(conn, &at, &asked)).await?;
    let title = if booking.is_some() { "A booking" } else { "Book a sink" };
    let page = BookPage { form, offer, booking };
    show_form(app, req, (title, "bookings/form.html"), &page.form, &page)
}

/// What the board or another page says beforehand, put into the form.
fn beforehand(mut form: Form, f: &Fields) -> Form {
    for (name, value) in f.values() {
        if !["tanks", "stations", "once_key", "version"].contains(&name.as_str()) {
            form = form.with(&name, value);
        }
    }
    form
}

pub(super) async fn new(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    Asked(fields): Asked,
) -> Result<HttpResponse, Error> {
    let mut form = beforehand(Form::new("/bookings"), &fields);
    let mut asked = Offering::of(&fields, &person, app.words(Some(&person)), app.zone());
    if fields.raw("to").is_empty()
        && let Ok(from) = NaiveTime::parse_from_str(fields.raw("from"), "%H:%M")
    {
        let to = from.overflowing_add_signed(chrono::Duration::hours(1)).0;
        form = form.with("to", to.format("%H:%M"));
        let times = asked.date.map(|d| (d, (from, to)));
        let span = times.and_then(|(d, t)| {
            bookings::rules::span(app.zone(), d, t, (Some(false), Some(false))).ok()
        });
        asked.span = span;
    }
    page(&app, &req, (form, asked), None).await
}

pub(super) async fn book(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (at, who) = (app.place(), person.0.clone());
    let mut asked = Offering::of(&filled.fields, &person, app.words(Some(&person)), at.zone);
    let zone = at.zone;
    let done = match read_wish(&mut filled.fields, zone) {
        Ok(wish) => {
            asked.refused = Some(wish.clone());
            let once = filled.once(&app, Some(&person))?;
            let date = wish.span.map(|s| zone.date(s.from));
            let booked = app.db.write_once(once, move |tx| bookings::book(tx, &at, &who, &wish));
            booked.await.map(|_| date)
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(date) => {
            let date = date.map(|d| format!("?date={d}")).unwrap_or_default();
            Ok(go(&format!("/board{date}"), Some(Flash::good("The sink is yours."))))
        }
        Err(e) => {
            asked.refused = asked.refused.filter(|_| matches!(e, Error::Refused { .. }));
            page(&app, &req, (filled.again(e)?, asked), None).await
        }
    }
}

/// A booking in words, with the form that gives it back.
fn standing(app: &App, person: &Person, booking: &Booking, sink: &str) -> Standing {
    let words = app.words(Some(person));
    let own = booking.member_id == person.id;
    Standing {
        what: format!("{sink}, {}", words.span(booking.span.from, booking.span.to)),
        whose: if own { String::new() } else { booking.member_name.clone() },
        cancel: Form::new(&format!("/bookings/{}/cancel", booking.id)),
        board: format!("/board?date={}", app.zone().date(booking.span.from)),
    }
}

/// The booking, what it has with it, and the name of its sink.
async fn find(app: &App, person: &Person, id: i64) -> Result<(Booking, Wish, String), Error> {
    let who = person.clone();
    app.db
        .read(move |conn| {
            let booking = bookings::own(conn, &who, id)?;
            let all = sinks::inventory(conn)?;
            let wish = bookings::wish_of(conn, &all, &booking)?;
            let sink = all.sink(booking.sink_id).map(|s| s.name.clone()).unwrap_or_default();
            Ok((booking, wish, sink))
        })
        .await
}

pub(super) async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    id: web::Path<i64>,
    Asked(fields): Asked,
) -> Result<HttpResponse, Error> {
    let (booking, wish, sink) = find(&app, &person, *id).await?;
    if !booking.stands {
        let to = format!("/board?date={}", app.zone().date(booking.span.from));
        return Ok(go(&to, Some(Flash::note("That booking was cancelled."))));
    }
    let zone = app.zone();
    let form = Form::new(&format!("/bookings/{id}")).of_version(booking.version);
    let form = beforehand(form::fill(form, zone, &wish), &fields);
    let asked = Offering {
        date: Some(zone.date(booking.span.from)),
        span: wish.span,
        tanks: wish.tank_ids,
        stations: wish.stations,
        changing: Some(booking.id),
        ..Offering::of(&Fields::default(), &person, app.words(Some(&person)), zone)
    };
    let standing = standing(&app, &person, &booking, &sink);
    page(&app, &req, (form, asked), Some(standing)).await
}

pub(super) async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (booking, _, sink) = find(&app, &person, *id).await?;
    let (at, who, version) = (app.place(), person.0.clone(), filled.version());
    let zone = at.zone;
    let mut asked = Offering::of(&filled.fields, &person, app.words(Some(&person)), zone);
    asked.changing = Some(booking.id);
    let done = match read_wish(&mut filled.fields, zone) {
        Ok(wish) => {
            asked.refused = Some(Wish { member: Some(booking.member_id), ..wish.clone() });
            let (once, id) = (filled.once(&app, Some(&person))?, booking.id);
            let changed = app.db.write_once(once, move |tx| {
                let after = bookings::change(tx, &at, &who, (id, version), &wish)?;
                Ok(zone.date(after.span.from))
            });
            changed.await
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(date) => {
            Ok(go(&format!("/board?date={date}"), Some(Flash::good("The booking is changed."))))
        }
        Err(e) => {
            asked.refused = asked.refused.filter(|_| matches!(e, Error::Refused { .. }));
            let standing = standing(&app, &person, &booking, &sink);
            page(&app, &req, (filled.again(e)?, asked), Some(standing)).await
        }
    }
}

pub(super) async fn cancel(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (at, who, id) = (app.place(), person.0, id.into_inner());
    let zone = at.zone;
    let gone = app.db.write(move |tx| bookings::cancel(tx, &at, &who, id)).await?;
    let to = format!("/board?date={}", zone.date(gone.span.from));
    Ok(go(&to, Some(Flash::good("The booking is cancelled."))))
}

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::bookings;
use crate::clock::Span;
use crate::day::own::{self, Session};
use crate::day::store;
use crate::error::Error;
use crate::rolls::{self, State};
use crate::sinks;
use crate::web::{Fields, Filled, Flash, Form, Member, go, show_form, spoken};

#[derive(Serialize)]
struct OwnPage {
    form: Form,
    bookings: Vec<Choice>,
    tanks: Vec<Choice>,
    rolls: Vec<Choice>,
    runs: Vec<Line>,
}

#[derive(Serialize)]
struct Choice {
    value: i64,
    text: String,
}

#[derive(Serialize)]
struct Line {
    id: i64,
    text: String,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    form: Form,
) -> Result<HttpResponse, Error> {
    let (now, me) = (app.clock.now(), member.id);
    let coming = Span { from: now.plus(-86_400), to: now.plus(60 * 86_400) };
    let (booked, tanks, waiting, runs, all) = app
        .db
        .read(move |conn| {
            let mut booked = bookings::of_member(conn, me, coming)?;
            booked.retain(|b| b.span.to > now);
            let mut waiting = rolls::waiting(conn)?;
            waiting.retain(|r| r.member_id == me && r.state == State::HandedIn);
            Ok((
                booked,
                sinks::tanks(conn)?,
                waiting,
                store::own_of(conn, me)?,
                sinks::sinks(conn)?,
            ))
        })
        .await?;
    let words = app.words(Some(member));
    let sink = |id: i64| {
        all.iter().find(|s| s.id == id).map_or_else(String::new, |s| format!(", {}", s.name))
    };
    let page = OwnPage {
        bookings: booked
            .iter()
            .map(|b| Choice {
                value: b.id,
                text: format!("{}{}", words.span(b.span.from, b.span.to), sink(b.sink_id)),
            })
            .collect(),
        tanks: tanks.iter().map(|t| Choice { value: t.id, text: t.name.clone() }).collect(),
        rolls: waiting
            .iter()
            .map(|r| Choice {
                value: r.id,
                text: format!("{}, {}, EI {}", spoken(&r.ticket), r.film, r.ei),
            })
            .collect(),
        runs: runs
            .iter()
            .map(|r| Line { id: r.id, text: format!("{}, {}", words.moment(r.from), r.tank) })
            .collect(),
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, ("My own session", "day/own.html"), &shown, &page)
}

/// A member's own session: what is waiting, and the form for the next.
pub(super) async fn form(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    page(&app, &req, &member, Form::new("/own-runs")).await
}

fn read(f: &mut Fields) -> Result<Session, Error> {
    let booking = f.number("booking_id", "one of your bookings", 1..=i64::MAX);
    let tank = f.number("tank_id", "a tank of the list", 1..=i64::MAX);
    let volume = match f.raw("own_volume") {
        "" => None,
        _ => f.number("own_volume", "a volume in whole ml", 50..=20_000),
    };
    let roll_ids: Vec<i64> = f.all("roll_ids").iter().filter_map(|id| id.parse().ok()).collect();
    if roll_ids.is_empty() {
        f.fault("roll_ids", "Choose at least one of your rolls that wait.");
    }
    f.done()?;
    match (booking, tank) {
        (Some(booking_id), Some(tank_id)) => Ok(Session {
            booking_id,
            roll_ids,
            tank_id,
            own_tank: f.ticked("own_tank"),
            own_volume_ml: volume.filter(|_| f.ticked("own_tank")),
            own_developer: f.ticked("own_developer"),
            loaded_at_home: f.ticked("loaded_at_home"),
            own_fixer: f.ticked("own_fixer"),
        }),
        _ => Err(f.faults()),
    }
}

/// Works a member's own session out and keeps it.
pub(super) async fn make(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let place = app.place();
    let session = read(&mut filled.fields);
    let once = filled.once(&app, Some(&member))?;
    let done = match session {
        Err(e) => Err(e),
        Ok(session) => {
            let (place, person) = (place.clone(), member.0.clone());
            let (at, me) = (place.clone(), person.clone());
            let basis = app.db.read(move |conn| own::basis(conn, &at, &me, session.clone())).await;
            match basis {
                Err(e) => Err(e),
                Ok(basis) => match web::block(move || {
                    let outcome = own::work_out(&basis)?;
                    Ok::<_, Error>((basis, outcome))
                })
                .await?
                {
                    Err(e) => Err(e),
                    Ok((basis, outcome)) => {
                        app.db
                            .write_once(once, move |tx| {
                                own::keep(tx, &place, &person, (&basis, &outcome)).map(|r| r.id)
                            })
                            .await
                    }
                },
            }
        }
    };
    match done {
        Ok(run) => Ok(go(
            &format!("/runs/{run}"),
            Some(Flash::good("Your session stands. This page is its mix sheet and its clock.")),
        )),
        Err(e) => page(&app, &req, &member, filled.again(e)?).await,
    }
}

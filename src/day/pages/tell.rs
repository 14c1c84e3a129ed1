use actix_web::{HttpRequest, HttpResponse, web};

use super::sink::{state, wants_data};
use crate::app::App;
use crate::clock::Moment;
use crate::day::at_sink;
use crate::day::store::{Event, EventKind};
use crate::error::Error;
use crate::web::{Fields, Filled, Flash, Member, go};

/// What somebody at the sink tells: a form without script, the same by script with an answer as
/// data.
pub(super) async fn tell(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let now = app.clock.now();
    let event = read_event(&mut filled.fields, now);
    let once = filled.once(&app, Some(&member))?;
    let person = member.0.clone();
    let done = match event {
        Err(e) => Err(e),
        Ok(event) => {
            app.db
                .write_once(once, move |tx| at_sink::tell(tx, now, &person, (id, event.clone())))
                .await
        }
    };
    if wants_data(&req) {
        done?;
        let seen = app.db.read(move |conn| at_sink::see(conn, id)).await?;
        return Ok(HttpResponse::Ok().json(state(&seen, &app.clock)));
    }
    let back = format!("/runs/{id}");
    match done {
        Ok(()) => Ok(go(&back, Some(Flash::good("Noted.")))),
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(Error::Invalid(faults)) => {
            let all: Vec<String> = faults.into_values().collect();
            Ok(go(&back, Some(Flash::bad(all.join(" ")))))
        }
        Err(e) => Err(e),
    }
}

fn read_event(f: &mut Fields, now: Moment) -> Result<Event, Error> {
    const KINDS: [&str; 5] = ["loaded", "measured", "step", "paused", "went_on"];
    let word = f.choice("kind", "what happened", &KINDS);
    let kind = word.as_deref().and_then(EventKind::from_word);
    let at = match f.raw("at") {
        "" => Some(now),
        _ => f.number("at", "a moment in UTC seconds", 0..=i64::MAX).map(Moment),
    };
    let step = match kind {
        Some(EventKind::Step) => f.number("step", "a step", 0..=20).map(Some),
        Some(EventKind::Loaded) => Some(Some(0)),
        _ => Some(None),
    };
    let value = match kind {
        Some(EventKind::Measured) => celsius(f).map(Some),
        _ => Some(None),
    };
    match (kind, at, step, value) {
        (Some(kind), Some(at), Some(step), Some(value)) => {
            Ok(Event { kind, step, at, value, note: String::new() })
        }
        _ => Err(f.faults()),
    }
}

/// A measured temperature in thousandths of a degree.
fn celsius(f: &mut Fields) -> Option<i64> {
    let typed = f.raw("celsius").trim().replace(',', ".");
    let found = typed.parse::<f64>().ok().filter(|c| (5.0..=45.0).contains(c));
    let found = found.and_then(|c| crate::units::Celsius::new(c).ok());
    if found.is_none() {
        let typed: String = typed.chars().take(20).collect();
        f.fault(
            "celsius",
            format!("“{typed}” is not a temperature; write what the thermometer shows, like 20.4."),
        );
    }
    found.map(|c| i64::from(c.millidegrees()))
}

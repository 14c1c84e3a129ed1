//! Finding a time: "a sink and two tanks for 90 minutes this week".

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::form::Choice;
use crate::app::App;
use crate::bookings::{Search, Wish, find as look};
use crate::error::Error;
use crate::sinks::{self, Light};
use crate::web::{Asked, Fields, Form, Newcomer, Words, show_form};

#[derive(Serialize)]
struct FindPage {
    form: Form,
    sinks: Vec<Choice>,
    reels: Vec<Reel>,
    lights: Vec<Choice>,
    found: Option<Vec<Found>>,
}

#[derive(Serialize)]
struct Reel {
    field: String,
    label: String,
}

#[derive(Serialize)]
struct Found {
    sink: String,
    when: String,
    tanks: String,
    href: String,
}

/// How many places are shown.
const MOST: usize = 8;

fn read(f: &mut Fields) -> Result<Search, Error> {
    let optional = |f: &mut Fields, name: &str, what: &str, high: i64| {
        if f.raw(name).is_empty() { Some(0) } else { f.number(name, what, 0..=high) }
    };
    let sink = optional(f, "sink", "a sink", i64::MAX);
    let tanks = optional(f, "tanks", "a number of tanks", 40);
    let minutes = f.number("minutes", "how long in minutes", 5..=1440);
    let from = f.date("date", "a day");
    let days = f.number("days", "a number of days", 1..=31);
    let light = Light::from_word(f.raw("light")).unwrap_or_default();
    let fields: Vec<String> = f.values().into_keys().filter(|n| n.starts_with("reel-")).collect();
    let mut reels = Vec::new();
    for name in fields {
        let count = optional(f, &name, "a number of reels", 200).unwrap_or(0);
        if let Some(id) = name.strip_prefix("reel-").and_then(|id| id.parse().ok())
            && count > 0
        {
            reels.push((id, count));
        }
    }
    f.done()?;
    let (Some(sink_id), Some(tanks), Some(minutes), Some(from), Some(days)) =
        (sink, tanks, minutes, from, days)
    else {
        return Err(f.faults());
    };
    let wish = Wish { sink_id, reels, light, ..Wish::default() };
    let days = u64::try_from(days).unwrap_or(7);
    Ok(Search { wish, tanks: usize::try_from(tanks).unwrap_or(0), minutes, from, days })
}

pub(super) async fn find(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    Asked(mut fields): Asked,
) -> Result<HttpResponse, Error> {
    let at = app.place();
    let words = app.words(Some(&person));
    let mut form = Form::new("/bookings/find");
    let asked = !fields.raw("minutes").is_empty();
    let mut found = None;
    if asked {
        for (name, value) in fields.values() {
            form = form.with(&name, value);
        }
        let (who, here) = (person.0.clone(), at.clone());
        let looked = match read(&mut fields) {
            Ok(search) => {
                let wish = search.wish.clone();
                let read = app.db.read(move |conn| look(conn, &here, &who, (&search, MOST)));
                read.await.map(|places| (places, wish))
            }
            Err(e) => Err(e),
        };
        match looked {
            Ok((places, wish)) => {
                let all = app.db.read(sinks::all_tanks).await?;
                found =
                    Some(places.iter().map(|p| one(p, (&wish, &all), (at.zone, &words))).collect());
            }
            Err(Error::Invalid(faults)) => (form.faults, form.status) = (faults, 422),
            Err(Error::Refused { sentence, .. }) => {
                (form.fault, form.status) = (Some(sentence), 422);
            }
            Err(other) => return Err(other),
        }
    } else {
        form = form
            .with("date", at.zone.date(at.now))
            .with("days", 7)
            .with("minutes", 90)
            .with("tanks", 1);
    }
    let page = page(&app, form, found).await?;
    show_form(&app, &req, ("Find a time", "bookings/find.html"), &page.form, &page)
}

/// The page with its choices.
async fn page(app: &App, form: Form, found: Option<Vec<Found>>) -> Result<FindPage, Error> {
    let (all, reels) = app.db.read(|c| Ok((sinks::all_sinks(c)?, sinks::reel_kinds(c)?))).await?;
    Ok(FindPage {
        form,
        found,
        sinks: all
            .into_iter()
            .filter(|s| !s.retired)
            .map(|s| Choice { value: s.id.to_string(), text: s.name })
            .collect(),
        reels: reels
            .into_iter()
            .filter(|r| r.owned > 0)
            .map(|r| Reel {
                field: format!("reel-{}", r.id),
                label: format!("Dry reels {}", r.kind),
            })
            .collect(),
        lights: Light::ALL
            .iter()
            .map(|l| Choice { value: l.word().to_owned(), text: l.name().to_owned() })
            .collect(),
    })
}

fn one(
    p: &crate::bookings::Found,
    (wish, tanks): (&Wish, &[sinks::Tank]),
    (zone, words): (crate::clock::Zone, &Words),
) -> Found {
    let (from, to) = (zone.wall(p.span.from), zone.wall(p.span.to));
    let mut href = format!(
        "/bookings/new?sink={}&date={}&from={}&to={}&light={}",
        p.sink_id,
        from.date(),
        from.format("%H:%M"),
        to.format("%H:%M"),
        wish.light.word()
    );
    for tank in &p.tank_ids {
        href.push_str(&format!("&tanks={tank}"));
    }
    for (reel, n) in &wish.reels {
        href.push_str(&format!("&reel-{reel}={n}"));
    }
    let names = p.tank_ids.iter().filter_map(|id| tanks.iter().find(|t| t.id == *id));
    Found {
        sink: p.sink.clone(),
        when: words.span(p.span.from, p.span.to),
        tanks: names.map(|t| t.name.as_str()).collect::<Vec<_>>().join(", "),
        href,
    }
}

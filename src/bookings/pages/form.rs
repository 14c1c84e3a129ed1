//! The form of a booking: what it says, and what can be chosen at that hour.

use chrono::{NaiveDate, NaiveTime};
use serde::Serialize;

use crate::bookings::{Place, Wish, limits, rules, search};
use crate::clock::{Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::members;
use crate::safety;
use crate::sessions::{Person, Role};
use crate::sinks::{self, Inventory, Kind, Light, StationKind, Supply};
use crate::web::{Fields, Form, Words};

/// Which of two like times is meant.
fn pass(f: &Fields, name: &str) -> Option<bool> {
    match f.raw(name) {
        "first" => Some(false),
        "second" => Some(true),
        _ => None,
    }
}

/// Reads the wish; every fault stands beside its field.
pub(super) fn read_wish(f: &mut Fields, zone: Zone) -> Result<Wish, Error> {
    let sink = f.number("sink", "a sink", 1..=i64::MAX);
    let date = f.date("date", "a day");
    let (from, to) = (f.time("from", "a beginning"), f.time("to", "an end"));
    let note = f.text("note", "a note", 0..=300);
    let hanging = if f.raw("hanging").is_empty() {
        Some(0)
    } else {
        f.number("hanging", "a number", 0..=200)
    };
    let light = if f.raw("light").is_empty() {
        Some(Light::White)
    } else {
        let words: Vec<&str> = Light::ALL.iter().map(|l| l.word()).collect();
        f.choice("light", "a light", &words).and_then(|l| Light::from_word(&l))
    };
    let member = if f.raw("member").is_empty() {
        None
    } else {
        f.number("member", "a member", 1..=i64::MAX)
    };
    let ids = |name: &str| f.all(name).iter().filter_map(|v| v.parse().ok()).collect::<Vec<i64>>();
    let (tank_ids, stations) = (ids("tanks"), ids("stations"));
    let reels = read_reels(f);
    f.done()?;
    let (Some(sink_id), Some(date), Some(times), Some(note), Some(hanging), Some(light)) =
        (sink, date, from.zip(to), note, hanging, light)
    else {
        return Err(f.faults());
    };
    let second = (pass(f, "from_pass"), pass(f, "to_pass"));
    let span = Some(rules::span(zone, date, times, second)?);
    Ok(Wish { sink_id, tank_ids, reels, stations, hanging, light, span, note, member })
}

/// How many reels of each kind: fields `reel-7` and so on.
fn read_reels(f: &mut Fields) -> Vec<(i64, i64)> {
    let names: Vec<(String, i64)> = f
        .values()
        .into_keys()
        .filter_map(|n| n.strip_prefix("reel-")?.parse().ok().map(|id| (n.clone(), id)))
        .collect();
    let mut reels = Vec::new();
    for (name, id) in names {
        if f.raw(&name).trim().is_empty() {
            continue;
        }
        if let Some(n) = f.number(&name, "a number of reels", 0..=200)
            && n > 0
        {
            reels.push((id, n));
        }
    }
    reels
}

/// The form filled from a wish.
pub(super) fn fill(form: Form, zone: Zone, wish: &Wish) -> Form {
    let wall = |m| zone.wall(m).format("%H:%M").to_string();
    let mut form = form
        .with("sink", wish.sink_id)
        .with("note", &wish.note)
        .with("light", wish.light.word())
        .with("hanging", wish.hanging)
        .with("member", wish.member.unwrap_or(0));
    if let Some(span) = wish.span {
        form = form
            .with("date", zone.date(span.from))
            .with("from", wall(span.from))
            .with("to", wall(span.to));
    }
    for (id, n) in &wish.reels {
        form = form.with(&format!("reel-{id}"), n);
    }
    form
}

#[derive(Serialize)]
pub(super) struct Choice {
    pub(super) value: String,
    pub(super) text: String,
}

/// Something that can be had with the sink, and whether it is free then.
#[derive(Serialize)]
pub(super) struct Option_ {
    id: i64,
    name: String,
    says: String,
    free: bool,
    checked: bool,
}

#[derive(Serialize)]
pub(super) struct Counted {
    field: String,
    label: String,
    help: String,
}

/// Another time or place that would do.
#[derive(Serialize)]
pub(super) struct Instead {
    text: String,
    href: String,
}

/// What the form offers.
#[derive(Serialize)]
pub(super) struct Offer {
    pub(super) sinks: Vec<Choice>,
    pub(super) tanks: Vec<Option_>,
    pub(super) reels: Vec<Counted>,
    pub(super) stations: Vec<Option_>,
    pub(super) hanging: Option<String>,
    pub(super) lights: Vec<Choice>,
    pub(super) members: Vec<Choice>,
    /// For which time the page says what is free.
    pub(super) at: Option<String>,
    /// Whether the day has a time that happens twice.
    pub(super) twice: bool,
    pub(super) grid: String,
    pub(super) instead: Vec<Instead>,
    /// What the person has to do before they can book at all.
    pub(super) first: Option<String>,
}

/// What is to be offered: for whom, which day and time the form says, what is ticked.
pub(super) struct Asked {
    pub(super) person: Person,
    pub(super) words: Words,
    pub(super) date: Option<NaiveDate>,
    pub(super) span: Option<Span>,
    pub(super) tanks: Vec<i64>,
    pub(super) stations: Vec<i64>,
    pub(super) changing: Option<i64>,
    /// A wish that was refused, so that others can be named.
    pub(super) refused: Option<Wish>,
}

impl Asked {
    /// What a form says so far, as far as it can be read.
    pub(super) fn of(f: &Fields, person: &Person, words: Words, zone: Zone) -> Asked {
        let date = f.raw("date").parse::<NaiveDate>().ok();
        let time = |name: &str| NaiveTime::parse_from_str(f.raw(name), "%H:%M").ok();
        let times = time("from").zip(time("to"));
        let second = (pass(f, "from_pass"), pass(f, "to_pass"));
        let span = date.zip(times).and_then(|(d, t)| rules::span(zone, d, t, second).ok());
        let ids = |name: &str| f.all(name).iter().filter_map(|v| v.parse().ok()).collect();
        Asked {
            person: person.clone(),
            words,
            date,
            span,
            tanks: ids("tanks"),
            stations: ids("stations"),
            changing: None,
            refused: None,
        }
    }
}

pub(super) fn offer(conn: &mut Conn, place: &Place, asked: &Asked) -> Result<Offer, Error> {
    let all = sinks::inventory(conn)?;
    let limits = limits(conn)?;
    let gap_s = limits.gap_min * 60;
    let supply = match asked.span {
        Some(s) => {
            let wide = Span { to: s.to.plus(2 * 86_400), ..s };
            let supply = sinks::supply(conn, wide)?;
            Some(asked.changing.map_or(supply.clone(), |id| supply.without(id)))
        }
        None => None,
    };
    let free = Free { supply: supply.as_ref(), span: asked.span, gap_s };
    let refused = asked.refused.as_ref();
    let missing = safety::missing_before_booking(conn, &asked.person)?;
    let first = missing.iter().find(|m| m.bars_every_booking()).map(safety::Missing::sentence);
    let instead = match refused {
        // No other time would do for somebody who cannot book at any.
        Some(_) if first.is_some() => Vec::new(),
        Some(wish) => search::instead(conn, place, &asked.person, (wish, asked.changing))?,
        None => Vec::new(),
    };
    Ok(Offer {
        sinks: all
            .sinks
            .iter()
            .filter(|s| !s.retired)
            .map(|s| Choice { value: s.id.to_string(), text: s.name.clone() })
            .collect(),
        tanks: tanks(&all, &free, &asked.tanks),
        reels: reels(&all, &free),
        stations: stations(&all, &free, &asked.stations),
        hanging: hanging(&all, &free),
        lights: Light::ALL
            .iter()
            .map(|l| Choice { value: l.word().to_owned(), text: l.name().to_owned() })
            .collect(),
        members: if asked.person.role == Role::Lead && asked.changing.is_none() {
            let all = members::everybody(conn)?.into_iter();
            all.map(|(id, text)| Choice { value: id.to_string(), text }).collect()
        } else {
            Vec::new()
        },
        at: asked.span.map(|s| asked.words.span(s.from, s.to)),
        twice: asked.date.is_some_and(|d| place.zone.day(d).seconds() > 86_400),
        grid: rules::lasting(limits.grid_min),
        instead: instead.iter().map(|p| another(p, asked, place.zone)).collect(),
        first,
    })
}

fn another(p: &search::Place, asked: &Asked, zone: Zone) -> Instead {
    let (from, to) = (zone.wall(p.span.from), zone.wall(p.span.to));
    let tanks: String = asked.tanks.iter().map(|t| format!("&tanks={t}")).collect();
    let path = asked.changing.map_or("new".to_owned(), |id| id.to_string());
    Instead {
        text: format!("{}, {}", p.sink, asked.words.span(p.span.from, p.span.to)),
        href: format!(
            "/bookings/{path}?sink={}&date={}&from={}&to={}{tanks}",
            p.sink_id,
            from.date(),
            from.format("%H:%M"),
            to.format("%H:%M"),
        ),
    }
}

/// What is free at the hour the form says, if it says one.
struct Free<'a> {
    supply: Option<&'a Supply>,
    span: Option<Span>,
    gap_s: i64,
}

impl Free<'_> {
    fn of(&self, kind: Kind, id: i64, after_s: i64) -> Option<i64> {
        let span = self.span?;
        let to = span.to.plus(after_s.max(self.gap_s));
        Some(self.supply?.free(kind, id, Span { to, ..span }))
    }
}

fn tanks(all: &Inventory, free: &Free<'_>, ticked: &[i64]) -> Vec<Option_> {
    let tanks = all.tanks.iter().filter(|t| !t.retired);
    tanks
        .map(|t| {
            let holds: Vec<String> =
                t.holds.iter().map(|l| format!("{} of {}", l.most, l.format)).collect();
            let holds = if holds.is_empty() {
                format!("{} reels", t.max_reels)
            } else {
                holds.join(" or ")
            };
            Option_ {
                id: t.id,
                name: t.name.clone(),
                says: holds,
                free: free.of(Kind::Tank, t.id, 0).is_none_or(|n| n > 0),
                checked: ticked.contains(&t.id),
            }
        })
        .collect()
}

fn reels(all: &Inventory, free: &Free<'_>) -> Vec<Counted> {
    let says = |r: &sinks::ReelKind| {
        let formats: Vec<&str> = r.formats.iter().map(|f| f.format.as_str()).collect();
        let formats = formats.join(" or ");
        match free.of(Kind::Reel, r.id, r.drying_s) {
            Some(n) => format!("For {formats}. {n} of {} are dry and free then.", r.owned),
            None => format!("For {formats}. There are {}.", r.owned),
        }
    };
    let reels = all.reels.iter().filter(|r| r.owned > 0);
    reels
        .map(|r| Counted {
            field: format!("reel-{}", r.id),
            label: format!("Dry reels {}", r.kind),
            help: says(r),
        })
        .collect()
}

fn stations(all: &Inventory, free: &Free<'_>, ticked: &[i64]) -> Vec<Option_> {
    let stations = all.stations.iter().filter(|s| !s.retired && s.kind != StationKind::Hanging);
    stations
        .map(|s| Option_ {
            id: s.id,
            name: s.name.clone(),
            says: match s.kind {
                StationKind::Loading => "for loading, in total darkness".to_owned(),
                _ => s.kind.name().to_lowercase(),
            },
            free: free.of(s.kind.unit(), s.id, 0).is_none_or(|n| n > 0),
            checked: ticked.contains(&s.id),
        })
        .collect()
}

fn hanging(all: &Inventory, free: &Free<'_>) -> Option<String> {
    let row = all.stations.iter().find(|s| s.kind == StationKind::Hanging && !s.retired)?;
    Some(match free.of(Kind::Hanging, row.id, row.drying_s) {
        Some(n) => format!("{n} of {} are free then.", row.places),
        None => format!("There are {}.", row.places),
    })
}

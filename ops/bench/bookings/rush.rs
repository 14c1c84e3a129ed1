//! Everybody wants the same slots: each must be granted once, every loser told, nothing fail.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use serde_json::json;
use wetside::bookings::{self, Place, Wish};
use wetside::clock::{Moment, Span};
use wetside::sessions::{Person, Role, Taste, Via};
use wetside::sinks;

use super::studio::{Engine, Studio, agent, at};

/// A quarter of an hour at one of the sinks.
#[derive(Clone, Copy, Debug)]
pub struct Slot {
    pub sink: i64,
    pub span: Span,
}

impl Slot {
    pub fn body(&self, studio: &Studio) -> String {
        let zone = studio.app.zone();
        let (starts, ends) = (zone.rfc3339(self.span.from), zone.rfc3339(self.span.to));
        json!({ "sink_id": self.sink, "starts": starts, "ends": ends }).to_string()
    }
}

/// Free quarters of an hour at both sinks, from so many days ahead on.
pub fn slots(studio: &Studio, days_ahead: u64, count: usize) -> Vec<Slot> {
    let zone = studio.app.zone();
    let first = zone.date(studio.app.clock.now()) + chrono::Days::new(days_ahead);
    let nine = 9 * 3600;
    first
        .iter_days()
        .flat_map(|date| {
            let start = zone.day_start(date).plus(nine);
            (0..52).flat_map(move |quarter| {
                [1, 2].map(|sink| {
                    let from: Moment = start.plus(quarter * 900);
                    Slot { sink, span: Span { from, to: from.plus(900) } }
                })
            })
        })
        .take(count)
        .collect()
}

/// Who books.
pub fn member(studio: &Studio) -> Person {
    Person {
        id: studio.member,
        name: "Ilse".to_owned(),
        role: Role::Member,
        paused: false,
        taste: Taste::default(),
        via: Via::Token(0),
    }
}

/// The same statements in one loop on one connection: bookings a second.
fn alone(studio: &Studio, slots: &[Slot]) -> f64 {
    let app = &studio.app;
    let place = Place { now: app.clock.now(), zone: app.zone(), address: String::new() };
    let person = member(studio);
    let begun = Instant::now();
    for slot in slots {
        let wish = Wish::of(slot.sink, slot.span);
        app.db.write_now(|tx| bookings::book(tx, &place, &person, &wish)).unwrap();
    }
    slots.len() as f64 / begun.elapsed().as_secs_f64()
}

/// What came of one try.
struct End {
    status: u16,
    took: Duration,
}

/// Sends these bodies, each client the next one, until all are sent.
fn send<'a>(
    studio: &Studio,
    urls: &[&str],
    clients: usize,
    body: impl Fn(usize) -> Option<&'a str> + Sync,
) -> Vec<End> {
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..clients)
            .map(|client| {
                let (next, body, token) = (&next, &body, &studio.token);
                let url = format!("{}/api/v1/bookings", urls[client % urls.len()]);
                scope.spawn(move || {
                    let agent = agent();
                    let mut ends = Vec::new();
                    while let Some(body) = body(next.fetch_add(1, Ordering::SeqCst)) {
                        let sent = Instant::now();
                        let answer = agent
                            .post(&url)
                            .header("authorization", format!("Bearer {token}"))
                            .header("content-type", "application/json")
                            .send(body);
                        let status = answer.map_or(0, |a| a.status().as_u16());
                        ends.push(End { status, took: sent.elapsed() });
                    }
                    ends
                })
            })
            .collect();
        all.into_iter().flat_map(|t| t.join().unwrap()).collect()
    })
}

pub fn measure(engine: Engine, clients: usize, (tries, count): (usize, usize)) {
    let studio = Studio::new(engine);
    let servers = if engine == Engine::Postgres { 2 } else { 1 };
    let servers: Vec<_> = (0..servers).map(|_| studio.serve()).collect();
    let urls: Vec<&str> = servers.iter().map(|s| s.url.as_str()).collect();
    let bodies = |slots: &[Slot]| slots.iter().map(|s| s.body(&studio)).collect::<Vec<_>>();

    // What the engine does alone, and what it does when each client wants a slot of its own.
    let alone = alone(&studio, &slots(&studio, 40, count));
    let own = bodies(&slots(&studio, 30, count));
    let begun = Instant::now();
    let won = send(&studio, &urls, clients, |n| own.get(n).map(String::as_str));
    let together = count as f64 / begun.elapsed().as_secs_f64();
    println!(
        "rush {engine:?}: one loop alone {alone:.0} bookings/s; {clients} clients, each for itself, \
         {together:.0} ({:.0} %): {:?}",
        together / alone * 100.0,
        counted(&won)
    );

    // Many at once want each slot, slot after slot.
    let slots = slots(&studio, 20, count);
    let wanted = bodies(&slots);
    let ends = send(&studio, &urls, clients, |n| {
        (n < tries).then(|| wanted[(n * count / tries + n % 3) % count].as_str())
    });
    report(&studio, &slots, (alone, together), &ends);
}

/// How often each status was answered.
fn counted(ends: &[End]) -> BTreeMap<u16, usize> {
    let mut statuses = BTreeMap::new();
    for end in ends {
        *statuses.entry(end.status).or_default() += 1;
    }
    statuses
}

fn report(studio: &Studio, slots: &[Slot], (alone, together): (f64, f64), ends: &[End]) {
    let statuses = counted(ends);
    let whole = Span { from: slots[0].span.from, to: slots[slots.len() - 1].span.to };
    let held = studio.app.db.read_now(|c| sinks::held(c, sinks::Kind::SinkPlace, whole)).unwrap();
    let held_once =
        |s: &Slot| held.iter().filter(|h| h.of_id == s.sink && h.span.meets(&s.span)).count() == 1;
    let once = slots.iter().all(held_once);
    let mut took: Vec<Duration> = ends.iter().map(|e| e.took).collect();
    took.sort_unstable();
    println!(
        "  {} tries for {} slots: {statuses:?}; every slot once: {once}; median {:?}, p99 {:?}",
        ends.len(),
        slots.len(),
        at(&took, 0.5),
        at(&took, 0.99)
    );
    let line = json!({
        "part": "rush", "engine": format!("{:?}", studio.engine), "tries": ends.len(),
        "slots": slots.len(), "won": statuses.get(&201), "lost": statuses.get(&409),
        "every_slot_once": once, "alone_per_s": alone, "together_per_s": together,
        "share": together / alone, "median_ms": at(&took, 0.5).as_millis() as u64,
        "p99_ms": at(&took, 0.99).as_millis() as u64,
        "failed": ends.iter().filter(|e| e.status == 0 || e.status >= 500).count(),
    });
    println!("{line}");
}

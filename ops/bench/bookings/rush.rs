//! Everybody wants the same slots: each must be granted once, every loser told, nothing fail.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use serde_json::json;
use wetside::bookings::{self, Place, Wish};
use wetside::clock::{Moment, Span};
use wetside::sessions::{Person, Role, Taste, Via};

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

/// The same statements in one loop on one connection: bookings a second.
fn alone(studio: &Studio, slots: &[Slot]) -> f64 {
    let app = &studio.app;
    let place = Place { now: app.clock.now(), zone: app.zone(), address: String::new() };
    let person = Person {
        id: studio.member,
        name: "Ilse".to_owned(),
        role: Role::Member,
        paused: false,
        taste: Taste::default(),
        via: Via::Token(0),
    };
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
    when: Instant,
}

pub fn measure(engine: Engine, clients: usize, attempts: usize, count: usize) {
    let studio = Studio::new(engine);
    let alone = alone(&studio, &slots(&studio, 40, count));
    let servers = if engine == Engine::Postgres { 2 } else { 1 };
    let servers: Vec<_> = (0..servers).map(|_| studio.serve()).collect();
    let slots = slots(&studio, 20, count);
    let bodies: Vec<String> = slots.iter().map(|s| s.body(&studio)).collect();
    let next = AtomicUsize::new(0);
    let begun = Instant::now();
    let ends: Vec<End> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..clients)
            .map(|client| {
                let (next, bodies, servers, token) = (&next, &bodies, &servers, &studio.token);
                scope.spawn(move || {
                    let (agent, url) = (agent(), &servers[client % servers.len()].url);
                    let mut ends = Vec::new();
                    loop {
                        let n = next.fetch_add(1, Ordering::SeqCst);
                        if n >= attempts {
                            return ends;
                        }
                        // In runs over the slots, so that many want each at the same moment.
                        let body = &bodies[(n / clients + n % 3) % bodies.len()];
                        let sent = Instant::now();
                        let answer = agent
                            .post(format!("{url}/api/v1/bookings"))
                            .header("authorization", format!("Bearer {token}"))
                            .header("content-type", "application/json")
                            .send(body.as_str());
                        let status = answer.map_or(0, |a| a.status().as_u16());
                        ends.push(End { status, took: sent.elapsed(), when: Instant::now() });
                    }
                })
            })
            .collect();
        all.into_iter().flat_map(|t| t.join().unwrap()).collect()
    });
    report(&studio, &slots, (alone, begun), &ends);
}

fn report(studio: &Studio, slots: &[Slot], (alone, begun): (f64, Instant), ends: &[End]) {
    let mut statuses: BTreeMap<u16, usize> = BTreeMap::new();
    for end in ends {
        *statuses.entry(end.status).or_default() += 1;
    }
    let whole = Span { from: slots[0].span.from, to: slots[slots.len() - 1].span.to };
    let held =
        studio.app.db.read_now(|c| wetside::sinks::held(c, wetside::sinks::Kind::SinkPlace, whole));
    let held = held.unwrap();
    let once = slots
        .iter()
        .all(|s| held.iter().filter(|h| h.of_id == s.sink && h.span.meets(&s.span)).count() == 1);
    let mut took: Vec<Duration> = ends.iter().map(|e| e.took).collect();
    took.sort_unstable();
    let won = statuses.get(&201).copied().unwrap_or(0);
    // Commits a second while there were slots to win.
    let last = ends.iter().filter(|e| e.status == 201).map(|e| e.when).max().unwrap_or(begun);
    let rate = won as f64 / last.duration_since(begun).as_secs_f64();
    let all = ends.len() as f64 / begun.elapsed().as_secs_f64();
    println!(
        "rush {:?}: {} tries for {} slots: {statuses:?}; every slot once: {once}",
        studio.engine,
        ends.len(),
        slots.len()
    );
    println!(
        "  one loop alone {alone:.0} bookings/s; under the rush {rate:.0} bookings/s among {all:.0} \
         answers/s ({:.0} % of it); median {:?}, p99 {:?}",
        all / alone * 100.0,
        at(&took, 0.5),
        at(&took, 0.99)
    );
    let line = json!({
        "part": "rush", "engine": format!("{:?}", studio.engine), "tries": ends.len(),
        "slots": slots.len(), "won": won, "every_slot_once": once, "alone_per_s": alone,
        "bookings_per_s": rate, "answers_per_s": all, "median_ms": at(&took, 0.5).as_millis() as u64,
        "p99_ms": at(&took, 0.99).as_millis() as u64,
        "failed": ends.iter().filter(|e| e.status == 0 || e.status >= 500).count(),
    });
    println!("{line}");
}

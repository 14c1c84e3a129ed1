//! What the trail of who changed what adds to a commit: the same bookings in one loop, every second
//! one on somebody's behalf.

use std::time::{Duration, Instant};

use serde_json::json;
use wetside::bookings::{self, Place, Wish};
use wetside::db::acting::{self, Acting, By};

use super::rush::{member, slots};
use super::studio::{Engine, Studio, at};

pub fn measure(engine: Engine, count: usize) {
    let studio = Studio::new(engine);
    let app = &studio.app;
    let place = Place { now: app.clock.now(), zone: app.zone(), address: String::new() };
    let person = member(&studio);
    let mut took: [Vec<Duration>; 2] = [Vec::new(), Vec::new()];
    for (n, slot) in slots(&studio, 20, 2 * count).iter().enumerate() {
        let acting = Acting {
            at: place.now,
            actor: Some(person.id),
            by: By::Token,
            door: "POST /api/v1/bookings".to_owned(),
            thing: String::new(),
        };
        let wish = Wish::of(slot.sink, slot.span);
        let begun = Instant::now();
        acting::on_behalf((n % 2 == 1).then_some(acting), || {
            app.db.write_now(|tx| bookings::book(tx, &place, &person, &wish)).unwrap();
        });
        took[n % 2].push(begun.elapsed());
    }
    took.iter_mut().for_each(|t| t.sort_unstable());
    let [without, with] = took.map(|t| at(&t, 0.5).as_secs_f64() * 1000.0);
    println!(
        "trail {engine:?}: a booking without its line {without:.2} ms, with it {with:.2} ms \
         ({:+.0} %), medians of {count}",
        (with / without - 1.0) * 100.0
    );
    let line = json!({
        "part": "trail", "engine": format!("{engine:?}"), "bookings": count,
        "without_ms": without, "with_ms": with, "share": with / without - 1.0,
    });
    println!("{line}");
}

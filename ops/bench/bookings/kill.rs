//! The server is killed again and again while people book: what was acknowledged is there, and
//! nothing is half-made.

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use diesel::prelude::*;
use serde_json::json;
use wetside::db::schema::{bookings, holds, outbox, room_lights};

use super::rush::slots;
use super::studio::{Engine, Studio, agent};

pub fn measure(engine: Engine, clients: usize, kills: usize) {
    let studio = Studio::new(engine);
    let before = ids(&studio);
    let bodies: Vec<String> =
        slots(&studio, 15, 104 * 40).iter().map(|s| s.body(&studio)).collect();
    let next = AtomicUsize::new(0);
    let mut acknowledged = Vec::new();
    for turn in 0..kills {
        let mut server = studio.serve();
        let stop = AtomicBool::new(false);
        std::thread::scope(|scope| {
            let all: Vec<_> = (0..clients)
                .map(|_| {
                    let (stop, next, bodies) = (&stop, &next, &bodies);
                    let (url, token) = (server.url.clone(), &studio.token);
                    scope.spawn(move || {
                        let agent = agent();
                        let mut made: Vec<i64> = Vec::new();
                        while !stop.load(Ordering::SeqCst) {
                            let n = next.fetch_add(1, Ordering::SeqCst);
                            let answer = agent
                                .post(format!("{url}/api/v1/bookings"))
                                .header("authorization", format!("Bearer {token}"))
                                .header("content-type", "application/json")
                                .send(bodies[n % bodies.len()].as_str());
                            let Ok(mut answer) = answer else { continue };
                            if answer.status() == 201
                                && let Ok(said) = answer.body_mut().read_json::<serde_json::Value>()
                            {
                                made.extend(said["id"].as_i64());
                            }
                        }
                        made
                    })
                })
                .collect();
            std::thread::sleep(Duration::from_millis(60 + (turn as u64 * 37) % 240));
            server.kill();
            stop.store(true, Ordering::SeqCst);
            for client in all {
                acknowledged.extend(client.join().unwrap());
            }
        });
    }
    report(&studio, kills, &before, &acknowledged);
}

fn ids(studio: &Studio) -> BTreeSet<i64> {
    let all = studio.app.db.read_now(|c| Ok(bookings::table.select(bookings::id).load(c)?));
    all.unwrap().into_iter().collect()
}

fn report(studio: &Studio, kills: usize, before: &BTreeSet<i64>, acknowledged: &[i64]) {
    let there = ids(studio);
    let lost = acknowledged.iter().filter(|id| !there.contains(id)).count();
    let made: Vec<i64> = there.difference(before).copied().collect();
    let halves = studio.app.db.read_now(|c| {
        let mut halves = 0;
        for id in &made {
            let held: i64 = holds::table.filter(holds::booking_id.eq(id)).count().get_result(c)?;
            let lit: i64 =
                room_lights::table.filter(room_lights::booking_id.eq(id)).count().get_result(c)?;
            let told: i64 = outbox::table
                .filter(outbox::dedupe_key.eq(format!("booking_made {id}")))
                .count()
                .get_result(c)?;
            if (held, lit, told) != (1, 1, 1) {
                halves += 1;
            }
        }
        Ok(halves)
    });
    let halves = halves.unwrap();
    println!(
        "kill {:?}: {kills} kills, {} bookings acknowledged, {} there; {lost} lost, {halves} half-made",
        studio.engine,
        acknowledged.len(),
        made.len()
    );
    let line = json!({
        "part": "kill", "engine": format!("{:?}", studio.engine), "kills": kills,
        "acknowledged": acknowledged.len(), "there": made.len(), "lost": lost, "half_made": halves,
    });
    println!("{line}");
}

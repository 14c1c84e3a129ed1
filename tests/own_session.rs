//! A member's own session: their booking, their rolls, a tank; no lead needed.

use wetside::demo;
use wetside::sessions::Role;

const DAY: &str = "2027-03-15";

on_both!(a_member_develops_their_own_rolls_without_a_lead, |house| {
    demo::fill(&house.app).unwrap();
    let me = house.person("Hedda", Role::Member);
    let api = house.api(&me);
    me.get("/own-runs").is(200).says("no coming booking");
    let booking = [("sink", "1"), ("date", DAY), ("from", "13:00"), ("to", "15:00")];
    me.post("/bookings", &booking).is(303);
    let board = api.get(&format!("/api/v1/board?date={DAY}")).is(200).json();
    let mine =
        board["sinks"].as_array().unwrap().iter().flat_map(|s| s["bookings"].as_array().unwrap());
    let booking = mine.clone().find(|b| b["mine"] == true).unwrap()["id"].as_i64().unwrap();
    let film =
        serde_json::json!({"format": "135-36", "film": "Gannet 400", "ei": 400, "accept_terms": 1});
    let rolls: Vec<i64> = (0..2)
        .map(|_| api.post("/api/v1/rolls", &film).is(201).json()["id"].as_i64().unwrap())
        .collect();
    me.get("/own-runs").is(200).says("Work it out");

    // Another's roll or booking is none of mine; a tank that is too small is said so.
    let other = house.person("Sunniva", Role::Member);
    let wish = serde_json::json!({"booking_id": booking, "roll_ids": rolls, "tank_id": 1});
    house.api(&other).post("/api/v1/sessions", &wish).is(422);
    let none = serde_json::json!({"booking_id": booking, "roll_ids": [], "tank_id": 1});
    api.post("/api/v1/sessions", &none).is(422);

    let made = api.post("/api/v1/sessions", &wish).is(201).json();
    let run = &made["runs"][0];
    assert_eq!(run["person"], "Hedda");
    assert_eq!(run["rolls"].as_array().unwrap().len(), 2);
    assert!(run["start"].as_str().unwrap() >= "2027-03-15T13:00");
    assert!(run["end"].as_str().unwrap() <= "2027-03-15T15:00");
    // The same rolls cannot go twice.
    api.post("/api/v1/sessions", &wish).is(422);

    // The sink page is the same, and it is theirs to work; the ledger takes it once.
    let id = run["id"].as_i64().unwrap();
    let tell = format!("/runs/{id}/tell");
    other.post(&tell, &[("kind", "loaded")]).is(403);
    me.post(&tell, &[("kind", "loaded")]).is(303);
    me.post(&tell, &[("kind", "step"), ("step", "0")]).is(303);
    me.get("/own-runs").is(200).says("Tank A");
    let before = api.get("/api/v1/baths").json()["items"][0]["remaining"].as_f64().unwrap();
    me.post(&format!("/runs/{id}/end"), &[("back", "run")]).is(303);
    me.post(&format!("/runs/{id}/end"), &[("back", "run")]).is(303);
    let after = api.get("/api/v1/baths").json()["items"][0]["remaining"].as_f64().unwrap();
    assert!((before - after - 2.0).abs() < 1e-9);
});

//! What a day draws, pours back and takes longer for: shared developer, the recipe's own table at the
//! sink, a member's own tank and developer, and a large day in the background. Times and growth are
//! the invented studio's own, as a lead types them from a maker's sheet; no published value is asked.

use serde_json::{Value, json};
use wetside::demo;
use wetside::sessions::Role;

use crate::house::{Api, House};
use crate::trail::{Row, lines};

pub const DAY: &str = "2027-03-15";

pub fn bath(api: &Api, label: &str) -> Value {
    let all = api.get("/api/v1/baths").is(200).json();
    let found = all["items"].as_array().unwrap().iter().find(|b| b["label"] == label).cloned();
    found.unwrap_or_else(|| panic!("{label} is not among {all}"))
}

pub fn left(api: &Api, label: &str) -> f64 {
    bath(api, label)["remaining"].as_f64().unwrap()
}

fn hand_in(api: &Api, count: usize, film: &str, ei: i64, recipe: Option<i64>) -> Vec<i64> {
    let mut wish = json!({"format": "135-36", "film": film, "ei": ei, "accept_terms": 1});
    if let Some(id) = recipe {
        wish["recipe_id"] = json!(id);
    }
    let one = |_| api.post("/api/v1/rolls", &wish).is(201).json()["id"].as_i64().unwrap();
    (0..count).map(one).collect()
}

/// The recipe on the chart for a film at an index in a developer.
fn recipe(api: &Api, film: &str, ei: i64, developer: &str) -> i64 {
    let mut path = "/api/v1/recipes".to_owned();
    loop {
        let page = api.get(&path).is(200).json();
        let is_it = |r: &&Value| r["film"] == film && r["ei"] == ei && r["developer"] == developer;
        if let Some(found) = page["items"].as_array().unwrap().iter().find(is_it) {
            return found["id"].as_i64().unwrap();
        }
        path = format!("/api/v1/recipes?after={}", page["next"].as_str().expect("a recipe"));
    }
}

on_both!(developer_that_is_poured_back_takes_longer_and_is_booked_once, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (member, api) = (house.person("Hedda", Role::Member), house.api(&lead));
    let date = "2027-03-17";
    let developer = "Fathom stock, undiluted";
    let kelp = recipe(&api, "Kelp 64", 64, developer);
    hand_in(&house.api(&member), 3, "Kelp 64", 64, Some(kelp));
    // It has taken three and a half rolls' worth; with one more it has taken a whole step of four.
    let id = bath(&api, "Fathom, used again")["id"].clone();
    let one = json!({"roll_equivalents": 1.0});
    api.post(&format!("/api/v1/baths/{id}/uses"), &one).is(201);
    let before = left(&api, "Fathom, used again");

    let plan = api.post("/api/v1/plans", &json!({"date": date})).is(201).json();
    let mut runs: Vec<&Value> =
        plan["runs"].as_array().unwrap().iter().filter(|r| r["developer"] == developer).collect();
    runs.sort_by_key(|r| r["start"].as_str().unwrap().to_owned());
    assert!(!runs.is_empty(), "{plan}");
    for run in &runs {
        assert!(run["developer_bath_id"].is_i64(), "{run}");
        assert_eq!(run["hot_ml"], Value::Null, "nothing is mixed for it");
    }
    // 10 % more for each whole four rolls' worth, as the lead typed it from the maker's sheet.
    for run in &runs {
        assert!(run["time_s"].as_i64().unwrap() > 330, "330 s is the time of a fresh bath: {run}");
        assert!(run["working"].to_string().contains("10.0 % more time"), "{run}");
    }
    let day = api.post(&format!("/api/v1/plans/{date}/publish"), &json!({})).is(200).json();
    let drawn = day["totals"].as_array().unwrap().iter().find(|d| d["developer"] == developer);
    assert_eq!(drawn, None, "a shared bath is not mixed");
    assert!(day["baths"].to_string().contains("Fathom, used again"));

    let page = lead.get(&format!("/days/{date}")).is(200);
    page.says("as it stands in its bottle; pour it back");
    let mine = |r: &&Value| r["developer"] == developer;
    let published: Vec<Value> =
        day["runs"].as_array().unwrap().iter().filter(mine).cloned().collect();
    for run in &published {
        lead.post(&format!("/runs/{}/end", run["id"]), &[]).is(303);
        lead.post(&format!("/runs/{}/end", run["id"]), &[]).is(303);
    }
    let films: usize = published.iter().map(|r| r["rolls"].as_array().unwrap().len()).sum();
    assert!((before - left(&api, "Fathom, used again") - films as f64).abs() < 1e-9);
});

on_both!(the_time_at_the_sink_follows_the_recipes_own_table, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (member, api) = (house.person("Hedda", Role::Member), house.api(&lead));
    let date = "2027-03-18";
    let all = api.get("/api/v1/recipes?search=Grapnel").is(200).json();
    let all = all["items"].as_array().unwrap();
    let with_table = |r: &&Value| {
        r["times"].as_array().is_some_and(|t| t.len() >= 2) && r["developer"] == "Fathom stock, 1+1"
    };
    let chosen = all.iter().find(with_table).cloned().expect("a recipe with its own table");
    let rows = chosen["times"].as_array().unwrap();
    let warm = rows.iter().find(|r| r["temperature_c"] == 24.0).expect("a row at 24 °C").clone();
    hand_in(
        &house.api(&member),
        1,
        chosen["film"].as_str().unwrap(),
        chosen["ei"].as_i64().unwrap(),
        chosen["id"].as_i64(),
    );
    api.post("/api/v1/plans", &json!({"date": date})).is(201);
    let day = api.post(&format!("/api/v1/plans/{date}/publish"), &json!({})).is(200).json();
    let run = day["runs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|r| r["developer"] == chosen["developer"] && r["time_s"] == chosen["time_s"])
        .cloned()
        .unwrap_or_else(|| panic!("its run in {day}"));
    lead.post(&format!("/runs/{}/tell", run["id"]), &[("kind", "measured"), ("celsius", "24.0")])
        .is(303);
    let state = lead.get(&format!("/runs/{}/state", run["id"])).is(200).json();
    let time = state["measured"]["time_s"].as_i64().unwrap();
    let wanted = warm["time_s"].as_i64().unwrap();
    assert!((time - wanted).abs() <= 3, "{time} s, its table says {wanted} s at 24 °C");
    assert!(state["measured"]["lines"].to_string().contains("its own table"));
});

on_both!(what_a_member_brings_is_neither_held_nor_drawn, |house| {
    demo::fill(&house.app).unwrap();
    let me = house.person("Hedda", Role::Member);
    let (api, lead) = (house.api(&me), house.person("Runa", Role::Lead));
    let booking = [("sink", "1"), ("date", DAY), ("from", "18:00"), ("to", "20:00")];
    me.post("/bookings", &booking).is(303);
    let board = api.get(&format!("/api/v1/board?date={DAY}")).is(200).json();
    let all = board["sinks"].as_array().unwrap();
    let mut mine = all.iter().flat_map(|s| s["bookings"].as_array().unwrap());
    let booking = mine.find(|b| b["mine"] == true).unwrap()["id"].as_i64().unwrap();
    let rolls = hand_in(&api, 2, "Gannet 400", 400, None);
    let wish = json!({"booking_id": booking, "roll_ids": rolls, "tank_id": 1, "own_tank": true,
        "own_volume_ml": 500, "own_developer": true, "own_fixer": true, "loaded_at_home": true});
    let too_small = json!({"booking_id": booking, "roll_ids": rolls, "tank_id": 1,
        "own_tank": true, "own_volume_ml": 3});
    api.post("/api/v1/sessions", &too_small).is(422);
    let before = api.get("/api/v1/baths").is(200).json();
    let run = api.post("/api/v1/sessions", &wish).is(201).json()["runs"][0].clone();
    assert_eq!(run["developer_ml"], 500.0);
    assert_eq!(run["fixer_id"], Value::Null);
    me.get(&format!("/runs/{}", run["id"])).is(200).says("own tank, filled like Tank A");
    // Nobody holds the studio's tank: another may have it at the same time.
    let other = house.person("Sunniva", Role::Member);
    let taken = [("sink", "2"), ("date", DAY), ("from", "18:00"), ("to", "20:00"), ("tank", "1")];
    other.post("/bookings", &taken).is(303);
    me.post(&format!("/runs/{}/end", run["id"]), &[("back", "run")]).is(303);
    assert_eq!(api.get("/api/v1/baths").is(200).json(), before, "no bath of the studio's took it");
    let sheet = house.api(&lead).get(&format!("/api/v1/mix-sheets/{DAY}")).is(200).json();
    assert!(sheet["runs"].to_string().contains(&run["rolls"][0].to_string()));
});

on_both!(a_developer_of_two_parts_is_measured_part_by_part, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (member, api) = (house.person("Hedda", Role::Member), house.api(&lead));
    let date = "2027-03-19";
    let twinrope = recipe(&api, "Gannet 400", 1600, "Twinrope, 1+1+100");
    hand_in(&house.api(&member), 2, "Gannet 400", 1600, Some(twinrope));
    api.post("/api/v1/plans", &json!({"date": date})).is(201);
    let day = api.post(&format!("/api/v1/plans/{date}/publish"), &json!({})).is(200).json();
    let runs = day["runs"].as_array().unwrap();
    let own: Vec<&Value> = runs.iter().filter(|r| r["developer"] == "Twinrope, 1+1+100").collect();
    assert!(!own.is_empty(), "{day}");
    let ml = |v: &Value| v.as_f64().unwrap();
    for run in &own {
        let (a, b) = (&run["parts"][0], &run["parts"][1]);
        assert_eq!((&a["name"], &b["name"]), (&json!("A"), &json!("B")));
        assert_eq!(a["ml"], b["ml"], "equal parts");
        assert!((ml(&run["water_ml"]) - 100.0 * ml(&a["ml"])).abs() < 1e-6, "{run}");
        assert!((ml(&run["concentrate_ml"]) - 2.0 * ml(&a["ml"])).abs() < 1e-6, "{run}");
        assert!((ml(&run["developer_ml"]) - 102.0 * ml(&a["ml"])).abs() < 1e-6, "{run}");
    }
    let total =
        day["totals"].as_array().unwrap().iter().find(|t| t["developer"] == "Twinrope, 1+1+100");
    let all: f64 = own.iter().map(|r| ml(&r["parts"][0]["ml"])).sum();
    assert!((ml(&total.unwrap()["parts"][1]["ml"]) - all).abs() < 1e-6, "{day}");

    // The sheet, the sink and the tank card name both, and the shelf counts each bottle.
    let part = format!("{all:.1}");
    lead.get(&format!("/days/{date}"))
        .is(200)
        .says("<bdi>A</bdi>")
        .says("<bdi>B</bdi>")
        .says(&part);
    lead.get(&format!("/runs/{}", own[0]["id"])).is(200).says("<bdi>A</bdi>").says("<bdi>B</bdi>");
    lead.get("/tank-cards/1").is(200).says("<bdi>A</bdi>").says("<bdi>B</bdi>");
    let held = |name: &str| {
        let body = lead.get("/shelf").is(200).body;
        let at =
            body.find(&format!("<bdi>{name}</bdi>")).unwrap_or_else(|| panic!("{name}: {body}"));
        let path =
            body[..at].rsplit("href=\"").next().unwrap().split('"').next().unwrap().to_owned();
        lead.get(&path).is(200).body
    };
    for name in ["Twinrope A", "Twinrope B"] {
        assert!(
            held(name).contains("250"),
            "nothing is drawn of {name} before the run has happened"
        );
    }
    for run in &own {
        lead.post(&format!("/runs/{}/end", run["id"]), &[]).is(303);
    }
    let left = format!("{:.1}", 250.0 - all);
    let left = left.trim_end_matches(".0");
    for name in ["Twinrope A", "Twinrope B"] {
        assert!(held(name).contains(left), "{left} ml are left of {name}: {}", held(name));
    }

    // A part that does not fit is refused beside its field, and a dilution may name three.
    let wish = |parts: &'static str| {
        [
            ("name", "Spindle, 1+1.5+50"),
            ("product", "Spindle"),
            ("water_parts", "50"),
            ("least", "3"),
            ("handling", "one_shot"),
            ("parts", parts),
            ("on_hand", "yes"),
        ]
    };
    lead.post("/chart/developers", &wish("A 2 + B 1")).is(422).says("The first is one part");
    lead.post("/chart/developers", &wish("A 1 + B 1.5")).is(303);
    lead.get("/chart/developers").is(200).says("A 1 + B 1.5");
});

on_both!(how_far_a_large_day_is_is_told_in_every_phase_of_it, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    many(house, 130);
    let turn = house.app.planning.lock();
    let begun = lead.post("/days", &[("date", "2027-03-20")]).is(303);
    let job = begun.location.clone().unwrap();
    let waits = lead.get(&format!("{job}/state")).is(200).json();
    assert_eq!((&waits["phase"], &waits["over"]), (&json!("waiting"), &json!(false)));
    lead.get(&job).is(200).says("plans another large day first").says("<progress");
    drop(turn);
    let (mut phases, mut last) = (vec!["waiting".to_owned()], json!(0));
    for _ in 0..1200 {
        let seen = lead.get(&format!("{job}/state")).is(200).json();
        let (phase, done, of) = (seen["phase"].as_str().unwrap(), &seen["done"], &seen["of"]);
        assert!(done.as_i64().unwrap() <= of.as_i64().unwrap(), "{seen}");
        if phases.last().is_some_and(|p| p == phase) {
            assert!(done.as_i64() >= last.as_i64(), "it never goes back: {seen} after {last}");
        } else {
            phases.push(phase.to_owned());
        }
        last = done.clone();
        if seen["over"] == true {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let order = ["waiting", "placing", "grouping", "trying", "proving", "in_turn", "keeping"];
    let at = |p: &String| order.iter().position(|o| o == p).unwrap();
    assert!(phases.windows(2).all(|w| at(&w[0]) < at(&w[1])), "{phases:?}");
    assert_eq!(phases.last().map(String::as_str), Some("keeping"));
    assert_eq!(over(&lead, &job), "/days/2027-03-20/plan");
});

on_both!(a_large_day_is_planned_in_the_background_and_can_be_stopped, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    many(house, 130);
    // Another large day has its turn on this server.
    let turn = house.app.planning.lock();
    let begun = lead.post("/days", &[("date", "2027-03-20")]).is(303);
    let job = begun.location.clone().expect("a place to look");
    assert!(job.starts_with("/days/planning/"), "{job}");
    lead.get("/days").is(200).says("Being planned");
    // The same day is not planned twice at once.
    let again = lead.post("/days", &[("date", "2027-03-20")]).is(303);
    assert_eq!(again.location.as_deref(), Some(job.as_str()));
    lead.post(&job, &[("wanted", "more")]).is(422);
    drop(turn);
    lead.post(&job, &[("wanted", "enough")]).is(303);
    let draft = over(&lead, &job);
    assert_eq!(draft, "/days/2027-03-20/plan");
    lead.get(&draft).is(200).says("not yet published");
    // The beginning and what came of it stand in the trail; how far it was does not.
    let own = |line: &&Row| line.0 == Some(lead.id) && line.2 == "POST /days";
    assert_eq!(lines(house).iter().filter(own).count(), 2);

    let turn = house.app.planning.lock();
    let second = lead.post("/days", &[("date", "2027-03-21")]).is(303);
    let job = second.location.clone().unwrap();
    lead.post(&job, &[("wanted", "drop")]).is(303);
    assert_eq!(over(&lead, &job), "/days", "dropped while it waits");
    drop(turn);
    let none = lead.get("/days/2027-03-21/plan").is(303);
    lead.follow(none).says("There is no draft for that day");
    house.person("Hedda", Role::Member).get(&job).is(403);
});

fn many(house: &House, count: usize) {
    let member = house.person("Arnor", Role::Member);
    hand_in(&house.api(&member), count, "Gannet 400", 400, None);
}

/// Where a job leads when it is over.
fn over(lead: &crate::house::Browser, job: &str) -> String {
    for _ in 0..1200 {
        let seen = lead.get(job);
        if seen.status == 303 {
            return seen.location.clone().unwrap();
        }
        std::thread::sleep(std::time::Duration::from_millis(100));
    }
    panic!("{job} does not end")
}

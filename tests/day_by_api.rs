//! A whole day by programs alone: twenty-four rolls in four developers planned, published, worked step
//! by step, ended; rolls on the hook and ready, fixer booked once, letters written.

use serde_json::{Value, json};
use wetside::demo;
use wetside::sessions::Role;

use crate::house::{Api, House};

const DATE: &str = "2027-03-18";
const BAG: [(&str, i64, &str); 4] = [
    ("Gannet 400", 400, "Saltmarsh concentrate, 1+31"),
    ("Skerry T 400", 400, "Fathom stock, 1+1"),
    ("Mudlark 50", 50, "Lamplight concentrate, 1+9"),
    ("Kelp 64", 64, "Fathom stock, undiluted"),
];

fn chart(api: &Api) -> Vec<Value> {
    let (mut all, mut path) = (Vec::new(), "/api/v1/recipes".to_owned());
    loop {
        let page = api.get(&path).is(200).json();
        all.extend(page["items"].as_array().unwrap().iter().cloned());
        match page["next"].as_str() {
            Some(next) => path = format!("/api/v1/recipes?after={}", next.replace(' ', "%20")),
            None => return all,
        }
    }
}

fn fixer_left(api: &Api) -> f64 {
    let all = api.get("/api/v1/baths").is(200).json();
    let fixers = all["items"].as_array().unwrap().iter().filter(|b| b["kind"] == "fixer");
    fixers.map(|b| b["remaining"].as_f64().unwrap()).sum()
}

fn hand_in(house: &House) -> Vec<String> {
    let member = house.person("Hedda", Role::Member);
    let api = house.api(&member);
    let chart = chart(&api);
    let mut tickets = Vec::new();
    for (n, (film, ei, developer)) in BAG.iter().cycle().take(24).enumerate() {
        let is_it =
            |r: &&Value| r["film"] == *film && r["ei"] == *ei && r["developer"] == *developer;
        let recipe = chart.iter().find(is_it).unwrap_or_else(|| panic!("{film} in {developer}"));
        let wish = json!({"film": film, "ei": ei, "format": "135-36", "accept_terms": 1,
            "recipe_id": recipe["id"]});
        let key = format!("roll {n}");
        let roll = api.post_keyed("/api/v1/rolls", Some(&key), &wish).is(201).json();
        tickets.push(roll["ticket"].as_str().unwrap().to_owned());
    }
    tickets
}

fn work(api: &Api, house: &House, run: &Value) {
    let door = format!("/api/v1/runs/{}", run["id"]);
    let tell = |what: Value| api.post(&format!("{door}/events"), &what);
    tell(json!({"kind": "loaded"})).is(201);
    let warm = json!({"kind": "measured", "temperature_c": 20.2});
    assert_eq!(tell(warm).is(201).json()["time_s"], run["time_s"], "within half a degree");
    tell(json!({"kind": "step", "step": 3})).is(409);
    tell(json!({"kind": "step"})).is(422);
    tell(json!({"kind": "dance"})).is(422);
    let steps = api.get(&door).is(200).json()["steps"].as_array().unwrap().clone();
    for step in &steps {
        tell(json!({"kind": "step", "step": step["n"]})).is(201);
        house.clock.advance(step["seconds"].as_i64().unwrap() + 6);
    }
    tell(json!({"kind": "paused"})).is(201);
    house.clock.advance(20);
    tell(json!({"kind": "went_on"})).is(201);
    assert_eq!(api.get(&door).is(200).json()["state"], "working");
    let first = api.post(&format!("{door}/end"), &json!({})).is(200).json();
    assert_eq!(first["state"], "over");
    assert!(first["record"].as_str().unwrap().contains("6 s over"), "{first}");
    assert_eq!(api.post(&format!("{door}/end"), &json!({})).is(200).json(), first);
    tell(json!({"kind": "paused"})).is(409);
}

on_both!(a_whole_day_by_programs_alone, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let api = house.api(&lead);
    let fresh = [
        ("product", "1"),
        ("volume_ml", "2000"),
        ("water_parts", "4"),
        ("label", "Fresh fixer"),
        ("place", "working"),
        ("material", "film"),
        ("way", "shared"),
        ("rolls_per_litre", "40"),
        ("margin", "100"),
        ("least_ml", "300"),
        ("minutes", "5"),
        ("keeps_days", "60"),
    ];
    lead.post("/baths", &fresh).is(303);
    let tickets = hand_in(house);
    let booked = [("sink", "1"), ("date", DATE), ("from", "12:00"), ("to", "14:00")];
    house.person("Arnor", Role::Member).post("/bookings", &booked).is(303);

    let plan = api.post("/api/v1/plans", &json!({"date": DATE})).is(201).json();
    let left: Vec<String> = plan["left_over"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| l["roll"].as_str().unwrap().to_owned())
        .filter(|t| tickets.contains(t))
        .collect();
    let before = house.letters().len();
    let day = api.post(&format!("/api/v1/plans/{DATE}/publish"), &json!({})).is(200).json();
    assert!(house.letters().len() > before, "owners hear of their rolls");
    let sheet = api.get(&format!("/api/v1/mix-sheets/{DATE}")).is(200).json();
    assert_eq!(sheet, day, "the sheet is what was published");
    let runs = sheet["runs"].as_array().unwrap();
    let on_it: Vec<&str> = runs
        .iter()
        .flat_map(|r| r["rolls"].as_array().unwrap())
        .map(|t| t.as_str().unwrap())
        .collect();
    for ticket in &tickets {
        assert!(on_it.contains(&ticket.as_str()) || left.contains(ticket), "{ticket} is lost");
    }
    // Eight reels that dry for two hours, and a bottle of four and a half rolls' worth, leave some
    // over; each of them has its reason.
    let reasons = plan["left_over"].as_array().unwrap();
    assert!(reasons.iter().all(|l| l["reason"].as_str().is_some_and(|r| r.len() > 20)));
    assert!(on_it.iter().filter(|t| tickets.iter().any(|own| own == *t)).count() >= 8, "{day}");
    let developers: std::collections::BTreeSet<&str> =
        runs.iter().map(|r| r["developer"].as_str().unwrap()).collect();
    assert!(developers.len() >= 3, "{developers:?}");
    // Nothing of the day meets the member's booking at that sink.
    for run in runs.iter().filter(|r| r["sink_id"] == 1) {
        let (from, to) = (run["start"].as_str().unwrap(), run["end"].as_str().unwrap());
        assert!(to <= "2027-03-18T12:00" || from >= "2027-03-18T14:00", "{from} to {to}");
    }

    house.clock.advance(3 * 86_400 - 3600);
    let before = fixer_left(&api);
    let mut due = 0.0;
    for run in runs.iter().take(3) {
        work(&api, house, run);
        due += run["fixer"].as_f64().unwrap();
        for ticket in run["rolls"].as_array().unwrap() {
            let ticket = ticket.as_str().unwrap();
            let roll = api.get(&format!("/api/v1/rolls/{ticket}")).is(200).json();
            assert_eq!(roll["status"], "on_the_hook");
            let ready = json!({"status": "ready"});
            api.post(&format!("/api/v1/rolls/{ticket}/state"), &ready).is(200);
        }
    }
    assert!((before - fixer_left(&api) - due).abs() < 1e-9, "booked once");
    let late = api.post(&format!("/api/v1/days/{DATE}/slide"), &json!({"minutes": 12})).is(200);
    assert!(late.json()["moved"].as_u64().is_some());
    api.post(&format!("/api/v1/days/{DATE}/slide"), &json!({"minutes": 0})).is(422);
    assert!(house.letters().iter().any(|l| l.to == "hedda@quillhaven.example"));
});

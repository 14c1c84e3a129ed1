//! A published day at the sink: told step by step, ended, given up, slipped, taken back.

use serde_json::Value;
use wetside::demo;
use wetside::sessions::Role;

use crate::house::{Answer, Browser, House};

const DAY: &str = "2027-03-15";

/// A lead, and the runs of the published day.
fn published(house: &House) -> (Browser, Vec<Value>) {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    lead.post("/days", &[("date", DAY)]).is(303);
    lead.post(&format!("/days/{DAY}/publish"), &[]).is(303);
    let sheet = house.api(&lead).get(&format!("/api/v1/mix-sheets/{DAY}")).is(200).json();
    (lead, sheet["runs"].as_array().unwrap().clone())
}

fn told(lead: &Browser, run: &Value, fields: &[(&str, &str)]) -> Answer {
    lead.post(&format!("/runs/{}/tell", run["id"]), fields)
}

fn state(lead: &Browser, run: &Value) -> Value {
    lead.get(&format!("/runs/{}/state", run["id"])).is(200).json()
}

fn rolls(house: &House, lead: &Browser, status: &str) -> usize {
    let all = house.api(lead).get(&format!("/api/v1/rolls?status={status}")).is(200).json();
    all["items"].as_array().unwrap().len()
}

on_both!(a_run_is_told_step_by_step_and_recorded_as_it_was, |house| {
    let (lead, runs) = published(house);
    let run = &runs[0];
    told(&lead, run, &[("kind", "loaded")]).is(303);
    assert_eq!(rolls(house, &lead, "loaded"), run["rolls"].as_array().unwrap().len());

    // A step out of order is refused in words; the same step twice, or from two phones, counts once.
    let early = told(&lead, run, &[("kind", "step"), ("step", "2")]).is(303);
    lead.follow(early).says("The next step is");
    told(&lead, run, &[("kind", "step"), ("step", "0")]).is(303);
    let began = state(&lead, run)["begun"][0][1].as_i64().unwrap();
    house.clock.advance(65);
    told(&lead, run, &[("kind", "step"), ("step", "0")]).is(303);
    assert_eq!(state(&lead, run)["begun"], serde_json::json!([[0, began]]));

    // The measured temperature corrects the time and shows its working.
    let wrong = told(&lead, run, &[("kind", "measured"), ("celsius", "hot")]).is(303);
    lead.follow(wrong).says("is not a temperature");
    let warm = told(&lead, run, &[("kind", "measured"), ("celsius", "21,5")]).is(303);
    lead.follow(warm).says("Develop for").says("temperature:");

    // Told late, after the network was away: the moment it says counts, not the one it came.
    told(&lead, run, &[("kind", "step"), ("step", "1"), ("at", &(began + 61).to_string())]).is(303);
    let seen = state(&lead, run);
    assert_eq!(seen["begun"][1], serde_json::json!([1, began + 61]));
    house.clock.advance(seen["steps"][1]["seconds"].as_i64().unwrap() + 16);
    told(&lead, run, &[("kind", "step"), ("step", "2")]).is(303);
    lead.get(&format!("/runs/{}", run["id"]))
        .is(200)
        .says("Fetch and mix")
        .says("The steps by the clock");
    lead.get("/sink")
        .is(200)
        .says("the next movement of the hand first")
        .says(run["tank"].as_str().unwrap());

    lead.post(&format!("/runs/{}/end", run["id"]), &[("back", "run")]).is(303);
    let ticket = run["rolls"][0].as_str().unwrap();
    lead.get(&format!("/rolls/{ticket}")).is(200).says("On the hook");
    lead.get(&format!("/runs/{}", run["id"])).is(200).says("Developer 20 s over").says("milky");
    told(&lead, run, &[("kind", "paused")]).is(303);
    let before = rolls(house, &lead, "re_fix");
    lead.post(&format!("/runs/{}/fix-again", run["id"]), &[]).is(303);
    assert_eq!(rolls(house, &lead, "re_fix"), before + run["rolls"].as_array().unwrap().len());

    // Others look, and do not touch.
    let other = house.person("Sunniva", Role::Member);
    other.get(&format!("/runs/{}", runs[1]["id"])).is(200);
    told(&other, &runs[1], &[("kind", "loaded")]).is(403);
    other.post(&format!("/runs/{}/end", runs[1]["id"]), &[]).is(403);
});

/// What is recorded of the first roll of a run, and the state its baths have before it goes in.
fn recorded(house: &House, lead: &Browser, run: &Value) -> Value {
    let all = house.api(lead).get("/api/v1/results").is(200).json();
    let ticket = &run["rolls"][0];
    let items = all["items"].as_array().unwrap();
    items.iter().find(|r| &r["ticket"] == ticket).unwrap_or_else(|| panic!("{ticket}")).clone()
}

fn bath<'a>(record: &'a Value, what: &str) -> &'a Value {
    let all = record["baths"].as_array().unwrap();
    all.iter().find(|b| b["what"] == what).unwrap_or_else(|| panic!("no {what} in {record}"))
}

on_both!(a_record_names_every_bath_with_the_state_the_film_found_it_in, |house| {
    let (lead, runs) = published(house);
    let run = &runs[0];
    let api = house.api(&lead);
    let before = api.get("/api/v1/baths").is(200).json();
    let all = before["items"].as_array().unwrap();
    let of = |kind: &str| all.iter().find(|b| b["kind"] == kind && b["place"] == "working");
    for step in 0..3 {
        told(&lead, run, &[("kind", "step"), ("step", &step.to_string())]).is(303);
        house.clock.advance(50);
    }
    told(&lead, run, &[("kind", "step"), ("step", "3")]).is(303);
    lead.post(&format!("/runs/{}/end", run["id"]), &[("back", "run")]).is(303);
    let record = recorded(house, &lead, run);
    for (kind, what) in [("stop", "Stop bath"), ("fixer", "Fixer")] {
        let (then, was) = (bath(&record, what), of(kind).unwrap());
        assert_eq!(then["label"], was["label"]);
        let left = format!("Good, {} rolls' worth left, ", was["remaining"].as_f64().unwrap());
        let state = then["state"].as_str().unwrap();
        assert!(state.starts_with(&left) && state.contains(" days old, "), "{state} for {was}");
    }
    assert_eq!(bath(&record, "Stop bath")["seconds"], 50);
    assert!(
        bath(&record, "Fixer")["state"].as_str().unwrap().contains("1+4, cleared film in 1:21")
    );
    let page = lead.get(&format!("/rolls/{}", run["rolls"][0].as_str().unwrap())).is(200);
    page.says("<dt>Stop bath</dt>").says(bath(&record, "Stop bath")["label"].as_str().unwrap());
});

on_both!(where_no_stop_bath_is_shared_the_record_says_what_stopped_the_film, |house| {
    let (lead, runs) = published(house);
    let baths = house.api(&lead).get("/api/v1/baths").is(200).json();
    let all = baths["items"].as_array().unwrap();
    let stop = all.iter().find(|b| b["kind"] == "stop").unwrap();
    let door = format!("/baths/{}/retire", stop["id"]);
    let page = lead.get(&door).is(200).body;
    let before = page.split("Used stop bath only").next().unwrap();
    let can = before.rsplit("<option value=\"").next().unwrap().split('"').next().unwrap();
    lead.post(&door, &[("container", can), ("volume_ml", "500"), ("note", "")]).is(303);
    lead.post(&format!("/runs/{}/end", runs[0]["id"]), &[("back", "run")]).is(303);
    let record = recorded(house, &lead, &runs[0]);
    assert_eq!(bath(&record, "Stop bath")["label"], "Mixed for the run");
    let page = lead.get("/days/figures").is(200).body;
    let value = |input: &str, name: &str| {
        let rest = input.split_once(&format!(" {name}=\""))?.1;
        rest.split_once('"').map(|(value, _)| value.to_owned())
    };
    let inputs = page.split("<input").skip(1).map(|i| i.split('>').next().unwrap());
    let fields: Vec<(String, String)> = inputs
        .filter_map(|i| Some((value(i, "name")?, value(i, "value")?)))
        .filter(|(name, _)| !name.contains("key"))
        .map(|(name, v)| if name == "water_stop" { (name, "1".to_owned()) } else { (name, v) })
        .collect();
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (&**k, &**v)).collect();
    lead.post("/days/figures", &fields).is(303);
    lead.post(&format!("/runs/{}/end", runs[1]["id"]), &[("back", "run")]).is(303);
    let record = recorded(house, &lead, &runs[1]);
    assert_eq!(bath(&record, "Stop bath")["label"], "Water");
});

on_both!(film_of_a_run_that_was_given_up_keeps_its_record, |house| {
    let (lead, runs) = published(house);
    let run = &runs[0];
    for step in 0..2 {
        told(&lead, run, &[("kind", "step"), ("step", &step.to_string())]).is(303);
    }
    let leak = [("what", "leak"), ("fate", "lost"), ("note", "The lid cracked.")];
    lead.post(&format!("/runs/{}/abort", run["id"]), &leak).is(303);
    let record = recorded(house, &lead, run);
    assert!(record["note"].as_str().unwrap().contains("The lid cracked."), "{record}");
    let baths = record["baths"].to_string();
    assert!(
        !baths.contains("Fixer") && !baths.contains("Stop bath"),
        "it never came to them: {baths}"
    );
});

on_both!(the_wrong_bottle_is_named_before_it_is_poured, |house| {
    let (lead, runs) = published(house);
    let run = &runs[0];
    for step in 0..4 {
        told(&lead, run, &[("kind", "step"), ("step", &step.to_string())]).is(303);
    }
    let door = format!("/runs/{}/bottle", run["id"]);
    let right = lead.post(&door, &[("bottle", "fixer 12, working bottle")]).is(303);
    lead.follow(right).says("Yes: this is Fixer 12");
    let wrong = lead.post(&door, &[("bottle", "Stop 3")]).is(303);
    lead.follow(wrong).says("No. This step wants Fixer 12");
});

on_both!(a_run_that_is_given_up_frees_its_tank_and_tells_everybody, |house| {
    let (lead, runs) = published(house);
    let run = &runs[0];
    let door = format!("/runs/{}/abort", run["id"]);
    let unsaid = lead.post(&door, &[("what", "leak")]).is(303);
    lead.follow(unsaid).says("Please choose what happened");
    let before = rolls(house, &lead, "spoiled");
    let leak = [("what", "leak"), ("fate", "lost"), ("note", "The lid cracked.")];
    let gone = lead.post(&door, &leak).is(303);
    lead.follow(gone).says("The owners and the leads are told");
    assert_eq!(rolls(house, &lead, "spoiled"), before + run["rolls"].as_array().unwrap().len());
    let letters = house.letters();
    assert!(
        letters.iter().any(|l| l.subject.contains("given up") && l.text.contains("lid cracked"))
    );
    // Nothing of it was in the fixer, so nothing is in its ledger.
    let baths = house.api(&lead).get("/api/v1/baths").is(200).json();
    assert_eq!(baths["items"][0]["remaining"], 11.0);
    lead.post(&door, &leak).is(303);
});

on_both!(a_day_slips_as_a_whole_and_names_what_is_in_the_way, |house| {
    let (lead, runs) = published(house);
    let slide = lead.post(&format!("/days/{DAY}/slide"), &[("minutes", "12")]).is(303);
    lead.follow(slide).says("12 min later").says("Versions of this day");
    let after = house.api(&lead).get(&format!("/api/v1/mix-sheets/{DAY}")).is(200).json();
    for (was, is) in runs.iter().zip(after["runs"].as_array().unwrap()) {
        assert_eq!(was["rolls"], is["rolls"]);
        assert_ne!(was["start"], is["start"]);
    }
    assert_eq!(after["version"], 2);
    // Who is only twelve minutes later reads it on the page; nobody is written to.
    let hit = "developed at another time";
    let written = || -> Vec<String> {
        let letters = house.letters().into_iter().filter(|l| l.subject.contains(hit));
        letters.map(|l| l.to).collect()
    };
    assert_eq!(written(), Vec::<String>::new());

    // Somebody has the sink of the last run just after it: it cannot follow there.
    let last =
        after["runs"].as_array().unwrap().iter().max_by_key(|r| r["end"].to_string()).unwrap();
    let end: chrono::DateTime<chrono::FixedOffset> = last["end"].as_str().unwrap().parse().unwrap();
    let minute = |m: i64| (end + chrono::TimeDelta::minutes(m)).format("%H:%M").to_string();
    let round = 30 - i64::from(end.format("%M").to_string().parse::<u8>().unwrap() % 15);
    let sink = if last["sink"] == "North sink" { "1" } else { "2" };
    let (from, to) = (minute(round), minute(round + 60));
    let booked = [("sink", sink), ("date", DAY), ("from", from.as_str()), ("to", to.as_str())];
    house.person("Hedda", Role::Member).post("/bookings", &booked).is(303);
    let slide = lead.post(&format!("/days/{DAY}/slide"), &[("minutes", "30")]).is(303);
    lead.follow(slide).says("could not follow");
    // Now the owners of the run that found its place taken are told, once each, and nobody else.
    let tickets: Vec<&str> =
        last["rolls"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    let mut owners: Vec<String> =
        last["reels"].as_array().unwrap().iter().map(|r| r["owner"].to_string()).collect();
    owners.sort_unstable();
    owners.dedup();
    let (letters, mut to) = (house.letters(), written());
    to.sort_unstable();
    let mut each = to.clone();
    each.dedup();
    assert_eq!((to.len(), each.len()), (owners.len(), owners.len()), "{to:?} for {owners:?}");
    for letter in letters.iter().filter(|l| l.subject.contains(hit)) {
        let spoken = |t: &str| format!("{}-{}", &t[..3], &t[3..]);
        assert!(tickets.iter().any(|t| letter.text.contains(&spoken(t))), "{}", letter.text);
    }
});

on_both!(a_run_taken_back_gives_its_rolls_and_its_room_back, |house| {
    let (lead, runs) = published(house);
    let door = format!("/days/{DAY}/runs/{}/take-back", runs[0]["id"]);
    let unsaid = lead.post(&door, &[]).is(303);
    lead.follow(unsaid).says("Write why");
    let back = lead.post(&door, &[("why", "The tank is cracked")]).is(303);
    lead.follow(back).says("taken back: The tank is cracked");
    let planned = rolls(house, &lead, "planned");
    let all: usize = runs.iter().map(|r| r["rolls"].as_array().unwrap().len()).sum();
    assert_eq!(planned, all - runs[0]["rolls"].as_array().unwrap().len());
    let told = house.letters().into_iter().filter(|l| l.subject.contains("after all")).count();
    assert!(told >= 1);
    // Its rolls can be planned again at once, around what stands.
    let again = lead.post("/days", &[("date", DAY)]).is(303);
    lead.follow(again).says("not yet published");
    let published = lead.post(&format!("/days/{DAY}/publish"), &[]).is(303);
    lead.follow(published).says("added");
});

on_both!(the_leads_hear_of_a_day_the_evening_before_and_in_the_morning, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let tomorrow = "2027-03-16";
    lead.post("/days", &[("date", tomorrow)]).is(303);
    lead.post(&format!("/days/{tomorrow}/publish"), &[]).is(303);
    let counted = |kind: &str| {
        wetside::jobs::day_letters(&house.app, house.clock.now()).unwrap();
        house.letters().into_iter().filter(|l| l.subject.contains(kind)).count()
    };
    assert_eq!(counted("This evening"), 0, "it is ten in the morning");
    house.clock.advance(9 * 3600);
    assert_eq!(counted("This evening"), 3, "one to each lead");
    assert_eq!(counted("This evening"), 3, "and only once");
    house.clock.advance(13 * 3600);
    assert_eq!(counted("Today in the darkroom"), 3);
});

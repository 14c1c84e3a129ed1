//! Film of a published day follows the bottles that stand there when its runs begin.

use serde_json::{Value, json};
use wetside::demo;
use wetside::sessions::Role;

use super::mixing;
use crate::day_liquids::{DAY, bath, left};

on_both!(film_follows_the_bottle_when_its_fixer_was_poured_away, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let api = house.api(&lead);
    let old = "Fixer 12, working bottle";
    api.post("/api/v1/plans", &json!({"date": DAY})).is(201);
    api.post(&format!("/api/v1/plans/{DAY}/publish"), &json!({})).is(200);
    lead.get(&format!("/days/{DAY}")).is(200).says(old);
    let before = left(&api, old);
    let id = bath(&api, old)["id"].to_string();
    let retire = [("container", "1"), ("volume_ml", "1000"), ("note", "")];
    lead.post(&format!("/baths/{id}/retire"), &retire).is(303);
    lead.post("/baths", &mixing(&[("label", "The fresh one")])).is(303);
    let now = house.clock.now();
    wetside::jobs::day_letters(&house.app, now).unwrap();
    let sheet = lead.get(&format!("/days/{DAY}")).is(200).says("The fresh one").body;
    assert!(!sheet.contains(old), "nobody is sent to a bottle that is gone");
    let run = api.get(&format!("/api/v1/mix-sheets/{DAY}")).is(200).json()["runs"][0]["id"].clone();
    lead.post(&format!("/runs/{run}/end"), &[]).is(303);
    assert!(left(&api, "The fresh one") < 15.0, "its ledger has the film");
    assert!(before > 0.0);
    lead.get(&format!("/baths/{id}")).is(200).says("Retired");
});

on_both!(film_follows_both_of_two_baths_when_they_are_rotated_or_one_is_gone, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let api = house.api(&lead);
    let id = |label: &str| bath(&api, label)["id"].clone();
    let gone = |id: &Value| {
        let retire = [("container", "1"), ("volume_ml", "900"), ("note", "")];
        lead.post(&format!("/baths/{id}/retire"), &retire).is(303);
        wetside::jobs::day_letters(&house.app, house.clock.now()).unwrap();
    };
    // Film goes through two baths, one after the other.
    for (label, place) in [("The first of two", "bath_1"), ("The second of two", "bath_2")] {
        lead.post("/baths", &mixing(&[("label", label), ("place", place)])).is(303);
    }
    gone(&id("Fixer 12, working bottle"));
    api.post("/api/v1/plans", &json!({"date": DAY})).is(201);
    api.post(&format!("/api/v1/plans/{DAY}/publish"), &json!({})).is(200);
    let run = || api.get(&format!("/api/v1/mix-sheets/{DAY}")).is(200).json()["runs"][0].clone();
    let baths = || (run()["fixer_id"].clone(), run()["second_fixer_id"].clone());
    let (first, second) = (id("The first of two"), id("The second of two"));
    assert_eq!(baths(), (first.clone(), second.clone()));
    let rotation = [
        ("container", "1"),
        ("volume_ml", "900"),
        ("fresh_ml", "1000"),
        ("label", "The fresh second"),
        ("note", ""),
    ];
    lead.post(&format!("/baths/{first}/rotate"), &rotation).is(303);
    wetside::jobs::day_letters(&house.app, house.clock.now()).unwrap();
    let fresh = id("The fresh second");
    assert_eq!(baths(), (second.clone(), fresh.clone()), "no film goes through one bath twice");
    let page = lead.get(&format!("/runs/{}", run()["id"])).is(200).says("From The second of two");
    page.says("From The fresh second");
    // Without a second bath it stays in the first for the whole time.
    gone(&fresh);
    assert_eq!(baths(), (second.clone(), Value::Null));
    let page = lead.get(&format!("/runs/{}", run()["id"])).is(200).says("From The second of two");
    assert!(!page.body.contains("Second fixer"));
});

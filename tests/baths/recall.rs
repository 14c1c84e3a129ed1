//! Looking back: what a bad test, a bad bottle or three bad films say of the others.

use serde_json::Value;
use wetside::baths;
use wetside::sessions::Role;

use super::{films, letters, mixing, stocked};

on_both!(a_failed_test_names_every_film_since_the_last_good_one, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let (ilse, odo) = (house.person("Ilse", Role::Member), house.person("Odo", Role::Member));
    let test = |seconds| [("seconds", seconds), ("film", ""), ("temperature", "")];
    ilse.post("/baths/1/uses", &films("120", "1")).is(303);
    lead.post("/baths/1/clip-tests", &test("60")).is(303);
    house.clock.advance(3600);
    ilse.post("/baths/1/uses", &films("135-36", "2")).is(303);
    odo.post("/baths/1/uses", &films("4x5", "4")).is(303);
    lead.post("/baths/1/clip-tests", &test("130")).is(303);
    let page = lead.get("/baths/1/recall").is(200).says("2 of 135-36").says("4 of 4x5").says("Odo");
    assert!(!page.body.contains("1 of 120"), "that one was proven by the good test");
    let done = lead.post("/baths/1/recall", &[]);
    lead.follow(done).is(200).says("2 people were written to").says("Films called back");
    let told: Vec<_> =
        house.letters().into_iter().filter(|l| l.subject.contains("found bad")).collect();
    assert_eq!(told.len(), 2);
    let to_odo = told.iter().find(|l| l.to.starts_with("odo")).unwrap();
    assert!(to_odo.text.contains("4 of 4x5") && !to_odo.text.contains("135-36"));
    ilse.get("/baths/1/recall").is(403);
});

on_both!(a_bad_bottle_names_the_films_of_every_bath_mixed_from_it, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let ilse = house.person("Ilse", Role::Member);
    ilse.post("/baths/1/uses", &films("120", "3")).is(303);
    lead.post("/shelf/bottles/1/set-aside", &[("reason", "Milky.")]).is(303);
    lead.get("/recall/bottles/1").is(200).says("3 of 120").says("lot L-7");
    lead.post("/recall/bottles/1", &[]).is(303);
    assert_eq!(letters(house, "found bad"), 1);
    lead.get("/recall/bottles/2").is(200).says("No film went through it");
});

on_both!(a_run_draws_its_developer_and_a_spent_fixer_marks_its_rolls, |house| {
    wetside::demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let api = house.api(&lead);
    let fixer = api.get("/api/v1/baths").json()["items"][0].clone();
    let (id, left) = (fixer["id"].clone(), fixer["remaining"].as_f64().unwrap());
    assert!((left - 11.0).abs() < 1e-9, "{fixer}");
    lead.post("/days", &[("date", "2027-03-15")]).is(303);
    lead.post(&format!("/baths/{id}/uses"), &films("120", "6")).is(303);
    lead.post("/days/2027-03-15/publish", &[]).is(303);
    // What is published passes the limit: told once, however often it is looked at.
    let now = house.clock.now();
    house.app.db.write_now(|tx| baths::watch(tx, now)).unwrap();
    let leads = 3;
    assert_eq!(letters(house, "Monday 15 March would pass its limit"), leads);
    lead.get("/shelf").is(200).says("Plans will draw");

    lead.post(&format!("/baths/{id}/uses"), &films("120", "5")).is(303);
    let sheet = api.get("/api/v1/mix-sheets/2027-03-15").json();
    let runs = sheet["runs"].as_array().unwrap();
    lead.post(&format!("/runs/{}/end", runs[0]["id"]), &[]).is(303);
    let marked = api.get("/api/v1/rolls?status=re_fix").json();
    let rolls = runs[0]["rolls"].as_array().unwrap();
    let is_marked =
        |ticket: &Value| marked["items"].as_array().unwrap().iter().any(|m| m["ticket"] == *ticket);
    assert!(!rolls.is_empty() && rolls.iter().all(is_marked), "{marked}");
    // Its film went through the stop bath too, once.
    let stop = api.get("/api/v1/baths").json()["items"][1].clone();
    assert_eq!(stop["kind"], "stop");
    let took = stop["capacity"].as_f64().unwrap() - stop["remaining"].as_f64().unwrap();
    assert!(took > 5.0, "{stop}");
    lead.post(&format!("/runs/{}/end", runs[0]["id"]), &[]).is(303);
    assert_eq!(api.get("/api/v1/baths").json()["items"][1], stop);
    // Its developer came off the shelf, or out of the stock mixed ahead.
    let drawn = ["/shelf/products/6", "/shelf/products/8", "/baths/16"];
    assert!(drawn.iter().any(|at| lead.get(at).is(200).body.contains("Run 1")));
    lead.post(
        &format!("/baths/{id}/clip-tests"),
        &[("seconds", "130"), ("film", "Gannet 400"), ("temperature", "20")],
    )
    .is(303);
    // The ticket stands in the recall with its owner.
    let ticket = rolls[0].as_str().unwrap().to_owned();
    lead.get(&format!("/baths/{id}/recall")).is(200).says(&ticket).says("To be fixed again");
    lead.post(&format!("/baths/{id}/recall"), &[]).is(303);
    assert!(
        house.letters().iter().any(|l| l.text.contains(&ticket) && l.subject.contains("found bad"))
    );
    // The month's costs name it too.
    lead.get("/costs").is(200).says("Mixed into baths");
});

on_both!(three_bad_films_from_one_lot_are_noticed_by_themselves, |house| {
    wetside::demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let api = house.api(&lead);
    lead.post("/days", &[("date", "2027-03-15")]).is(303);
    lead.post("/days/2027-03-15/publish", &[]).is(303);
    let sheet = api.get("/api/v1/mix-sheets/2027-03-15").json();
    let runs = sheet["runs"].as_array().unwrap();
    let now = house.clock.now();
    let mut noted = 0;
    for run in runs {
        lead.post(&format!("/runs/{}/end", run["id"]), &[]).is(303);
        for roll in run["rolls"].as_array().unwrap() {
            let ticket = roll.as_str().unwrap();
            house.app.db.write_now(|tx| baths::watch(tx, now)).unwrap();
            if noted < 3 {
                assert_eq!(letters(house, "came out badly"), 0, "after {noted}");
            }
            let result = [("look", "thin"), ("note", "Hardly anything on it.")];
            lead.post(&format!("/rolls/{ticket}/result"), &result).is(303);
            noted += 1;
        }
    }
    assert!(noted >= 3);
    for _ in 0..2 {
        house.app.db.write_now(|tx| baths::watch(tx, now)).unwrap();
    }
    // All runs share the fixer, so its lot at least is named: once to each of three leads.
    assert_eq!(letters(house, "all from lot ST-1022"), 3);
    lead.get("/baths").is(200).says("have lot ST-1022 of Slack Tide rapid fixer in common");
});

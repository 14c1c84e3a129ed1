//! Using: asked before, recorded after, once however often it is sent and however many come.

use serde_json::{Value, json};
use wetside::baths;
use wetside::sessions::Role;

use super::{films, letters, mixing, stocked};
use crate::house::{Answer, Api, House};

on_both!(a_member_asks_before_and_records_after, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let member = house.person("Ilse", Role::Member);
    member.get("/baths/1/use").is(200).says("15").says("Fix 5:00 min");
    member
        .get("/baths/1/use?format=135-36&count=3")
        .is(200)
        .says("It takes them")
        .says("12 are left");
    member.get("/baths/1/use?format=4x5&count=16&tabular=yes").is(200).says("9 are left");
    member.get("/baths/1/use?format=120&count=16").is(200).says("Do not put it in");
    member.get("/baths/1/use?format=110&count=x").is(422).says("choose a format");
    // What has happened is recorded, even over the limit, and says what to do.
    let said = member.post("/baths/1/uses", &films("120", "16"));
    member.follow(said).is(200).says("Re-fix these in fresh fixer").says("At its limit");
    member.get("/baths/1").is(200).says("-1").says("16 of 120");
    // 16 rolls carried out 16 x 15 ml.
    member.get("/baths/1").says("760 of 1000 ml");
});

on_both!(fixing_time_is_twice_the_measured_clearing_time_wherever_the_bath_is_used, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let test = |seconds| [("seconds", seconds), ("film", "Gannet 400"), ("temperature", "20")];
    lead.post("/baths/1/clip-tests", &test("75")).is(303);
    lead.get("/baths").is(200).says("Fix 2:30 min");
    lead.get("/baths/1/use").is(200).says("Fix 2:30 min");
    lead.get("/baths/1/label").is(200).says("2:30 min");
    let seen = house.api(&lead).get("/api/v1/baths").json();
    assert_eq!(seen["items"][0]["fix_seconds"], 150);
    lead.post("/baths/1/clip-tests", &test("150")).is(303);
    lead.get("/baths/1").is(200).says("Failed its test").says("Call films back");
    assert_eq!(letters(house, "failed its clip test"), 1);
});

on_both!(the_same_use_sent_twice_is_one_entry, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let api = house.api(&lead);
    let body = json!({"roll_equivalents": 2.5});
    for _ in 0..3 {
        let answer = api.post_keyed("/api/v1/baths/1/uses", Some("k-1"), &body).is(201).json();
        assert_eq!(answer["remaining"], 12.5);
    }
    api.post_keyed("/api/v1/baths/1/uses", Some("k-1"), &json!({"roll_equivalents": 3.0})).is(422);
    // A double click sends the form's own key twice.
    let form = [("format", "120"), ("count", "1"), ("once_key", "the-same-click")];
    lead.post("/baths/1/uses", &form).is(303);
    lead.post("/baths/1/uses", &form).is(303);
    assert_eq!(api.get("/api/v1/baths").json()["items"][0]["remaining"], 11.5);
});

/// Fifty members record a use at the same instant, on two servers on PostgreSQL; the limit is 15.
fn crowd(house: &House, servers: &[String], bath: i64) -> Vec<Answer> {
    let tokens: Vec<String> = (0..50)
        .map(|n| {
            let id = house.put_person(&format!("Crowd {bath} {n}"), Role::Member);
            let now = house.clock.now();
            let issue =
                |tx: &mut wetside::db::Tx<'_>| wetside::sessions::issue_token(tx, now, id, "crowd");
            house.app.db.write_now(issue).unwrap()
        })
        .collect();
    let start = std::sync::Barrier::new(tokens.len());
    std::thread::scope(|s| {
        let running: Vec<_> = tokens
            .into_iter()
            .enumerate()
            .map(|(n, token)| {
                let (url, start) = (&servers[n % servers.len()], &start);
                s.spawn(move || {
                    let api = Api::new(url, Some(token));
                    start.wait();
                    let body = json!({"roll_equivalents": 0.5});
                    api.post_keyed(&format!("/api/v1/baths/{bath}/uses"), Some("once"), &body)
                })
            })
            .collect();
        running.into_iter().map(|r| r.join().unwrap()).collect()
    })
}

on_both!(fifty_uses_at_once_are_summed_exactly_and_told_once, |house| {
    let lead = stocked(house);
    let mut servers = vec![house.url.clone()];
    if !house.app.db.engine().is_sqlite() {
        servers.push(house.second().url);
    }
    // The whole check of a hundred rounds is ops/check/mail.
    let rounds: i64 =
        std::env::var("WETSIDE_ROUNDS").ok().and_then(|r| r.parse().ok()).unwrap_or(1);
    for round in 1..=rounds {
        let new = baths::NewBath {
            capacity_milli: 15_000,
            ..baths::NewBath::of(baths::Kind::Fixer, format!("Crowded {round}"), house.clock.now())
        };
        let bath = house.app.db.write_now(|tx| baths::mix(tx, &new)).unwrap();
        for answer in crowd(house, &servers, bath) {
            answer.is(201);
        }
        let seen = house.api(&lead).get("/api/v1/baths").json();
        let one =
            seen["items"].as_array().unwrap().iter().find(|b| b["id"] == bath).unwrap().clone();
        assert_eq!((&one["remaining"], &one["state"]), (&json!(-10.0), &Value::from("at_limit")));
        let about = |what: &str| letters(house, &format!("Crowded {round}: {what}"));
        assert_eq!((about("near its limit"), about("at its limit")), (1, 1), "round {round}");
    }
});

on_both!(costs_are_each_films_share_of_what_was_paid, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let (ilse, odo) = (house.person("Ilse", Role::Member), house.person("Odo", Role::Member));
    ilse.post("/baths/1/uses", &films("120", "3")).is(303);
    odo.post("/baths/1/uses", &films("220", "1")).is(303);
    // 200 ml of 1000 ml at 20.00 are 4.00 for 15 rolls' worth.
    ilse.get("/costs").is(200).says("3 of 120").says("0.80");
    let page = odo.get("/costs?month=2027-03").is(200).says("0.53");
    assert!(!page.body.contains("3 of 120"), "another member's films");
    odo.get("/costs?month=2027-02").is(200).says("No film of yours");
    lead.get("/costs").is(200).says("Ilse").says("4.00");
    let all = lead.get("/costs.csv?month=2027-03").is(200).body;
    assert!(all.contains(",Ilse,3 of 120,3,0.00,0.80,0.80,EUR\r\n"), "{all}");
    assert!(!odo.get("/costs.csv?month=2027-03").is(200).body.contains("Ilse"));
});

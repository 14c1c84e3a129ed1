//! How long film waits: joining a published run, waiting for a test roll, letters about waiting.

use wetside::demo;
use wetside::rolls;
use wetside::sessions::Role;

use crate::house::{Answer, Browser, House};
use crate::recipes::{RECIPE, put_chart};

/// Tomorrow, as the house counts: a run of today may begin too soon to be joined.
const DAY: &str = "2027-03-16";

/// Hands in one roll; its ticket and id.
fn hand_in(house: &House, of: &Browser, film: &str, ei: i64) -> (String, i64) {
    let wish = serde_json::json!({"format": "135-36", "film": film, "ei": ei, "accept_terms": 1});
    let answer = house.api(of).post("/api/v1/rolls", &wish).is(201).json();
    (answer["ticket"].as_str().unwrap().to_owned(), answer["id"].as_i64().unwrap())
}

/// Publishes a day with these rolls only.
fn publish(house: &House, by: i64, only: &[i64]) {
    let (now, zone) = (house.clock.now(), house.app.zone());
    let place = wetside::bookings::Place { now, zone, address: "https://d.example".to_owned() };
    let date = DAY.parse().unwrap();
    let done = house.app.db.write_now(|tx| {
        let number = wetside::day::plan(tx, (now, zone), by, (date, only))?;
        wetside::day::publish(tx, &place, by, (date, Some(number))).map(|_plan| ())
    });
    done.unwrap();
}

/// What the button says that adds a roll to a run.
/// A ticket as people read it.
fn spoken(ticket: &str) -> String {
    format!("{}-{}", &ticket[..3], &ticket[3..])
}

fn offer(ticket: &str) -> String {
    format!("Add {} to this run", spoken(ticket))
}

/// The fields of the form that adds a roll to the first run on the page.
fn first_offer(page: &Answer) -> Vec<(String, String)> {
    let form = page.body.split("action=\"/rolls/runs\"").nth(1).expect("an open run");
    let form = form.split("</form>").next().unwrap();
    form.split("<input type=\"hidden\" name=\"")
        .skip(1)
        .filter_map(|input| {
            let (name, rest) = input.split_once("\" value=\"")?;
            Some((name.to_owned(), rest.split('"').next()?.to_owned()))
        })
        .collect()
}

fn borrowed(fields: &[(String, String)]) -> Vec<(&str, &str)> {
    fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect()
}

fn run_of(house: &House, of: &Browser, ticket: &str) -> serde_json::Value {
    let sheet = house.api(of).get(&format!("/api/v1/mix-sheets/{DAY}")).is(200).json();
    let runs = sheet["runs"].as_array().unwrap();
    let has =
        |run: &&serde_json::Value| run["rolls"].as_array().unwrap().iter().any(|r| r == ticket);
    runs.iter().find(has).cloned().unwrap_or_default()
}

on_both!(a_roll_joins_a_published_run_that_has_a_free_reel, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let (first, id) = hand_in(house, &ana, "Gannet 400", 400);
    ana.get("/rolls/runs").is(200).says("No published run has a free reel");
    publish(house, lead.id, &[id]);
    let before = run_of(house, &lead, &first);
    let (second, _) = hand_in(house, &ben, "Gannet 400", 400);
    let (other, _) = hand_in(house, &ben, "Mudlark 50", 50);
    let page = ben.get("/rolls/runs").is(200).says(&offer(&second));
    assert!(!page.body.contains(&offer(&other)), "another chemistry");
    ben.get(&format!("/rolls/{second}")).is(200).says("Runs it could join");
    let fields = first_offer(&page);
    ana.post("/rolls/runs", &borrowed(&fields)).is(404);
    let open = house.api(&ben).get(&format!("/api/v1/rolls/{second}/runs")).is(200).json();
    assert_eq!(open["items"][0]["id"], before["id"]);
    assert_eq!(open["items"][0]["others"], 1);
    house.api(&ana).get(&format!("/api/v1/rolls/{second}/runs")).is(404);
    let added = ben.post("/rolls/runs", &borrowed(&fields)).is(303);
    ben.follow(added).says("Added. It is developed on").says("by its owner").says("Planned for");
    // Tapped twice, it is there once, and the same is said again.
    let again = ben.post("/rolls/runs", &borrowed(&fields)).is(303);
    ben.follow(again).says("Added. It is developed on");
    let after = run_of(house, &lead, &second);
    assert_eq!(after["rolls"].as_array().unwrap().len(), 2);
    for same in ["id", "number", "tank", "sink", "start", "time_s", "person"] {
        assert_eq!(before[same], after[same], "{same}");
    }
    let ml = |run: &serde_json::Value| run["developer_ml"].as_f64().unwrap();
    assert!(ml(&after) >= ml(&before), "{before} {after}");
    assert!(after["fixer"].as_f64() > before["fixer"].as_f64());
    lead.get(&format!("/days/{DAY}"))
        .is(200)
        .says(&format!("Ticket {} of Ben added", spoken(&second)));
    let letters = house.letters();
    assert!(letters.iter().any(|l| l.to.contains("ben")
        && l.text.contains(&spoken(&second))
        && l.subject.contains("planned for")));
    assert!(letters.iter().any(|l| l.subject.starts_with("A roll was added to a run")));
    // The record names the version it ran by, though the lead decided.
    lead.post(&format!("/runs/{}/end", after["id"]), &[("back", "run")]).is(303);
    let told = house.api(&ben).get("/api/v1/results?film=Gannet+400").is(200).json();
    let mine = told["items"].as_array().unwrap().iter().find(|r| r["ticket"] == second.as_str());
    assert!(mine.unwrap()["recipe_id"].as_i64().is_some(), "{told}");
    let baths = mine.unwrap()["baths"].as_array().unwrap();
    let states: Vec<&str> = baths.iter().filter_map(|b| b["state"].as_str()).collect();
    assert!(states.iter().any(|s| s.contains("rolls' worth left")), "{told}");
});

on_both!(a_run_takes_no_more_than_it_holds, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let (first, id) = hand_in(house, &ana, "Gannet 400", 400);
    publish(house, lead.id, &[id]);
    let mut last = String::new();
    for _ in 0..6 {
        let (ticket, _) = hand_in(house, &ben, "Gannet 400", 400);
        let page = ben.get("/rolls/runs").is(200);
        last = ticket;
        if !page.body.contains("action=\"/rolls/runs\"") {
            break;
        }
        ben.post("/rolls/runs", &borrowed(&first_offer(&page))).is(303);
    }
    // Programs are told the same.
    let api = house.api(&ben);
    let into = serde_json::json!({"run_id": run_of(house, &lead, &first)["id"]});
    api.post(&format!("/api/v1/rolls/{last}/runs"), &into).is(409).says("cannot-join");
    let run = run_of(house, &lead, &first);
    let count = run["rolls"].as_array().unwrap().len();
    assert!((2..=4).contains(&count), "{run}");
    ben.get("/rolls/runs").is(200).says("No published run has a free reel").says("are taken");
    assert_eq!(run_of(house, &lead, &last), serde_json::Value::Null);
});

on_both!(a_run_is_closed_to_others_some_time_before_it_is_loaded, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let (alone, id) = hand_in(house, &ana, "Harbour Pan 100", 100);
    publish(house, lead.id, &[id]);
    let (late, _) = hand_in(house, &ben, "Harbour Pan 100", 100);
    let page = ben.get("/rolls/runs").is(200).says(&offer(&late));
    let fields = first_offer(&page);
    let begins = run_of(house, &lead, &alone)["load_start"].as_str().unwrap().to_owned();
    let begins = chrono::DateTime::parse_from_rfc3339(&begins).unwrap().timestamp();
    house.clock.advance(begins - house.clock.now().0 - 1800);
    let refused = ben.post("/rolls/runs", &borrowed(&fields)).is(303);
    ben.follow(refused).says("60 min before loading begins");
    lead.post(
        "/rolls/customs",
        &[("wait_days", "14"), ("kept_days", "21"), ("join_min", "5"), ("version", "1")],
    )
    .is(303);
    let added = ben.post("/rolls/runs", &borrowed(&fields)).is(303);
    ben.follow(added).says("Added. It is developed on");
});

on_both!(a_film_that_waits_for_a_test_roll_is_planned_after_it, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let wish = serde_json::json!({"format": "135-36", "film": "Gannet 400", "ei": 400,
        "care": "after_test", "accept_terms": 1});
    let made = house.api(&ana).post("/api/v1/rolls", &wish).is(201).json();
    let ticket = made["ticket"].as_str().unwrap();
    let plan = |house: &House| {
        let wish = serde_json::json!({"date": DAY});
        house.api(&lead).post("/api/v1/plans", &wish).is(201).json()
    };
    let why = plan(house)["left_over"]
        .as_array()
        .unwrap()
        .iter()
        .find(|l| l["roll"] == ticket)
        .expect("left over")["reason"]
        .as_str()
        .unwrap()
        .to_owned();
    assert!(why.contains("test roll first"), "{why}");
    ana.get(&format!("/rolls/{ticket}")).is(200).says("a test roll that comes out well");
    let tested = format!("/rolls/{ticket}/tested");
    ben.post(&tested, &[("note", "")]).is(404);
    ana.post(&tested, &[("note", "Ticket of May, a good grey")]).is(303);
    ana.post(&tested, &[("note", "Again")]).is(303);
    let again = serde_json::json!({"note": "Again"});
    house.api(&ana).post(&format!("/api/v1{tested}"), &again).is(204);
    house.api(&ben).post(&format!("/api/v1{tested}"), &again).is(404);
    let page = ana.get(&format!("/rolls/{ticket}")).is(200).says("a good grey");
    assert!(!page.body.contains("Again") && !page.body.contains("Its test roll"));
    let runs = plan(house)["runs"].clone();
    let planned =
        |r: &serde_json::Value| r["rolls"].as_array().unwrap().iter().any(|t| t == ticket);
    assert!(runs.as_array().unwrap().iter().any(planned), "{runs}");
});

on_both!(who_waits_is_told_why_and_until_when, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let ana = house.person("Ana", Role::Member);
    // Handed in on 15 March 2027; nobody has a recipe for it.
    let (ticket, _) = hand_in(house, &ana, "Gannet 400", 12_800);
    ana.get(&format!("/rolls/{ticket}")).is(200).says("Waits at most until").says("29 March 2027");
    let api = house.api(&lead);
    api.post("/api/v1/plans", &serde_json::json!({"date": DAY})).is(201);
    api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({})).is(200);
    let letters = house.letters();
    let told =
        letters.iter().find(|l| l.subject == format!("Still waiting: ticket {}", spoken(&ticket)));
    let text = told.expect("a letter").text.replace('\n', " ");
    assert!(text.contains("No recipe for Gannet 400 at EI 12800"), "{text}");
    assert!(text.contains("It waits until Monday 29 March 2027"), "{text}");
    // When that time is over it goes before all others, and the leads hear of it, once a day.
    let turn = |house: &House| {
        let now = house.clock.now();
        house.app.db.write_now(|tx| rolls::remind(tx, now)).unwrap()
    };
    house.clock.advance(15 * 86_400);
    assert!(turn(house) > 0);
    assert_eq!(turn(house), 0);
    let letters = house.letters();
    let late = letters.iter().find(|l| l.subject.starts_with("Film that waits too long"));
    assert!(late.expect("a letter").text.contains(&spoken(&ticket)));
});

on_both!(five_hundred_waiting_rolls_are_all_seen_by_the_day, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &RECIPE).is(303);
    let ana = house.person("Ana", Role::Member);
    let fields =
        [("film", "1"), ("format", "135-36"), ("ei", "100"), ("count", "24"), ("negative", "yes")];
    for _ in 0..21 {
        ana.post("/rolls/new", &fields).is(303);
    }
    let waiting = house.app.db.read_now(rolls::waiting).unwrap();
    assert_eq!(waiting.len(), 504);
    let tickets: std::collections::BTreeSet<_> = waiting.iter().map(|r| &r.ticket).collect();
    assert_eq!(tickets.len(), 504);
});

on_both!(labels_print_on_sheets_of_the_studios_own_measures, |house| {
    let lead = put_chart(house);
    let ana = house.person("Ana", Role::Member);
    let (ticket, _) = hand_in(house, &ana, "Harbour Pan 100", 100);
    let own = [
        ("name", "The blue box"),
        ("page_width", "62"),
        ("page_height", "100,5"),
        ("across", "1"),
        ("down", "3"),
        ("label_width", "60"),
        ("label_height", "30"),
        ("left_margin", "1"),
        ("top_margin", "2.5"),
        ("gap_across", "0"),
        ("gap_down", "2"),
    ];
    ana.get("/rolls/label-sheets").is(403);
    ana.post("/rolls/label-sheets", &own).is(403);
    let with = |name: &'static str, value: &'static str| {
        own.map(|(k, v)| if k == name { (k, value) } else { (k, v) })
    };
    lead.post("/rolls/label-sheets", &with("label_height", "33"))
        .is(422)
        .says("5 mm too much for the paper downwards")
        .says("The blue box");
    lead.post("/rolls/label-sheets", &with("gap_down", "2.55"))
        .is(422)
        .says("a tenth of a millimetre");
    lead.post("/rolls/label-sheets", &own).is(303);
    lead.post("/rolls/label-sheets", &own).is(422).says("one of that name");
    let page = ana.get(&format!("/rolls/labels?tickets={ticket}&sheet=own-1&skip=1")).is(200);
    page.says("viewBox=\"0 0 62 100.5\"")
        .says("translate(1 34.5)")
        .says("The blue box, 3 labels")
        .says("/rolls/label-sheets/own-1.css");
    let style = ana.get("/rolls/label-sheets/own-1.css").is(200).says("size: 62mm 100.5mm");
    assert!(style.headers["content-type"].starts_with("text/css"));
    ana.get("/rolls/label-sheets/own-2.css").is(404);
    lead.post("/rolls/label-sheets/1/remove", &[]).is(303);
    ana.get(&format!("/rolls/labels?tickets={ticket}&sheet=own-1")).is(200).says("0 0 210 297");
});

//! A day as its lead makes it: planned, changed, undone, published.

use wetside::demo;
use wetside::sessions::Role;

use crate::house::{Answer, Browser, House};

const DAY: &str = "2027-03-15";

fn planned(house: &House) -> Browser {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let draft = lead.post("/days", &[("date", DAY)]).is(303);
    lead.follow(draft).is(200).says("not yet published");
    lead
}

/// The ids in the choices of a select on a page: `(value, text)`.
fn choices(page: &Answer, name: &str) -> Vec<(String, String)> {
    let from = page.body.split(&format!("name=\"{name}\"")).nth(1).expect("the select");
    let inside = from.split("</select>").next().unwrap();
    inside
        .split("<option value=\"")
        .skip(1)
        .filter_map(|o| {
            let (value, rest) = o.split_once('"')?;
            let text = rest.split('>').nth(1)?.split('<').next()?.trim().to_owned();
            (!value.is_empty()).then(|| (value.to_owned(), text))
        })
        .collect()
}

/// The number of the draft that a page's forms were made from.
fn version(page: &Answer) -> String {
    let from = page.body.split("name=\"version\" value=\"").nth(1).expect("a version");
    from.split('"').next().unwrap().to_owned()
}

on_both!(every_change_of_a_draft_says_what_it_costs_and_can_be_undone, |house| {
    let lead = planned(house);
    let plan = format!("/days/{DAY}/plan");
    let page = lead.get(&plan).is(200).says("Time line of the day").says("Why this run");
    let (first, roll) = (version(&page), choices(&page, "roll")[0].clone());
    let ticket = roll.1.split(',').next().unwrap().to_owned();

    let hold = [("roll", roll.0.as_str()), ("act", "hold"), ("version", first.as_str())];
    let held = lead.post(&format!("/days/{DAY}/rolls"), &hold).is(303);
    lead.follow(held)
        .says(&format!("{ticket} held back"))
        .says("Held back by a lead")
        .says("ml less concentrate");

    // Another lead still looks at the first draft: nothing is overwritten in silence.
    let other = house.person("Sten", Role::Lead);
    let alone = [("roll", roll.0.as_str()), ("act", "alone"), ("version", first.as_str())];
    let refused = other.post(&format!("/days/{DAY}/rolls"), &alone).is(303);
    other
        .follow(refused)
        .says("The draft changed while you looked at it")
        .says("Runa made draft 2");

    let undo = [("version", "2")];
    let undone = lead.post(&format!("/days/{DAY}/undo"), &undo).is(303);
    let back = lead.follow(undone).says("draft 1 again");
    assert!(!back.body.contains("Held back by a lead"));
});

on_both!(a_pinned_run_stays_when_the_day_is_planned_again, |house| {
    let lead = planned(house);
    let plan = format!("/days/{DAY}/plan");
    let page = lead.get(&plan).is(200);
    let run = page.body.split(&format!("/days/{DAY}/runs/")).nth(1).unwrap();
    let run = run.split('/').next().unwrap().to_owned();
    let (tanks, sinks) = (choices(&page, "tank"), choices(&page, "sink"));
    let pin = [
        ("tank", tanks[0].0.as_str()),
        ("sink", sinks[1].0.as_str()),
        ("from", "15:00"),
        ("version", &version(&page)),
    ];
    let pinned = lead.post(&format!("/days/{DAY}/runs/{run}/pin"), &pin).is(303);
    lead.follow(pinned).says("pinned: ");
    let again = lead.post(&format!("/days/{DAY}/again"), &[]).is(303);
    let page = lead.follow(again).says("15:00 at <bdi>Harbour sink</bdi>, in <bdi>Tank A</bdi>");
    assert!(page.body.contains("is pinned"));

    // A place that is taken refuses with the time it could be.
    let booked = [("sink", "2"), ("date", DAY), ("from", "17:00"), ("to", "18:00")];
    house.person("Hedda", Role::Member).post("/bookings", &booked).is(303);
    let id = page.body.split(&format!("/days/{DAY}/runs/")).nth(1).unwrap();
    let id = id.split('/').next().unwrap().to_owned();
    let pin = [
        ("tank", tanks[0].0.as_str()),
        ("sink", sinks[1].0.as_str()),
        ("from", "17:15"),
        ("version", &version(&page)),
    ];
    let refused = lead.post(&format!("/days/{DAY}/runs/{id}/pin"), &pin).is(303);
    lead.follow(refused).says("cannot start at 17:15").says("It could at 18:");
});

on_both!(all_times_follow_the_temperature_of_the_day, |house| {
    let lead = planned(house);
    let page = lead.get(&format!("/days/{DAY}/plan")).is(200);
    let name = page.body.split("name=\"temperature-").nth(1).unwrap();
    let field = format!("temperature-{}", name.split('"').next().unwrap());
    let warm =
        [("under", "5"), ("over", "5"), (field.as_str(), "22.0"), ("version", &version(&page))];
    let planned = lead.post(&format!("/days/{DAY}/conditions"), &warm).is(303);
    lead.follow(planned).says("How its time was found").says("temperature:");
    let wrong = [("under", "5"), ("over", "5"), (field.as_str(), "warm")];
    let refused = lead.post(&format!("/days/{DAY}/conditions"), &wrong).is(303);
    lead.follow(refused).says("is not a temperature");
    // Outside the band in which the factor is good the rolls are left over with the reason.
    let hot = [("under", "5"), ("over", "5"), (field.as_str(), "30")];
    let hot = lead.post(&format!("/days/{DAY}/conditions"), &hot).is(303);
    lead.follow(hot).says("is outside what can be used");
});

on_both!(other_conditions_are_shown_beside_the_plan, |house| {
    let lead = planned(house);
    lead.get(&format!("/days/{DAY}/what-if"))
        .is(200)
        .says("As it is planned")
        .says("Open one hour longer")
        .says("One more tank like");
    // The figures of a day are the lead's to set, within their range.
    lead.get("/days/figures").is(200).says("Army SS0509");
    lead.post("/days/figures", &[("under_percent", "200")]).is(422).says("from 0 to 30");
});

on_both!(the_same_plan_through_the_api, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let api = house.api(&lead);
    let plan = api.post("/api/v1/plans", &serde_json::json!({"date": DAY})).is(201).json();
    assert_eq!(plan["optimal"], true, "{plan}");
    assert_eq!(plan["totals"]["runs"], plan["runs"].as_array().unwrap().len());
    assert!(
        plan["left_over"]
            .as_array()
            .unwrap()
            .iter()
            .any(|l| { l["reason"].as_str().unwrap().contains("No recipe for") })
    );
    let sheet = api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({})).is(200);
    assert_eq!(sheet.json()["version"], 1);
    // What is published is no draft any more.
    let again = api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({}));
    again.is(409);
});

on_both!(a_demonstration_begun_late_leaves_no_draft_behind, |house| {
    let zone = house.app.zone();
    let late = zone.date(house.clock.now()).and_hms_opt(21, 40, 0).unwrap();
    house.clock.advance(zone.instant(late).unwrap().since(house.clock.now()));
    demo::fill_if_new(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let page = lead.get("/days").is(200).body;
    assert!(!page.contains("/what-if\""), "a draft is left: {page}");
    assert_eq!(page.matches("<a href=\"/days/2").count(), 2, "two published days: {page}");
});

on_both!(a_run_is_not_ended_before_its_time_without_a_question, |house| {
    let lead = planned(house);
    let publish = lead.post(&format!("/days/{DAY}/publish"), &[]).is(303);
    let sheet = lead.follow(publish).says("Published with ");
    assert!(sheet.body.contains("End run 1 before its time"), "it is still to come");
    house.app.clock.advance(86_400);
    let sheet = lead.get(&format!("/days/{DAY}")).is(200).says("End run 1");
    assert!(!sheet.body.contains("before its time"), "it is over");
});

on_both!(the_sheet_of_a_closed_day_says_so, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    // The invented studio is closed on this day.
    lead.get("/days/2027-03-24")
        .is(200)
        .says("Closed: The harbour festival needs the stairs")
        .says("Nothing is published for this day.");
    let open = lead.get("/days/2027-03-25").is(200);
    assert!(!open.body.contains("Closed"));
});

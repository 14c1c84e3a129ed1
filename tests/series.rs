//! Stories of recurring sessions.

use wetside::sessions::Role;

use crate::bookings::sink;
use crate::house::{Answer, Browser};

/// What a preview's form would send: every hidden field.
fn confirmed(page: &Answer) -> Vec<(String, String)> {
    let form = page.body.split_once("id=\"outcomes\"").unwrap().1;
    let hidden = form.split("<input type=\"hidden\" name=\"").skip(1);
    hidden
        .map(|part| {
            let (name, rest) = part.split_once("\" value=\"").unwrap();
            (name.to_owned(), rest.split_once('"').unwrap().0.to_owned())
        })
        .collect()
}

fn confirm(browser: &Browser, path: &str, page: &Answer) -> Answer {
    let fields = confirmed(page);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
    browser.post(path, &fields)
}

on_both!(conflicts_are_shown_before_anything_is_made, |house| {
    let id = sink(house).to_string();
    let (lead, ilse) = (house.person("Maren", Role::Lead), house.person("Ilse", Role::Member));
    let taken = [("sink", id.as_str()), ("date", "2027-03-23"), ("from", "19:00"), ("to", "20:00")];
    ilse.post("/bookings", &taken).is(303);
    let plan = |often: &'static str, rule: &'static str| {
        [
            ("title", "Induction evening"),
            ("sink", id.as_str()),
            ("date", "2027-03-16"),
            ("from", "18:00"),
            ("to", "20:00"),
            ("often", often),
            ("times", "5"),
            ("rule", rule),
            ("except", "2027-04-06"),
        ]
    };
    ilse.get("/series").is(403);
    ilse.post("/series", &plan("FREQ=WEEKLY", "")).is(403);
    lead.post("/series", &plan("", "every tuesday")).is(422).says("such as");
    let page =
        lead.post("/series", &plan("FREQ=WEEKLY", "")).is(200).says("3 would do, 2 would not");
    let page = page.says("Left out, as you said").says("taken");
    lead.get("/series").is(200);
    assert!(!lead.get("/board?date=2027-03-16").body.contains("Induction"), "nothing is made yet");

    // Somebody is quicker: the list is shown anew, and still nothing is made.
    let quick = [("sink", id.as_str()), ("date", "2027-03-30"), ("from", "18:00"), ("to", "19:00")];
    ilse.post("/bookings", &quick).is(303);
    let page = confirm(&lead, "/series", &page).is(409).says("the list below is new");
    let page = page.says("2 would do, 3 would not");
    let made = confirm(&lead, "/series", &page).is(303);
    // The same form once more has the same effect and answer.
    confirm(&lead, "/series", &page).is(303);
    let series = lead.follow(made).says("Tuesday 16 March 2027, 18:00 to 20:00");
    let series = series.says("Tuesday 13 April 2027, 18:00 to 20:00").says("Does not take place");
    assert_eq!(series.body.matches("Stands").count(), 2);
    lead.get("/board?date=2027-03-16").is(200).says("Induction evening");
    assert_eq!(lead.get("/series").body.matches("/series/").count(), 1, "made once");
    // The board's clock change lies between: 13 April is summer time.
    let api = house.api(&lead);
    let day = api.get("/api/v1/board?date=2027-04-13").is(200).json();
    assert_eq!(day["sinks"][0]["bookings"][0]["starts"], "2027-04-13T18:00:00+01:00");
});

on_both!(one_session_is_moved_alone_and_this_and_the_following_together, |house| {
    let id = sink(house).to_string();
    let (lead, ilse) = (house.person("Maren", Role::Lead), house.person("Ilse", Role::Member));
    let plan = [
        ("title", "Print night"),
        ("sink", id.as_str()),
        ("date", "2027-03-16"),
        ("from", "18:00"),
        ("to", "20:00"),
        ("often", ""),
        ("rule", "FREQ=WEEKLY;BYDAY=TU;COUNT=4"),
        ("except", ""),
    ];
    let page = lead.post("/series", &plan).is(200).says("4 would do.");
    confirm(&lead, "/series", &page).is(303);
    // One alone, by its own booking.
    let alone = [
        ("sink", id.as_str()),
        ("date", "2027-03-17"),
        ("from", "10:00"),
        ("to", "12:00"),
        ("version", "1"),
        ("note", "Print night"),
    ];
    let page = lead.get("/series/1").is(200).body;
    let booking = page.split("\"/bookings/").nth(1).unwrap().split('"').next().unwrap();
    lead.post(&format!("/bookings/{booking}"), &alone).is(303);
    lead.get("/series/1").is(200).says("Moved from Tuesday 16 March 2027, 18:00");

    // From the second on, with a conflict at the third, which stays where it is.
    let taken = [("sink", id.as_str()), ("date", "2027-03-30"), ("from", "20:30"), ("to", "22:00")];
    ilse.post("/bookings", &taken).is(303);
    let later = [("occurrence", "2"), ("sink", id.as_str()), ("from", "19:00"), ("to", "21:00")];
    ilse.post("/series/1/shift", &later).is(403);
    lead.post("/series/1/shift", &[("occurrence", "424242"), later[1], later[2], later[3]]).is(404);
    lead.post("/series/1/shift", &[later[0], later[1], ("from", "late"), later[3]]).is(422);
    let page = lead.post("/series/1/shift", &later).is(200).says("2 would do, 1 would not");
    let still = lead.get("/board?date=2027-03-23").is(200);
    assert!(still.body.contains("18:00 to 20:00"), "looking moved nothing");
    confirm(&lead, "/series/1/shift", &page).is(303);
    let series = lead.get("/series/1").is(200).says("Tuesday 23 March 2027, 19:00 to 21:00");
    let series = series.says("Tuesday 30 March 2027, 18:00 to 20:00");
    let series = series.says("Tuesday 6 April 2027, 19:00 to 21:00");
    series.says("Wednesday 17 March 2027, 10:00 to 12:00");

    lead.post("/series/1/call-off", &[("occurrence", "2")]).is(303);
    lead.get("/series/1").is(200).says("Called off");
    lead.post("/series/1/call-off", &[("occurrence", "3"), ("following", "yes")]).is(303);
    assert_eq!(lead.get("/series/1").body.matches("Called off").count(), 3);
});

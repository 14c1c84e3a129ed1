//! Incidents, the eyewash, and what is barred.

use wetside::hazards::Barred;
use wetside::incidents;
use wetside::sessions::Role;

use crate::house::{Browser, House};

fn told() -> Vec<(&'static str, &'static str)> {
    vec![
        ("what", "The jug of stop bath slipped and splashed my left hand."),
        ("happened", "Monday, half past nine"),
        ("place", "at the North sink"),
        ("chemical", "Stop bath"),
        ("injury", "My left hand was red for an hour"),
        ("first_aid", "Rinsed with water"),
    ]
}

fn name_lead(lead: &Browser, who: &Browser) {
    let page = lead.get("/safety/settings").is(200).body;
    let version = page.split("name=\"version\" value=\"").nth(1).unwrap();
    let version = version.split('"').next().unwrap().to_owned();
    let id = who.id.to_string();
    lead.post("/safety/settings", &[("lead", &id), ("keep_months", "12"), ("version", &version)])
        .is(303);
}

fn to(house: &House, who: &str, what: &str) -> usize {
    let address = format!("{who}@quillhaven.example");
    house.letters().iter().filter(|l| l.to == address && l.subject.contains(what)).count()
}

on_both!(an_incident_is_between_its_reporter_and_the_named_safety_lead, |house| {
    let maren = house.person("maren", Role::Lead);
    let tobin = house.person("tobin", Role::Lead);
    let odo = house.person("odo", Role::Newcomer);
    let ilse = house.person("ilse", Role::Member);
    odo.get("/incidents/new").is(200).says("maren").says("tobin");
    odo.post("/incidents/new", &[("what", ""), ("place", "at the sink")])
        .is(422)
        .says("Please give what happened.")
        .says("at the sink");
    name_lead(&maren, &tobin);
    let at = odo.post("/incidents/new", &told()).is(303).location.unwrap();
    // The letter goes to the named lead alone, at once, and says nothing of the injury.
    assert_eq!((to(house, "tobin", "incident"), to(house, "maren", "incident")), (1, 0));
    let letter = house.letters().into_iter().find(|l| l.subject.contains("incident")).unwrap();
    assert!(letter.text.contains(&format!("{}{at}", house.url)), "{}", letter.text);
    assert!(!letter.text.contains("left hand") && letter.text.contains("North sink"));
    // Others, the other lead among them, find nothing there.
    for other in [&maren, &ilse] {
        other.get(&at).is(404);
        other.post(&format!("{at}/follow-up"), &[("text", "x")]).is(404);
        assert!(!other.get("/incidents").is(200).body.contains("splashed"));
    }
    house.browser().get(&at).is(303);
    maren.post(&format!("{at}/close"), &[]).is(404);
    odo.get(&at).is(200).says("left hand was red");
    tobin.get("/incidents").says("splashed my left hand");
    tobin.post(&format!("{at}/follow-up"), &[("text", "")]).is(422).says("Please give");
    tobin.post(&format!("{at}/follow-up"), &[("text", "A wider tray stands there now")]).is(303);
    odo.get(&at).says("A wider tray stands there now").says("tobin");
    odo.post(&format!("{at}/close"), &[]).is(403);
    tobin.post(&format!("{at}/close"), &[]).is(303);
    odo.post(&format!("{at}/follow-up"), &[("text", "More")]).is(409).says("closed");
    // Their own words go along with their data; the retention is the studio's.
    let data = odo.get("/me/export").is(200).json();
    assert_eq!(data["incidents"][0]["where"], "at the North sink");
    house.clock.advance(300 * 86_400);
    let now = house.clock.now();
    assert_eq!(house.app.db.write_now(|tx| incidents::sweep(tx, now)).unwrap(), 0);
    house.clock.advance(70 * 86_400);
    let now = house.clock.now();
    assert_eq!(house.app.db.write_now(|tx| incidents::sweep(tx, now)).unwrap(), 1);
});

on_both!(while_nobody_is_named_every_lead_is_told, |house| {
    house.person("maren", Role::Lead);
    let tobin = house.person("tobin", Role::Lead);
    let odo = house.person("odo", Role::Newcomer);
    let at = odo.post("/incidents/new", &told()).is(303).location.unwrap();
    assert_eq!((to(house, "tobin", "incident"), to(house, "maren", "incident")), (1, 1));
    tobin.get(&at).is(200);
    // Only a lead can be named.
    let id = odo.id.to_string();
    tobin
        .post("/safety/settings", &[("lead", &id), ("keep_months", "12"), ("version", "1")])
        .is(422)
        .says("Only an active lead");
});

on_both!(an_eyewash_that_nobody_ever_ran_is_asked_for_while_something_burns, |house| {
    let maren = house.person("maren", Role::Lead);
    let here = || incidents::Here { now: house.clock.now(), address: house.url.clone() };
    let remind = || {
        house.app.db.write_now(|tx| incidents::remind_of_eyewash(tx, &here())).unwrap();
        to(house, "maren", "is due")
    };
    assert_eq!(remind(), 0);
    let acid = [
        ("name", "Stillwater stop"),
        ("purpose", "stop"),
        ("form", "concentrate"),
        ("size", "500"),
        ("reorder_at", "0"),
        ("price", "8"),
        ("concentrate_signal", "Danger"),
        ("concentrate_codes", "H314, P280"),
    ];
    maren.post("/shelf/products/new", &acid).is(303);
    assert_eq!((remind(), remind()), (1, 1), "once a week, however often it is asked");
    let told = house.letters().into_iter().find(|l| l.subject.contains("is due")).unwrap();
    assert!(told.text.contains("no run of the eyewash is on record"), "{}", told.text);
    maren.get("/").says("no run of the eyewash is on record");
    maren.post("/safety/eyewash", &[("works", "yes"), ("note", "clear")]).is(303);
    house.clock.advance(6 * 86_400);
    assert_eq!(remind(), 1);
});

on_both!(the_eyewash_is_run_every_week, |house| {
    let maren = house.person("maren", Role::Lead);
    let ilse = house.person("ilse", Role::Member);
    let here = || incidents::Here { now: house.clock.now(), address: house.url.clone() };
    let remind = || {
        house.app.db.write_now(|tx| incidents::remind_of_eyewash(tx, &here())).unwrap();
        to(house, "maren", "is due")
    };
    ilse.get("/safety/eyewash").is(200).says("No run is on record");
    assert_eq!(remind(), 0);
    ilse.post("/safety/eyewash", &[("note", "clear")]).is(422).says("how it ran");
    ilse.post("/safety/eyewash", &[("works", "yes"), ("note", "clear")]).is(303);
    maren.get("/safety/eyewash").says("Run this week").says("clear");
    house.clock.advance(6 * 86_400);
    assert_eq!(remind(), 0);
    house.clock.advance(2 * 86_400);
    assert_eq!((remind(), remind()), (1, 1), "once a week, however often it is asked");
    house.person("wren", Role::Member).get("/safety/eyewash").says("Due");
    house.clock.advance(7 * 86_400);
    assert_eq!(remind(), 2);
    let broken = (false, "brown water");
    let by = ilse.id;
    house.app.db.write_now(|tx| incidents::record_eyewash(tx, &here(), by, broken)).unwrap();
    assert_eq!(to(house, "maren", "does not work"), 1);
    // Their sessions are over by now.
    house.person("tobin", Role::Lead).get("/safety/eyewash").says("It did not work");
});

on_both!(what_is_barred_is_taken_on_by_name_only, |house| {
    let maren = house.person("maren", Role::Lead);
    let refuse = |text: &str| {
        house.app.db.read_now(|conn| incidents::refuse_barred(conn, "name", text)).is_err()
    };
    assert!(refuse("Potassium dichromate bleach") && refuse("Glacial acetic acid"));
    assert!(!refuse("Stop bath, citric"));
    let wish = |typed: &'static str| {
        [
            ("what", "dichromate"),
            ("typed", typed),
            ("reason", "A course by a chemist; locked in the red cupboard"),
        ]
    };
    maren
        .post("/safety/barred", &wish("yes"))
        .is(422)
        .says("letter by letter")
        .says("red cupboard");
    assert!(refuse("Potassium dichromate bleach"));
    maren.post("/safety/barred", &wish("Dichromate")).is(303);
    assert!(!refuse("Potassium dichromate bleach") && refuse("Glacial acetic acid"));
    maren.get("/safety/settings").says("maren, Monday 15 March 2027").says("red cupboard");
    maren.post("/safety/barred/again", &[("what", Barred::Dichromate.word())]).is(303);
    assert!(refuse("Potassium dichromate bleach"));
});

on_both!(the_front_page_warns_while_something_burns_and_the_eyewash_is_due, |house| {
    wetside::demo::fill(&house.app).unwrap();
    let ilse = house.person("Hedda", Role::Member);
    ilse.get("/").says("H314 or H318").says("last run more than a week ago");
    assert!(!house.browser().get("/").body.contains("H318"));
    house.browser().get("/notes/chemicals").says("Causes serious eye damage. (H318)");
    ilse.post("/safety/eyewash", &[("works", "yes"), ("note", "")]).is(303);
    assert!(!ilse.get("/").body.contains("H314 or H318"));
});

on_both!(a_product_with_something_barred_or_a_wrong_code_is_not_put_on_the_shelf, |house| {
    use wetside::hazards::{Lines, Sheet};
    use wetside::shelf::{self, Form, NewProduct, Purpose};
    let add = |name: &str, (signal, codes, words): (&str, &str, &str)| {
        let lines = Lines::read(signal, codes, words).map_err(|e| e.clone())?;
        let new = NewProduct {
            name: name.to_owned(),
            purpose: Purpose::Bleach,
            form: Form::Powder,
            developer_id: None,
            developer_part: 1,
            water_parts: None,
            mg_per_litre: Some(10_000),
            rolls_per_litre_milli: None,
            working_keeps_days: None,
            opened_keeps_days: None,
            size: 100_000,
            reorder_at: 0,
            price: 100,
            sheet: Sheet { concentrate: lines, ..Sheet::default() },
            note: String::new(),
        };
        house.app.db.write_now(|tx| shelf::add_product(tx, &new)).map_err(|e| e.to_string())
    };
    let barred = add("Potassium dichromate", ("", "", ""));
    assert!(barred.unwrap_err().contains("take it on by name"));
    assert!(add("Tern bleach", ("Danger", "H318", "H31x is no code.")).is_ok());
    assert!(add("Auk bleach", ("Warning", "H318", "")).unwrap_err().contains("Danger"));
    assert!(add("Auk bleach", ("", "", "H888")).unwrap_err().contains("H888"));
    assert!(add("Auk bleach", ("", "H888", "")).unwrap_err().contains("H888"));
});

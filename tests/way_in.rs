//! A newcomer's way in, from the invitation to the first booking of their own.

use diesel::prelude::*;
use wetside::db::schema::note_questions;
use wetside::safety;
use wetside::sessions::Role;

use crate::house::{Answer, Browser, House};

const PASSWORD: &str = "seven gannets over a tin roof";

fn open_studio(house: &House) -> i64 {
    let now = house.clock.now();
    house.app.db.write_now(|tx| safety::post_starting_set(tx, now)).unwrap();
    crate::bookings::sink(house)
}

/// The questions of a note with their right answers.
fn answers(house: &House, slug: &str) -> Vec<(i64, String)> {
    house
        .app
        .db
        .read_now(|conn| {
            Ok(note_questions::table
                .filter(note_questions::slug.eq(slug))
                .filter(note_questions::retired_s.is_null())
                .order(note_questions::id)
                .select((note_questions::id, note_questions::right_answer))
                .load(conn)?)
        })
        .unwrap()
}

/// The essential notes, as the way in links to them.
const ESSENTIAL: [&str; 6] =
    ["before-you-begin", "mixing", "never-meet", "splash-in-the-eye", "labels", "where-it-goes"];

fn acknowledge(house: &House, who: &Browser, slug: &str, version: &str) -> Answer {
    let given = answers(house, slug);
    let names: Vec<String> = given.iter().map(|(id, _)| format!("question-{id}")).collect();
    let mut fields = vec![("version", version), ("understood", "yes")];
    for (name, (_, answer)) in names.iter().zip(&given) {
        fields.push((name, answer));
    }
    who.post(&format!("/notes/{slug}/acknowledge"), &fields)
}

fn try_booking(who: &Browser, sink: i64, date: &str) -> Answer {
    let sink = sink.to_string();
    who.post(
        "/bookings",
        &[("sink", &sink), ("date", date), ("from", "18:00"), ("to", "19:00"), ("note", "")],
    )
}

on_both!(nobody_is_booked_for_who_has_not_read_the_notes, |house| {
    let sink = open_studio(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let ilse = house.person("Ilse", Role::Member);
    let (now, by) = (house.clock.now(), lead.id);
    let line = ("mixing", "- Rinse the measures at once.", "Measures are rinsed");
    house.app.db.write_now(|tx| safety::add_line(tx, now, by, line)).unwrap();
    let id = ilse.id.to_string();
    let wish = [
        ("sink", sink.as_str()),
        ("date", "2027-03-17"),
        ("from", "18:00"),
        ("to", "19:00"),
        ("note", ""),
        ("member", id.as_str()),
    ];
    let refused = lead.post("/bookings", &wish).is(422);
    refused.says("Ilse has not acknowledged").says("Mixing");
    acknowledge(house, &ilse, "mixing", "2").is(303);
    lead.post("/bookings", &wish).is(303);
});

on_both!(from_the_invitation_to_the_first_booking_alone, |house| {
    let sink = open_studio(house);
    let lead = house.person("Maren", Role::Lead);
    // Invited by letter, they choose a password.
    lead.post(
        "/members",
        &[("name", "Odo Lindqvist"), ("email", "odo@quillhaven.example"), ("role", "newcomer")],
    )
    .is(303);
    let link = house.link_to("odo@quillhaven.example");
    let odo = house.browser();
    odo.get(&link).is(200);
    odo.post(&link, &[("name", "Odo Lindqvist"), ("password", PASSWORD)]).is(303);
    odo.get("/").is(200).says("Your way in");
    // The program that acts for them is told the same.
    let token = house.browser().post_raw(
        "/api/v1/tokens",
        "application/json",
        "none",
        format!(r#"{{"email":"odo@quillhaven.example","password":"{PASSWORD}","label":"x"}}"#)
            .as_bytes(),
    );
    let token = token.is(201).json()["token"].as_str().unwrap().to_owned();
    let api = crate::house::Api::new(&house.url, Some(token));
    let missing = |api: &crate::house::Api| {
        api.get("/api/v1/me").is(200).json()["missing_before_first_booking"].clone()
    };
    assert_eq!(missing(&api), serde_json::json!(["safety_notes", "induction"]));
    let wish = serde_json::json!({"sink_id": sink, "starts": "2027-03-17T18:00:00+00:00",
        "ends": "2027-03-17T19:00:00+00:00"});
    let refused = api.post("/api/v1/bookings", &wish).is(422).json();
    assert!(refused["detail"].as_str().unwrap().contains("Before you begin"), "{refused}");
    try_booking(&odo, sink, "2027-03-17").is(422).says("read and acknowledge these safety notes");

    // Reading: nothing ticked, a wrong answer, then right.
    odo.get("/notes/mixing").is(200).says("Have you read it?").says("The water into the acid");
    odo.post("/notes/mixing/acknowledge", &[("version", "1")]).is(422).says("Tick this when");
    let (id, _) = answers(house, "mixing")[0];
    let name = format!("question-{id}");
    odo.post(
        "/notes/mixing/acknowledge",
        &[("version", "1"), ("understood", "yes"), (&name, "The water into the acid")],
    )
    .is(422)
    .says("acid into water, never the reverse")
    .says("checked");
    let wrong = serde_json::json!({"version": 1, "answers": [
        {"question_id": id, "answer": "The water into the acid"}]});
    api.post("/api/v1/notes/mixing/acknowledgements", &wrong).is(422).says("never the reverse");
    for slug in ESSENTIAL {
        assert_eq!(missing(&api)[0], "safety_notes", "before {slug}");
        try_booking(&odo, sink, "2027-03-17").is(422);
        if slug == "labels" {
            // One of them through the API.
            let note = api.get("/api/v1/notes/labels").is(200).json();
            let (id, answer) = answers(house, slug)[0].clone();
            assert_eq!(note["questions"][0]["id"], id);
            let said = serde_json::json!({"version": note["version"], "answers": [
                {"question_id": id, "answer": answer}]});
            let left = api.post("/api/v1/notes/labels/acknowledgements", &said).is(201).json();
            assert_eq!(left["still_to_read"], serde_json::json!(["where-it-goes"]));
        } else {
            acknowledge(house, &odo, slug, "1").is(303);
        }
    }
    assert_eq!(missing(&api), serde_json::json!(["induction"]));
    odo.get("/way-in").is(200).says("Acknowledged").says("points wait for a lead");

    // Read, but not yet shown the room: not alone.
    try_booking(&odo, sink, "2027-03-17").is(422);
    api.post("/api/v1/bookings", &wish).is(422);

    // The induction, signed in person by somebody else.
    let odo_id = api.get("/api/v1/me").json()["id"].as_i64().unwrap();
    let page = format!("/safety/induction/{odo_id}");
    let points: Vec<String> = lead
        .get(&page)
        .is(200)
        .body
        .split("name=\"point\" value=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap().to_owned())
        .collect();
    assert_eq!(points.len(), 8);
    lead.post(&page, &[("point", &points[0])]).is(422).says("Sign only what you were there to see");
    lead.post(&page, &[("in_person", "yes")]).is(422).says("Tick at least one point");
    for (n, point) in points.iter().enumerate() {
        assert_eq!(missing(&api), serde_json::json!(["induction"]), "before point {n}");
        lead.post(&page, &[("point", point), ("in_person", "yes")]).is(303);
    }
    odo.get("/way-in").says("Nothing is missing").says("Maren, Monday 15 March 2027");
    assert_eq!(missing(&api), serde_json::json!([]));
    assert_eq!(api.get("/api/v1/me").json()["role"], "member");
    let letters = house.letters();
    assert!(letters.iter().any(|l| l.subject.contains("induction") && l.to.contains("odo@")));

    // And so the first booking of their own stands, through the page and through the API.
    try_booking(&odo, sink, "2027-03-17").is(303);
    let wish = serde_json::json!({"sink_id": sink, "starts": "2027-03-18T18:00:00+00:00",
        "ends": "2027-03-18T19:00:00+00:00"});
    api.post("/api/v1/bookings", &wish).is(201);
});

on_both!(a_changed_essential_note_asks_everybody_again_with_the_changes_shown, |house| {
    let sink = open_studio(house);
    let lead = house.person("Maren", Role::Lead);
    let ilse = house.person("Ilse", Role::Member);
    for slug in ESSENTIAL {
        acknowledge(house, &ilse, slug, "1").is(303);
    }
    try_booking(&ilse, sink, "2027-03-17").is(303);
    let form = lead.get("/notes/labels/edit").is(200).body;
    let body = form.split("name=\"body\"").nth(1).unwrap().split("</textarea>").next().unwrap();
    let body = body.split_once('>').unwrap().1.trim().replace("&#x27;", "'").replace("&#39;", "'");
    let body = body.replace("&quot;", "\"").replace("&amp;", "&");
    let fields = |essential: &'static str, body: String, version: &'static str| {
        [
            ("title", "Labels".to_owned()),
            ("summary", "What every shared bottle says.".to_owned()),
            ("position", "160".to_owned()),
            ("change_note", "Waterproof pens only".to_owned()),
            ("essential", essential.to_owned()),
            ("body", body),
            ("version", version.to_owned()),
            ("then", "post".to_owned()),
        ]
    };
    let send = |f: [(&'static str, String); 8]| {
        let pairs: Vec<(&str, &str)> = f.iter().map(|(k, v)| (*k, v.as_str())).collect();
        lead.post("/notes/labels/edit", &pairs).is(303);
    };
    send(fields("yes", format!("- Write with a waterproof pen.\n\n{body}"), "1"));
    try_booking(&ilse, sink, "2027-03-18").is(422).says("Labels");
    ilse.get("/").says("Read what you have not yet acknowledged");
    ilse.get("/way-in").says("Changed since you read it");
    ilse.get("/notes/labels")
        .says("What changed since version 1, which you read")
        .says("[put in: </span>- Write with a waterproof pen.");
    // An answer given on the old version's page does not count for the new one.
    acknowledge(house, &ilse, "labels", "1").is(409).says("newer version, 2");
    acknowledge(house, &ilse, "labels", "2").is(303);
    try_booking(&ilse, sink, "2027-03-18").is(303);
    // What is no longer essential keeps nobody waiting.
    send(fields("", format!("- Write with any pen.\n\n{body}"), "2"));
    try_booking(&ilse, sink, "2027-03-19").is(303);
    // Who has read what, as a file; a name that a spreadsheet would take for a formula is tamed.
    let file = lead.get("/safety/record.csv").is(200);
    assert!(file.headers["content-type"].starts_with("text/csv"));
    file.says("Ilse,ilse@quillhaven.example,labels,1,2027-03-15T10:00:00+00:00,1")
        .says("Ilse,ilse@quillhaven.example,labels,2,");
    lead.get("/safety/record").is(200).says("Ilse").says("read");
});

on_both!(a_lead_edits_the_questions_and_the_points, |house| {
    open_studio(house);
    let lead = house.person("Maren", Role::Lead);
    let odo = house.person("Odo", Role::Newcomer);
    let at = "/notes/skin/questions";
    lead.post(at, &[("question", "Gloves?"), ("right", "Yes"), ("wrong", "Yes"), ("why", "Skin.")])
        .is(422)
        .says("must differ");
    lead.post(at, &[("question", "Gloves?"), ("right", "Yes"), ("wrong", "No"), ("why", "Skin.")])
        .is(303);
    odo.get("/notes/skin").says("Gloves?");
    let (id, _) = answers(house, "skin")[0];
    let one = format!("{at}/{id}");
    let new = [("question", "Gloves on?"), ("right", "Always"), ("wrong", "No"), ("version", "1")];
    lead.post(&one, &new).is(303);
    lead.post(&one, &new).is(409).says("changed while this form was open").says("Gloves on?");
    lead.post(&format!("/notes/mixing/questions/{id}/retire"), &[]).is(404);
    lead.post(&format!("{one}/retire"), &[]).is(303);
    let page = odo.get("/notes/skin").body;
    assert!(!page.contains("Gloves on?"), "{page}");
    // Points of the induction: the last one signed counts, also when others are taken off.
    lead.post("/safety/induction", &[("text", "Has swept the floor")]).is(303);
    lead.get("/safety/induction").says("Has swept the floor").says("0 of 9 points signed");
    lead.post(&format!("/safety/induction/{}", lead.id), &[("point", "1"), ("in_person", "yes")])
        .is(409)
        .says("Nobody signs their own induction");
    odo.get("/safety/induction").is(403);
    odo.post(&format!("/safety/induction/{}", odo.id), &[("point", "1"), ("in_person", "yes")])
        .is(403);
});

on_both!(nothing_asks_about_health, |house| {
    open_studio(house);
    let odo = house.person("Odo", Role::Newcomer);
    for page in ["/way-in", "/notes/your-own-body", "/me"] {
        let body = odo.get(page).is(200).body;
        for field in ["pregnan", "asthma", "allerg", "medical", "health"] {
            assert!(!body.contains(&format!("name=\"{field}")), "{page} asks about {field}");
        }
    }
    odo.get("/way-in").says("We ask nobody about their health");
});

on_both!(what_one_has_read_goes_along_with_one_s_data, |house| {
    open_studio(house);
    let ilse = house.person("Ilse", Role::Member);
    acknowledge(house, &ilse, "labels", "1").is(303);
    let data = ilse.get("/me/export").is(200).json();
    let read = data["safety"]["notes"].as_array().unwrap();
    assert!(read.iter().any(|n| n["note"] == "labels" && n["version"] == 1), "{data}");
});

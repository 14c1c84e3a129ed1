//! Rolls: from the drop box to the pick-up shelf.

use wetside::demo;
use wetside::rolls::{self, Format, Look, NewRoll};
use wetside::sessions::Role;

use crate::house::{Browser, House};
use crate::recipes::{RECIPE, put_chart};

/// What a member sends to hand one roll in.
pub const ROLL: [(&str, &str); 5] =
    [("film", "1"), ("format", "135-36"), ("ei", "100"), ("count", "1"), ("negative", "yes")];

fn with<'a>(other: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut fields: Vec<(&str, &str)> =
        ROLL.iter().copied().filter(|(k, _)| other.iter().all(|(o, _)| o != k)).collect();
    fields.extend_from_slice(other);
    fields
}

/// Hands in one roll; its ticket.
pub fn hand_in(house: &House, member: &Browser, fields: &[(&str, &str)]) -> String {
    member.post("/rolls/new", fields).is(303);
    let items = house.api(member).get("/api/v1/rolls?mine=true").is(200).json();
    items["items"][0]["ticket"].as_str().unwrap().to_owned()
}

/// A ticket as it is written on film and in letters.
pub fn spoken(ticket: &str) -> String {
    let (first, last) = ticket.split_at(3);
    format!("{first}-{last}")
}

/// How a roll was developed by the first recipe.
fn developed(roll_id: i64) -> rolls::Processed {
    rolls::Processed {
        roll_id,
        run_id: None,
        recipe_id: Some(1),
        developer: "Saltmarsh concentrate, 1+31".to_owned(),
        agitation: "30 s, then 5 s each minute".to_owned(),
        tank: "Tank A".to_owned(),
        place: Some(2),
        concentrate_ul: 9500,
        water_ul: 294_500,
        planned_mc: 20_000,
        measured_mc: Some(20_600),
        planned_s: 495,
        actual_s: Some(480),
        baths: Vec::new(),
        note: String::new(),
    }
}

pub fn status(house: &House, of: &Browser, ticket: &str) -> String {
    let roll = house.api(of).get(&format!("/api/v1/rolls/{ticket}")).is(200).json();
    roll["status"].as_str().unwrap().to_owned()
}

on_both!(the_check_asks_what_must_be_known, |house| {
    put_chart(house);
    let member = house.person("Ana", Role::Member);
    let unsaid: Vec<_> = ROLL.iter().copied().filter(|(k, _)| *k != "negative").collect();
    member.post("/rolls/new", &unsaid).is(422).says("black-and-white negative film only");
    member.post("/rolls/new", &with(&[("format", "220")])).is(422).says("not in 220");
    member.post("/rolls/new", &with(&[("format", "4x5")])).is(422).says("how many sheets");
    let wrong = with(&[("tolerance", "50"), ("due", "soon"), ("note", "Keep me")]);
    let again = member.post("/rolls/new", &wrong).is(422);
    again.says("“50”").says("“soon”").says("Keep me");
    let careful = with(&[
        ("backing", "yes"),
        ("torn", "yes"),
        ("guessed", "yes"),
        ("spool", "yes"),
        ("care", "after_test"),
        ("length", "long"),
        ("not_shared", "yes"),
        ("tolerance", "0"),
        ("due", "2027-04-01"),
    ]);
    let ticket = hand_in(house, &member, &careful);
    let page = member.get(&format!("/rolls/{ticket}")).is(200);
    page.says("after a test roll")
        .says("Take the backing off")
        .says("Leader torn")
        .says("EI guessed")
        .says("Return the spool")
        .says("not shared")
        .says("Needed by");
    let sheets = hand_in(house, &member, &with(&[("format", "4x5"), ("sheets", "6")]));
    member.get(&format!("/rolls/{sheets}")).is(200).says("6 sheets 4x5");
    // Many alike get a ticket each, and one letter names them all.
    member.post("/rolls/new", &with(&[("count", "24")])).is(303);
    let letters = house.letters();
    let many = letters.iter().find(|l| l.subject.contains("24 tickets")).expect("one letter");
    let items = house.api(&member).get("/api/v1/rolls").is(200).json();
    let tickets = items["items"].as_array().unwrap();
    assert_eq!(tickets.len(), 26);
    let named =
        tickets.iter().filter(|t| many.text.contains(&spoken(t["ticket"].as_str().unwrap())));
    assert_eq!(named.count(), 24);
});

on_both!(the_present_terms_are_accepted_once, |house| {
    let lead = put_chart(house);
    let member = house.person("Ana", Role::Member);
    let terms = "Hand in nothing that cannot be replaced without saying so.";
    lead.post("/rolls/terms", &[("body", terms)]).is(303);
    lead.post("/rolls/terms", &[("body", terms)]).is(422).says("word for word");
    member.get("/rolls/new").is(200).says("cannot be replaced without saying so");
    member.post("/rolls/new", &ROLL).is(422).says("drop-off terms, version 1");
    let api = house.api(&member);
    let wish = serde_json::json!({"film": "Harbour Pan 100", "format": "120", "ei": 100});
    api.post("/api/v1/rolls", &wish).is(422).says("drop-off terms");
    member.post("/rolls/new", &with(&[("terms", "1")])).is(303);
    assert!(!member.get("/rolls/new").is(200).body.contains("I accept"));
    api.post("/api/v1/rolls", &wish).is(201);
    lead.post("/rolls/terms", &[("body", "Hand in nothing that is dear to you, ever.")]).is(303);
    member.post("/rolls/new", &with(&[("terms", "1")])).is(422).says("version 2 is in force");
    member.get("/rolls/terms").is(200).says("Version 1").says("Version 2");
});

on_both!(a_roll_goes_its_way_and_a_double_tap_is_harmless, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let (member, other) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let accepting = with(&[("terms", "1")]);
    let ticket = hand_in(house, &member, &accepting);
    let second = hand_in(house, &member, &accepting);
    let at = |t: &str| format!("/rolls/{t}/state");
    member.post(&at(&ticket), &[("state", "planned")]).is(403);
    other.get(&format!("/rolls/{ticket}")).is(404);
    other.post(&format!("/rolls/{ticket}/withdraw"), &[]).is(404);
    lead.post(&at(&ticket), &[("state", "ready")]).is(409).says("cannot become");
    for t in [&ticket, &second] {
        lead.post(&at(t), &[("state", "planned")]).is(303);
    }
    let place = [("state", "loaded"), ("tank", "1"), ("place", "1"), ("peg", "41"), ("note", "")];
    lead.post(&at(&ticket), &place).is(303);
    lead.post(&at(&ticket), &place).is(303);
    // Two films are never on one place, nor on one peg.
    lead.post(&at(&second), &place).is(409).says(&ticket);
    let peg = [("state", "loaded"), ("tank", "1"), ("place", "2"), ("peg", "41")];
    lead.post(&at(&second), &peg).is(409).says("Peg 41");
    lead.post(&at(&second), &[("state", "loaded"), ("tank", "1"), ("place", "2")]).is(303);
    member.post(&format!("/rolls/{ticket}/withdraw"), &[]).is(303);
    assert_eq!(status(house, &member, &ticket), "loaded", "only a lead stops what is under way");
    let page = member.get(&format!("/rolls/{ticket}")).is(200);
    page.says("Tank A, place 1 from the bottom, peg 41").says("by <bdi>Runa</bdi>");
    for state in ["on_the_hook", "re_fix", "on_the_hook", "ready", "ready", "picked_up"] {
        lead.post(&at(&ticket), &[("state", state)]).is(303);
    }
    assert_eq!(status(house, &member, &ticket), "picked_up");
    let steps = member.get(&format!("/rolls/{ticket}")).is(200).body;
    assert_eq!(steps.matches("Ready to pick up, by").count(), 1);
    let ready = house
        .letters()
        .into_iter()
        .filter(|l| l.subject == format!("Ready to pick up: ticket {}", spoken(&ticket)));
    assert_eq!(ready.count(), 1);
    // Side ways out.
    lead.post(&at(&second), &[("state", "spoiled"), ("note", "Lid came off")]).is(303);
    lead.get(&format!("/rolls/{second}")).is(200).says("Lid came off");
    lead.post(&at(&second), &[("state", "ready")]).is(409);
    let third = hand_in(house, &member, &accepting);
    member.post(&format!("/rolls/{third}/withdraw"), &[]).is(303);
    assert_eq!(status(house, &member, &third), "withdrawn");
});

on_both!(a_key_makes_one_effect_of_a_call_sent_twice, |house| {
    let lead = put_chart(house);
    let member = house.person("Ana", Role::Member);
    let api = house.api(&member);
    let wish = serde_json::json!({"film": "Harbour Pan 100", "format": "120", "ei": 100,
        "care": "alone", "tolerance_percent": 3, "due": "2027-04-01T18:00:00+01:00"});
    let first = api.post_keyed("/api/v1/rolls", Some("k1"), &wish).is(201).json();
    assert_eq!(api.post_keyed("/api/v1/rolls", Some("k1"), &wish).is(201).json(), first);
    let rolls = api.get("/api/v1/rolls").is(200).json();
    assert_eq!(rolls["items"].as_array().unwrap().len(), 1);
    assert_eq!(rolls["items"][0]["care"], "alone");
    for wrong in [
        serde_json::json!({"film": "Harbour Pan 100", "format": "90", "ei": 100}),
        serde_json::json!({"film": "Nobody's", "format": "120", "ei": 100}),
        serde_json::json!({"film": "Harbour Pan 100", "format": "120", "ei": 0}),
        serde_json::json!({"film": "Harbour Pan 100", "format": "120", "ei": 100, "sheets": 3}),
        serde_json::json!({"film": "Harbour Pan 100", "format": "120", "ei": 100, "care": "dear"}),
    ] {
        api.post("/api/v1/rolls", &wrong).is(422);
    }
    let ticket = first["ticket"].as_str().unwrap();
    let state = format!("/api/v1/rolls/{ticket}/state");
    api.post(&state, &serde_json::json!({"status": "planned"})).is(403);
    let leads = house.api(&lead);
    let planned = serde_json::json!({"status": "planned"});
    assert_eq!(leads.post(&state, &planned).is(200).json()["status"], "planned");
    leads.post(&state, &planned).is(200);
    leads.post(&state, &serde_json::json!({"status": "picked_up"})).is(409);
    let note = serde_json::json!({"look": "thin", "note": "more time"});
    api.post(&format!("/api/v1/rolls/{ticket}/results"), &note).is(204);
    let stranger = house.api(&house.person("Ben", Role::Member));
    stranger.post(&format!("/api/v1/rolls/{ticket}/results"), &note).is(404);
});

on_both!(rolls_are_found_by_ticket_owner_film_and_day, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let all = house.api(&lead).get("/api/v1/rolls").is(200).json();
    let all = all["items"].as_array().unwrap();
    assert!(all.len() >= 30, "{}", all.len());
    let states: std::collections::BTreeSet<_> =
        all.iter().map(|r| r["status"].as_str().unwrap()).collect();
    assert!(states.len() >= 8, "{states:?}");
    let ticket = all[3]["ticket"].as_str().unwrap();
    let typed = format!("/rolls?search={}-{}", &ticket[..3].to_lowercase(), &ticket[3..]);
    assert_eq!(lead.get(&typed).is(303).location.unwrap(), format!("/rolls/{ticket}"));
    let rows = |body: &str| body.matches("<th scope=\"row\"").count();
    let dagny = lead.get("/rolls?search=dagny").is(200);
    assert!(rows(&dagny.body) > 5 && !dagny.body.contains("<bdi>Ilse"));
    let both = lead.get("/rolls?search=dagny+skerry").is(200);
    assert!(rows(&both.body) < rows(&dagny.body) && rows(&both.body) > 0);
    assert_eq!(rows(&lead.get("/rolls?state=lost").is(200).body), 1);
    let today = rows(&lead.get("/rolls?from=2027-03-15&to=2027-03-15").is(200).body);
    assert_eq!(today, 9);
    let api = house.api(&lead);
    let days = |query: &str| api.get(&format!("/api/v1/rolls?{query}"));
    let count = |query: &str| days(query).is(200).json()["items"].as_array().unwrap().len();
    assert_eq!(count("from=2027-03-15&to=2027-03-15"), today);
    assert_eq!(count("to=2027-03-14") + count("from=2027-03-15"), all.len());
    assert_eq!(count("from=2027-03-16"), 0);
    for (query, name) in [("from=15.3.2027", "from"), ("to=2027-02-30", "to")] {
        let refused = days(query).is(422);
        assert!(refused.headers["content-type"].starts_with("application/problem+json"));
        assert!(refused.json()["fields"][name].is_string(), "{}", refused.body);
    }
    let turned = days("from=2027-03-15&to=2027-03-14").is(422).json();
    assert!(turned["fields"]["to"].as_str().unwrap().contains("before the first"), "{turned}");
    // A member finds their own only, and takes only their own away as a table.
    let member = house.browser();
    let sign_in = [("email", "dagny@quillhaven.example"), ("password", demo::PASSWORD)];
    member.post("/sign-in", &sign_in).is(303);
    let ilse = member.get("/rolls?search=ilse").is(200);
    assert_eq!(rows(&ilse.body), 0);
    let table = member.get("/rolls/export.csv").is(200);
    assert!(table.headers["content-type"].starts_with("text/csv"));
    let lines: Vec<_> = table.body.split("\r\n").filter(|l| !l.is_empty()).collect();
    assert!(lines.len() > 5 && lines[1..].iter().all(|l| l.contains("Dagny Pell")), "{lines:?}");
});

on_both!(what_would_be_a_formula_leaves_as_words, |house| {
    put_chart(house);
    let member = house.person("Ana", Role::Member);
    hand_in(house, &member, &with(&[("note", "=HYPERLINK(1)")]));
    let table = member.get("/rolls/export.csv").is(200).body;
    assert!(table.contains(",'=HYPERLINK(1)"), "{table}");
});

on_both!(what_was_done_last_time_is_found_again, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &RECIPE).is(303);
    let (member, other) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let ticket = hand_in(house, &member, &ROLL);
    let now = house.clock.now();
    let told = house
        .app
        .db
        .write_now(|tx| {
            let roll = rolls::by_ticket(tx, &ticket, None)?;
            let told = developed(roll.id);
            rolls::record(tx, now, Some(lead.id), &told)
        })
        .unwrap();
    assert!(told);
    let result = format!("/rolls/{ticket}/result");
    member.post(&result, &[("look", "other"), ("note", "")]).is(422).says("in a few words");
    member.post(&result, &[("look", "thin"), ("note", "Half a minute more")]).is(303);
    other.post(&result, &[("look", "thin")]).is(404);
    let found = other.get("/rolls/results?film=1&ei=100&search=half+a").is(200);
    found.clone().says("20.6").says("8:00").says("Half a minute more").says("Thin");
    assert!(!found.body.contains("Ana") && !found.body.contains(&ticket), "{}", found.body);
    lead.get("/rolls/results?look=thin").is(200).says(&ticket);
    // Words of the developer and of the note, from their beginning, in any order.
    for words in ["SALT", "minute+1%2B31", "thin-", "more+half&look=thin", "h&film=1"] {
        let page = lead.get(&format!("/rolls/results?search={words}")).is(200);
        assert_eq!(page.body.contains("Half a minute"), words != "thin-", "{words}");
    }
    for words in ["xyzzy", "half+xyzzy", "inute", "half&look=dense"] {
        lead.get(&format!("/rolls/results?search={words}")).is(200).says("Nothing of the kind");
    }
    other.get("/rolls/results?ei=800").is(200).says("Nothing of the kind");
    let told =
        house.api(&other).get("/api/v1/results?film=Harbour+Pan+100&look=thin").is(200).json();
    assert_eq!(told["items"][0]["measured_c"], 20.6);
    assert_eq!(told["items"][0]["ticket"], serde_json::Value::Null);
    let own = house.api(&member).get("/api/v1/results?ei=100").is(200).json();
    assert_eq!(own["items"][0]["ticket"], ticket.as_str());
    // The record is for ever.
    let edited = house.app.db.write_now(|tx| {
        use diesel::prelude::*;
        Ok(diesel::sql_query("UPDATE processing_records SET ei = 1").execute(tx.conn())?)
    });
    assert!(edited.is_err());
});

on_both!(one_old_result_is_found_behind_hundreds_that_are_alike, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &RECIPE).is(303);
    let (member, now) = (house.person("Ana", Role::Member), house.clock.now());
    let many = vec![NewRoll::of(1, Format::named("135-36").unwrap(), 100); 510];
    house
        .app
        .db
        .write_now(|tx| {
            for (n, (roll, _)) in (0..).zip(rolls::hand_in_many(tx, now, member.id, &many)?) {
                let at = now.plus(n);
                rolls::record(tx, at, Some(lead.id), &developed(roll))?;
                let (look, note) = match n {
                    0 => (Look::Milky, "Halos at the edges"),
                    _ => (Look::Thin, "A little thin"),
                };
                rolls::note_result(tx, at, (roll, member.id), look, note)?;
            }
            Ok(())
        })
        .unwrap();
    let found = |query: &str| {
        let page = lead.get(&format!("/rolls/results?{query}")).is(200).body;
        (page.matches("<section class=\"slip\">").count(), page.contains("The next thirty"))
    };
    let (all, one, none) = ((30, true), (1, false), (0, false));
    for query in ["search=thin", "look=thin", "search=salt+thin", "film=1&search=thin&look=thin"] {
        assert_eq!(found(query), all, "{query}");
    }
    for query in ["search=halo", "look=milky", "search=halo+saltmarsh", "search=salt&look=milky"] {
        assert_eq!(found(query), one, "{query}");
    }
    for query in ["search=thin+halo", "search=thin&look=milky", "search=halo&ei=800"] {
        assert_eq!(found(query), none, "{query}");
    }
    // Among as many rolls, those of a film are found by its name, a page at a time.
    let rows = |query: &str| lead.get(query).is(200).body.matches("<th scope=\"row\"").count();
    assert_eq!(rows("/rolls?search=harbour"), 50);
    assert_eq!(rows("/rolls?search=harbour+100&from=2000-01-01"), 50);
    assert_eq!(rows("/rolls?search=harbour+gannet"), 0);
});

on_both!(labels_carry_the_code_of_the_rolls_page, |house| {
    put_chart(house);
    let (member, other) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let ticket = hand_in(house, &member, &with(&[("care", "alone")]));
    let at = format!("/rolls/labels?tickets={ticket}&sheet=a4-3x7&skip=4");
    let page = member.get(&at).is(200);
    let spoken = format!("{}-{}", &ticket[..3], &ticket[3..]);
    page.clone().says(&spoken).says("viewBox=\"0 0 210 297\"").says("Cannot be replaced");
    other.get(&at).is(200).says("1 of the tickets is not known or not yours");
    member.get("/rolls/labels").is(200).says("Give the tickets");
    member.get("/rolls/labels?sheet=nonsense&skip=-5&tickets=%20..,").is(200);
});

//! The thin walk through the whole job, from the drop box to the letter about the fixer.

use wetside::demo;
use wetside::sessions::Role;

/// Where a bath's row says how much it can still take.
fn remaining(baths: &serde_json::Value) -> f64 {
    baths["items"][0]["remaining"].as_f64().unwrap()
}

on_both!(from_the_drop_box_to_the_letter_about_the_fixer, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.browser();
    let sign_in = [("email", "maren@quillhaven.example"), ("password", demo::PASSWORD)];
    lead.post("/sign-in", &sign_in).is(303);
    lead.get("/").is(200).says("Plan a day").says("Fixer 12");

    // A member books a sink and hands in three rolls.
    let member = house.person("Hedda", Role::Member);
    let booking = [("sink", "1"), ("date", "2027-03-15"), ("from", "13:00"), ("to", "15:00")];
    member.post("/bookings", &booking).is(303);
    let roll = [
        ("film", "2"),
        ("format", "135-36"),
        ("ei", "400"),
        ("count", "3"),
        ("recipe", ""),
        ("negative", "yes"),
        ("terms", "1"),
    ];
    let handed = member.post("/rolls/new", &roll);
    member.follow(handed).says("Handed in");
    member.get("/rolls/new").is(200);

    // The lead plans the day, looks it through and publishes it.
    let draft = lead.post("/days", &[("date", "2027-03-15")]).is(303);
    lead.follow(draft).says("not yet published").says("Left over");
    let api = house.api(&member);
    assert_eq!(
        api.get("/api/v1/mix-sheets/2027-03-15").is(200).json()["runs"],
        serde_json::json!([])
    );
    lead.post("/days/2027-03-15/publish", &[]).is(303);
    lead.get("/days/2027-03-15")
        .is(200)
        .says("Concentrate")
        .says("End run")
        .says("collect, do not pour");
    let sheet = api.get("/api/v1/mix-sheets/2027-03-15").is(200).json();
    let runs = sheet["runs"].as_array().unwrap();
    assert!(runs.len() >= 3, "{sheet}");
    for run in runs {
        let ml = |name: &str| run[name].as_f64().unwrap();
        let sum = ml("concentrate_ml") + ml("water_ml");
        assert!((sum - ml("developer_ml")).abs() < 1e-6, "{run}");
        assert!(ml("developer_ml") >= 300.0, "{run}");
    }
    // The board shows the runs, and the member's own booking still stands.
    member.get("/board?date=2027-03-15").is(200).says("Yours");

    // Every run is ended, one of them twice; the ledger takes each once.
    let before = remaining(&api.get("/api/v1/baths").is(200).json());
    for run in runs {
        lead.post(&format!("/runs/{}/end", run["id"]), &[]).is(303);
    }
    lead.post(&format!("/runs/{}/end", runs[0]["id"]), &[]).is(303);
    let after = remaining(&api.get("/api/v1/baths").is(200).json());
    let rolls: usize = runs.iter().map(|r| r["rolls"].as_array().unwrap().len()).sum();
    assert!(
        before - after >= rolls as f64 && before - after <= rolls as f64 * 1.5,
        "{before} {after}"
    );
    member.get("/rolls").is(200).says("On the hook");

    // At its limit a letter leaves through the outbox, one to each lead and cause.
    let fixer = api.get("/api/v1/baths").json()["items"][0]["id"].clone();
    let uses = format!("/baths/{fixer}/uses");
    member.post(&uses, &[("format", "120"), ("count", "20")]).is(303);
    member.post(&uses, &[("format", "120"), ("count", "1")]).is(303);
    let of_fixer = |s: &str| s.contains("Fixer 12") && s.contains("at its limit");
    let limit = house.letters().into_iter().filter(|l| of_fixer(&l.subject)).count();
    assert_eq!(limit, 2, "one to each of the two leads");

    // A newcomer reads the notes without signing in.
    let visitor = house.browser();
    visitor.get("/").is(200).says("Safety and disposal notes");
    visitor.get("/notes/where-it-goes").is(200).says("collect, do not pour");
});

on_both!(a_draft_that_the_room_overtook_is_refused_whole, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    lead.post("/days", &[("date", "2027-03-15")]).is(303);
    // Somebody books the sink of the first run meanwhile.
    let taken = [("sink", "1"), ("date", "2027-03-15"), ("from", "10:00"), ("to", "12:00")];
    lead.post("/bookings", &taken).is(303);
    let refused = lead.post("/days/2027-03-15/publish", &[]).is(303);
    lead.follow(refused).says("Nothing was published").says("not yet published");
    let api = house.api(&lead);
    assert_eq!(api.get("/api/v1/mix-sheets/2027-03-15").json()["runs"], serde_json::json!([]));
    assert_eq!(api.get("/api/v1/rolls?status=planned").json()["items"], serde_json::json!([]));
});

on_both!(a_member_sees_only_their_own_rolls, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let all = house.api(&lead).get("/api/v1/rolls").is(200).json();
    let ticket = all["items"][0]["ticket"].as_str().unwrap().to_owned();
    lead.get(&format!("/rolls/{ticket}")).is(200).says(&ticket);
    let stranger = house.person("Sunniva", Role::Member);
    stranger.get(&format!("/rolls/{ticket}")).is(404);
    assert_eq!(house.api(&stranger).get("/api/v1/rolls").json()["items"], serde_json::json!([]));
});

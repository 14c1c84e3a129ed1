//! The time chart: versions, proposals, search, and the time for one's own run.

use wetside::demo;
use wetside::sessions::Role;

use crate::house::House;

/// A film and a developer, entered by a lead through the pages; their ids are 1.
pub fn put_chart(house: &House) -> crate::house::Browser {
    let lead = house.person("Runa", Role::Lead);
    let film = [("name", "Harbour Pan 100"), ("speed", "100"), ("formats", "135-36, 120, 4x5")];
    lead.post("/chart/films", &film).is(303);
    let developer = [
        ("name", "Saltmarsh concentrate, 1+31"),
        ("product", "Saltmarsh concentrate"),
        ("water_parts", "31"),
        ("least", "6,5"),
        ("factor", "2.36"),
        ("handling", "one_shot"),
        ("on_hand", "yes"),
    ];
    lead.post("/chart/developers", &developer).is(303);
    lead
}

pub const RECIPE: [(&str, &str); 9] = [
    ("film", "1"),
    ("ei", "100"),
    ("developer", "1"),
    ("temperature", "20,0"),
    ("time", "8:15"),
    ("pre_soak", "1:00"),
    ("agitation", "30s+5s/60s"),
    ("source", "Test strips of May"),
    ("contrast", ""),
];

/// The recipe with some fields written otherwise.
fn but<'a>(other: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut fields: Vec<(&str, &str)> =
        RECIPE.iter().copied().filter(|(k, _)| other.iter().all(|(o, _)| o != k)).collect();
    fields.extend_from_slice(other);
    fields
}

on_both!(a_proposal_stands_on_the_chart_when_a_lead_says_so, |house| {
    let lead = put_chart(house);
    let member = house.person("Ana", Role::Member);
    member.post("/chart/films", &[("name", "Mine"), ("speed", "100")]).is(403);
    let proposed = member.post("/chart/new", &RECIPE);
    member.follow(proposed).says("Proposed").says("8:15");
    member.get("/chart").is(200).says("The chart is empty");
    member.get("/chart?search=harbour").is(200).says("Nothing on the chart fits");
    let other = house.person("Ben", Role::Member);
    assert!(!other.get("/chart/proposals").is(200).body.contains("Harbour Pan 100"));
    lead.get("/chart/proposals").is(200).says("Harbour Pan 100").says("Test strips of May");
    member.post("/chart/1/decide", &[("what", "approve")]).is(403);
    let decided = lead.post("/chart/1/decide", &[("what", "approve"), ("why", "Well tested")]);
    lead.follow(decided).says("It stands on the time chart now").says("30 s, then 5 s each minute");
    other.get("/chart").is(200).says("Test strips of May");
    // The same tap again changes nothing; the letter left once.
    lead.post("/chart/1/decide", &[("what", "approve")]).is(303);
    let letters = house.letters();
    let told: Vec<_> = letters.iter().filter(|l| l.subject.contains("On the time chart")).collect();
    assert_eq!(told.len(), 1);
    assert!(told[0].text.contains("Well tested"), "{}", told[0].text);
});

on_both!(a_changed_recipe_keeps_its_earlier_versions, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &RECIPE).is(303);
    // A second one for just the same is refused; the same for another enlarger is not.
    lead.post("/chart/new", &but(&[("time", "9:00")])).is(409).says("Change that one");
    lead.post("/chart/new", &but(&[("contrast", "Condenser"), ("time", "7:00")])).is(303);
    let change = but(&[("from", "1"), ("time", "9:00"), ("why", "Too thin")]);
    lead.post("/chart/new", &change).is(303);
    lead.get("/chart/3").is(200).says("9:00").says("Too thin").says("On the chart");
    lead.get("/chart/1").is(200).says("Replaced");
    let items = house.api(&lead).get("/api/v1/recipes").is(200).json()["items"].clone();
    let times: Vec<_> = items.as_array().unwrap().iter().map(|r| r["time_s"].clone()).collect();
    assert_eq!(times, [420, 540]);
    // A member's change is a proposal beside it, until it takes its place.
    let member = house.person("Ana", Role::Member);
    member.post("/chart/new", &but(&[("from", "3"), ("time", "8:45")])).is(303);
    lead.get("/chart/3").is(200).says("8:45").says("Proposed");
    lead.post("/chart/4/decide", &[("what", "approve")]).is(303);
    lead.get("/chart/3").is(200).says("Replaced");
    lead.post("/chart/4/withdraw", &[]).is(303);
    assert!(!lead.get("/chart").is(200).body.contains("8:45"));
    lead.post("/chart/3/decide", &[("what", "approve")]).is(303);
    lead.get("/chart/3").is(200).says("Replaced");
});

on_both!(faults_stand_beside_their_fields, |house| {
    let lead = put_chart(house);
    let wrong = but(&[("time", "8"), ("temperature", "warm"), ("table", "18=10:30 bad")]);
    let again = lead.post("/chart/new", &wrong).is(422);
    again
        .says("“8” is not the developing time")
        .says("“warm” is not the temperature")
        .says("“bad” is no row of a table")
        .says("Test strips of May");
    lead.post("/chart/new", &but(&[("table", "18=8:00 24=6:00")])).is(422).says("rows");
    lead.post("/chart/new", &but(&[("film", "77")])).is(422).says("not on the chart");
    let small = [("name", "X"), ("speed", "fast"), ("formats", "135-36, 90")];
    lead.post("/chart/films", &small).is(422).says("“fast”").says("Format");
    // A developer changed by somebody else meanwhile is not overwritten.
    let form = [
        ("name", "Saltmarsh concentrate, 1+31"),
        ("product", "Saltmarsh concentrate"),
        ("water_parts", "31"),
        ("least", "7"),
        ("handling", "used_again"),
        ("growth_percent", "10"),
        ("growth_every", "4"),
        ("version", "1"),
    ];
    lead.post("/chart/developers/1", &form).is(303);
    lead.post("/chart/developers/1", &form).is(409).says("changed this developer meanwhile");
    lead.get("/chart/developers").is(200).says("10.0").says("4.0").says("not known");
});

on_both!(the_chart_is_searched_and_paged, |house| {
    demo::fill(&house.app).unwrap();
    let member = house.person("Ana", Role::Member);
    let first = member.get("/chart").is(200).says("The next fifty");
    let next = first.body.split("rel=\"next\" href=\"").nth(1).unwrap();
    let next = next.split('"').next().unwrap().replace("&amp;", "&");
    let second = member.get(&next).is(200).says("To its beginning");
    let rows = |body: &str| body.matches("<th scope=\"row\"").count();
    let all = house.api(&member).get("/api/v1/recipes").is(200).json();
    let count = all["items"].as_array().unwrap().len();
    assert_eq!(rows(&first.body) + rows(&second.body), count);
    let found = member.get("/chart?search=gannet+800").is(200);
    assert_eq!(rows(&found.body), 1);
    assert_eq!(rows(&member.get("/chart?search=%25").is(200).body), 0);
    // With what stands on the shelf.
    let spindrift = member.get("/chart?search=spindrift").is(200).says("not on the shelf");
    assert!(rows(&spindrift.body) > 3);
    assert_eq!(rows(&member.get("/chart?search=spindrift&on_hand=yes").is(200).body), 0);
    let api = house.api(&member);
    api.get("/api/v1/recipes?after=nonsense").is(422);
    assert_eq!(
        api.get("/api/v1/recipes?ei=12").is(200).json()["items"].as_array().unwrap().len(),
        2
    );
});

on_both!(the_time_for_my_roll_shows_its_working, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &but(&[("time", "8:00")])).is(303);
    // K = 2.36 (TT-8, Wall 1910): 480 s × 2.36^((20 - 22) / 10) = 404 s, a quarter minute: 6:45.
    let page = lead.get("/chart/1?at=22&volume=500").is(200);
    page.clone().says("6:45").says("× 0.842").says("2.36^((20.0 - 22.0) / 10)");
    // One stop of push: × 1.35 to 1.50 (SPD-7, Horenstein p. 154), a marked estimate.
    lead.get("/chart/1?shot=200&step=0:01")
        .is(200)
        .says("11:24")
        .says("estimate")
        .says("Horenstein");
    // A factor of one's own is no estimate.
    let own = lead.get("/chart/1?shot=200&push_factor=1,5&step=0:01").is(200).says("12:00");
    assert!(!own.body.contains("Horenstein"));
    // Outside the band of TT-4 (Army SS0509) there is no time, with the reason.
    lead.get("/chart/1?at=26").is(200).says("No time for this").says("18.0").says("24.0");
    // Too short for the pour of this volume.
    lead.get("/chart/1?at=24&push_factor=0.3&shot=99")
        .is(200)
        .says("too short for an even negative");
    lead.get("/chart/1?at=hot").is(200).says("“hot” is not the temperature");
    // What the module asks for is the same, and nothing else.
    // Programs get the same figures.
    let api = house.api(&lead);
    let time = api.get("/api/v1/recipes/1/time?at=22").is(200).json();
    assert_eq!((time["time_s"].clone(), time["recipe_time_s"].clone()), (405.into(), 480.into()));
    assert_eq!(time["steps"][0]["correction"], "temperature");
    api.get("/api/v1/recipes/1/time?at=26").is(409).says("no-time");
    api.get("/api/v1/recipes/1/time?at=hot").is(422);
    let part = lead.get("/chart/1/working?at=22&volume=500").is(200).says("6:45");
    assert!(!part.body.contains("<html"));
    lead.get("/chart/1/working?at=22&used=3").is(200).says("e-use of a developer");
});

on_both!(a_table_of_its_own_is_read_between_its_rows, |house| {
    let lead = put_chart(house);
    let table = but(&[("time", "8:00"), ("table", "18=10:00 24=5:00")]);
    lead.post("/chart/new", &table).is(303);
    lead.get("/chart/1").is(200).says("10:00").says("5:00");
    // Straight in the logarithm of time between 20 °C, 8:00 and 24 °C, 5:00: at 22 °C
    // sqrt(480 × 300) = 379 s.
    lead.get("/chart/1?at=22&step=0:01").is(200).says("6:19").says("own table");
    lead.get("/chart/1?at=17").is(200).says("No time for this");
});

on_both!(the_chart_knows_what_the_shelf_holds, |house| {
    demo::fill(&house.app).unwrap();
    let member = house.person("Ana", Role::Member);
    let now = house.clock.now();
    let held = house.app.db.read_now(|conn| wetside::shelf::stock(conn, now)).unwrap();
    let is_shown = |house: &House, search: &str| {
        wetside::jobs::tidy(&house.app, now).unwrap();
        let search = serde_urlencoded::to_string([("search", search)]).unwrap();
        let page = member.get(&format!("/chart?{search}")).is(200);
        assert!(page.body.contains("scope=\"row\""), "{search}");
        !page.body.contains("not on the shelf")
    };
    let leave = |house: &House, product: &str, rest: i64| {
        let one = held.iter().find(|s| s.product.of.name == product).expect("on the shelf");
        let all = wetside::shelf::Wanted { amount: one.usable - rest, ..Default::default() };
        let id = one.product.id;
        house.app.db.write_now(|tx| wetside::shelf::draw(tx, now, None, id, &all)).unwrap();
    };
    assert!(is_shown(house, "saltmarsh") && is_shown(house, "fathom"));
    // Somebody uses up all but a drop of it, which is not enough for a roll.
    leave(house, "Saltmarsh concentrate", 500);
    assert!(!is_shown(house, "saltmarsh"));
    // A powder of which nothing is left stands there still, mixed in its bottle.
    leave(house, "Fathom powder", 0);
    assert!(is_shown(house, "fathom"));
});

//! Telling: letters for each cause once.

use wetside::baths;
use wetside::sessions::Role;

use super::{films, letters, mixing, stocked};

on_both!(leads_are_told_once_for_each_cause_and_again_after_a_correction, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    let member = house.person("Ilse", Role::Member);
    member.post("/baths/1/uses", &films("120", "11")).is(303);
    assert_eq!(letters(house, "near its limit"), 0);
    for _ in 0..3 {
        member.post("/baths/1/uses", &films("120", "1")).is(303);
    }
    assert_eq!((letters(house, "near its limit"), letters(house, "at its limit")), (1, 0));
    member.post("/baths/1/uses", &films("120", "2")).is(303);
    assert_eq!((letters(house, "near its limit"), letters(house, "at its limit")), (1, 1));
    // The first entry was really one roll: the count begins anew.
    lead.get("/baths/1/corrections/1").is(200).says("11 rolls");
    let really = |rolls, why| [("rolls", rolls), ("why", why)];
    lead.post("/baths/1/corrections/1", &really("11", "")).is(422).says("a reason");
    lead.post("/baths/1/corrections/1", &really("1", "Written down twice.")).is(303);
    lead.get("/baths/1").is(200).says("Good").says("corrects entry 1").says("Written down twice.");
    member.post("/baths/1/uses", &films("120", "7")).is(303);
    assert_eq!((letters(house, "near its limit"), letters(house, "at its limit")), (2, 1));
    // Members do not correct.
    member.post("/baths/1/corrections/1", &really("0", "mine")).is(403);
});

on_both!(age_and_volume_are_told_by_the_house_itself, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[("least_ml", "990")])).is(303);
    lead.post("/baths/1/uses", &films("120", "1")).is(303);
    assert_eq!(letters(house, "too little left"), 1);
    lead.get("/baths/1").is(200).says("Too little left");
    lead.post("/baths/1/top-ups", &[("volume_ml", "16")]).is(422).says("room for 15 ml");
    lead.post("/baths/1/top-ups", &[("volume_ml", "15")]).is(303);
    lead.get("/baths/1").is(200).says("14</strong> of 15 rolls").says("restores no capacity");
    house.clock.advance(61 * 86_400);
    let now = house.clock.now();
    for _ in 0..2 {
        house.app.db.write_now(|tx| baths::watch(tx, now)).unwrap();
    }
    assert_eq!(letters(house, "too old"), 1);
});

on_both!(the_studio_says_from_where_on_a_bath_is_near_its_limit, |house| {
    let lead = stocked(house);
    lead.post("/baths", &mixing(&[])).is(303);
    lead.post("/baths/1/uses", &films("120", "8")).is(303);
    lead.get("/baths/1").is(200).says("Good");
    let version = crate::members::version_in(&lead.get("/studio").is(200).body);
    let settings = [
        ("name", "Quay Darkroom"),
        ("about", "Two sinks."),
        ("zone", "Europe/Dublin"),
        ("joining", "invitation"),
        ("password_length", "15"),
        ("near_limit_percent", "60"),
        ("version", version.as_str()),
    ];
    lead.post("/studio", &settings).is(303);
    // Eight of fifteen are 53 %, nine are 60 %.
    lead.get("/baths/1").is(200).says("Good");
    lead.post("/baths/1/uses", &films("120", "1")).is(303);
    lead.get("/baths/1").is(200).says("Near its limit");
    assert_eq!(letters(house, "near its limit"), 1);
});

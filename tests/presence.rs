//! Stories of who is in the building, who goes last, and who never came.

use wetside::bookings::Place;
use wetside::presence;
use wetside::sessions::Role;

use crate::bookings::sink;
use crate::house::House;

fn place(house: &House) -> Place {
    Place { now: house.clock.now(), zone: house.app.zone(), address: house.url.clone() }
}

on_both!(the_last_one_out_signs_the_list, |house| {
    let (ilse, odo) = (house.person("Ilse", Role::Member), house.person("Odo", Role::Newcomer));
    let lead = house.person("Maren", Role::Lead);
    let list = [("items", "Loaded tanks\n\n Film in the cabinet \nLights")];
    ilse.post("/presence/last-out", &list).is(403);
    lead.post("/presence/last-out", &list).is(303);

    ilse.get("/presence").is(200).says("Nobody is checked in");
    ilse.post("/presence/in", &[]).is(303);
    ilse.post("/presence/in", &[]).is(303);
    odo.post("/presence/in", &[]).is(303);
    lead.get("/presence").is(200).says("2 people are here").says("Ilse").says("Odo");
    ilse.post("/presence/out", &[]).is(303);
    odo.get("/presence").is(200).says("You are the last one here").says("Film in the cabinet");
    odo.post("/presence/out", &[]).is(409).says("Go through the list");
    let half = [("signed", "yes"), ("done_1", "yes"), ("done_3", "yes"), ("note", "")];
    odo.post("/presence/out", &half).is(422).says("Film in the cabinet").says("checked");
    let why = [("signed", "yes"), ("done_1", "yes"), ("done_3", "yes"), ("note", "Still wet")];
    odo.post("/presence/out", &why).is(303);
    odo.post("/presence/out", &why).is(303);
    lead.get("/presence").is(200).says("Nobody is checked in");
    let signed = house.app.db.read_now(|c| presence::signed_lists(c, 10)).unwrap();
    assert_eq!(signed.len(), 1);
    assert_eq!((signed[0].name.as_str(), signed[0].note.as_str()), ("Odo", "Still wet"));
    let done: Vec<bool> = signed[0].lines.iter().map(|l| l.done).collect();
    assert_eq!(done, [true, false, true]);
    // The list changes; what was signed does not.
    lead.post("/presence/last-out", &[("items", "Doors")]).is(303);
    lead.get("/presence/last-out").is(200).says("Left: Film in the cabinet").says("Still wet");
});

on_both!(a_lead_sees_somebody_out_and_signs_for_them, |house| {
    let (ilse, lead) = (house.person("Ilse", Role::Member), house.person("Maren", Role::Lead));
    lead.post("/presence/last-out", &[("items", "Lights")]).is(303);
    ilse.post("/presence/in", &[]).is(303);
    let corin = house.person("Corin", Role::Member);
    corin.post("/presence/1/out", &[("signed", "yes"), ("done_1", "yes")]).is(403);
    lead.post("/presence/1/out", &[]).is(409).says("sign it");
    lead.post("/presence/1/out", &[("signed", "yes"), ("done_1", "yes")]).is(303);
    assert!(house.app.db.read_now(presence::inside).unwrap().is_empty());
});

on_both!(an_evening_left_open_is_told_to_the_leads_once, |house| {
    sink(house);
    let ilse = house.person("Ilse", Role::Member);
    house.put_person("Maren", Role::Lead);
    house.put_person("Tobin", Role::Lead);
    ilse.post("/presence/in", &[]).is(303);
    let tell = || {
        let place = place(house);
        house.app.db.write_now(|tx| presence::tell_of_evenings_left_open(tx, &place)).unwrap();
        house.letters().into_iter().filter(|l| l.subject.contains("Still checked in")).count()
    };
    // It is 10:00; the room closes at 22:00, and half an hour of grace follows.
    house.clock.advance(12 * 3600 + 1799);
    assert_eq!(tell(), 0);
    house.clock.advance(1);
    assert_eq!(tell(), 2, "one to each lead");
    house.clock.advance(3600);
    assert_eq!(tell(), 2);
    let letter = house.letters().pop().unwrap();
    assert!(letter.text.contains("closed at 22:00") && letter.text.contains("- Ilse, since"));
});

on_both!(a_slot_nobody_came_for_is_given_back_and_counted, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let (dagny, tove) = (house.person("Dagny", Role::Member), house.person("Tove", Role::Member));
    let wish =
        |from, to| [("sink", id.as_str()), ("date", "2027-03-15"), ("from", from), ("to", to)];
    ilse.post("/bookings", &wish("12:00", "14:00")).is(303);
    corin.post("/bookings", &wish("14:00", "16:00")).is(303);
    dagny.post("/bookings", &wish("16:00", "18:00")).is(303);
    let give_back = || {
        let place = place(house);
        let gone = house.app.db.write_now(|tx| presence::give_back_no_shows(tx, &place)).unwrap();
        gone.into_iter().map(|b| b.member_name).collect::<Vec<_>>()
    };
    house.clock.advance(2 * 3600 + 1200);
    assert!(give_back().is_empty(), "the studio does not give back unless it says so");
    let customs = [
        ("remind_min", "0"),
        ("offer_min", "60"),
        ("no_show_min", "20"),
        ("left_open_min", "30"),
        ("version", "1"),
    ];
    lead.post("/room/customs", &customs).is(303);
    lead.get("/presence").is(200).says("Mark as here");
    assert_eq!(give_back(), ["Ilse"]);
    assert!(give_back().is_empty());
    tove.post("/bookings", &wish("12:30", "14:00")).is(303);
    // Corin checks in half an hour early; a lead marks Dagny, who forgot to.
    house.clock.advance(3600 + 600);
    corin.post("/presence/in", &[]).is(303);
    house.clock.advance(2 * 3600 + 600);
    lead.post("/presence/arrivals/3", &[]).is(303);
    lead.post("/presence/arrivals/3", &[]).is(303);
    lead.post("/presence/arrivals/1", &[]).is(404);
    house.clock.advance(1800);
    assert!(give_back().is_empty());
    lead.get("/presence").is(200).says("Came at");
    lead.get("/presence/last-out").is(200).says("Ilse").says("180 days");
    let told: Vec<_> =
        house.letters().into_iter().filter(|l| l.subject.starts_with("Given back")).collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].to, "ilse@quillhaven.example");
});

on_both!(a_reminder_comes_once_and_only_to_who_wants_it, |house| {
    let id = sink(house).to_string();
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let wish = |date, from, to| [("sink", id.as_str()), ("date", date), ("from", from), ("to", to)];
    ilse.post("/bookings", &wish("2027-03-17", "18:00", "20:00")).is(303);
    ilse.post("/bookings", &wish("2027-03-15", "18:00", "20:00")).is(303);
    corin.get("/me").is(200).says("A reminder before a booking of yours");
    corin.post("/me/letters", &[("wanted", "booking_made")]).is(303);
    corin.post("/bookings", &wish("2027-03-17", "20:00", "21:00")).is(303);
    let reminded = || {
        wetside::jobs::hours(&house.app, house.clock.now()).unwrap();
        let all = house.letters().into_iter().filter(|l| l.subject.starts_with("Coming up"));
        all.map(|l| (l.to, l.subject)).collect::<Vec<_>>()
    };
    assert!(reminded().is_empty(), "today's was booked today; the other is further than a day off");
    // A day ahead is the custom of a new studio: it is 10:00 on the 15th now.
    house.clock.advance(32 * 3600 - 2);
    assert!(reminded().is_empty());
    house.clock.advance(2);
    assert_eq!(reminded().len(), 1);
    house.clock.advance(4 * 3600);
    let told = reminded();
    assert_eq!(told.len(), 1, "Corin wants none");
    assert_eq!(told[0].0, "ilse@quillhaven.example");
    assert!(told[0].1.contains("Wednesday 17 March 2027, 18:00 to 20:00"));
});

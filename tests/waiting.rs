//! Stories of the waiting list.

use wetside::bookings::waitlist;
use wetside::sessions::Role;
use wetside::sinks::{self, Sink};

use crate::bookings::sink;
use crate::house::{Browser, House};

fn book(browser: &Browser, sink: &str, from: &str, to: &str) -> u16 {
    let wish = [("sink", sink), ("date", "2027-03-16"), ("from", from), ("to", to)];
    browser.post("/bookings", &wish).status
}

fn wait(browser: &Browser, length: &str, from: &str, to: &str) -> crate::house::Answer {
    let wish =
        [("date", "2027-03-16"), ("length", length), ("from", from), ("to", to), ("sink", "")];
    browser.post("/waiting", &wish)
}

fn offered(house: &House) -> Vec<String> {
    let all = house.letters().into_iter().filter(|l| l.subject.starts_with("A time has come free"));
    all.map(|l| l.to).collect()
}

on_both!(a_freed_slot_is_offered_to_the_first_whose_wish_it_meets_then_to_the_next_once, |house| {
    let id = sink(house).to_string();
    let owner = house.person("Maren", Role::Member);
    // The whole day is taken: 9 to 22 in pieces.
    for (from, to) in
        [("09:00", "15:00"), ("15:00", "18:00"), ("18:00", "20:00"), ("20:00", "22:00")]
    {
        assert_eq!(book(&owner, &id, from, to), 303);
    }
    let people: Vec<Browser> =
        ["Ilse", "Corin", "Dagny"].map(|n| house.person(n, Role::Member)).into();
    wait(&people[0], "180", "17:00", "22:00").is(303); // Longer than what comes free.
    wait(&people[1], "90", "17:00", "22:00").is(303);
    wait(&people[2], "90", "17:00", "22:00").is(303);
    wait(&people[2], "60", "10:00", "12:00").is(422).says("wait for that day already");
    assert!(offered(house).is_empty());

    owner.post("/bookings/3/cancel", &[]).is(303);
    assert_eq!(offered(house), ["corin@quillhaven.example"]);
    // Held: nobody else has it meanwhile, and it says so.
    assert_eq!(book(&people[0], &id, "18:00", "19:30"), 409);
    people[0].get("/board?date=2027-03-16").is(200).says("Held for the waiting list");
    people[1].get("/waiting").is(200).says("Held for you").says("18:00 to 19:30");
    people[0].post("/waiting/offers/1/take", &[]).is(404);
    people[2].get("/waiting").is(200).says("What you wait for");

    // Corin does nothing for the two hours of a new studio: it goes to Dagny, once.
    house.clock.advance(2 * 3600 - 1);
    wetside::jobs::hours(&house.app, house.clock.now()).unwrap();
    assert_eq!(offered(house).len(), 1);
    house.clock.advance(1);
    wetside::jobs::hours(&house.app, house.clock.now()).unwrap();
    wetside::jobs::hours(&house.app, house.clock.now()).unwrap();
    assert_eq!(offered(house), ["corin@quillhaven.example", "dagny@quillhaven.example"]);
    let late = people[1].post("/waiting/offers/1/take", &[]).is(303);
    people[1].follow(late).says("This offer has ended");

    // Taken: a booking like any other.
    people[2].post("/waiting/offers/2/take", &[]).is(303);
    people[2].get("/board?date=2027-03-16").is(200).says("Yours");
    let again = people[2].post("/waiting/offers/2/take", &[]).is(303);
    people[2].follow(again).says("This offer has ended");
    assert!(
        house.app.db.read_now(waitlist::is_quiet).is_ok_and(|quiet| !quiet),
        "Ilse still waits"
    );
    people[0].post("/waiting/1/withdraw", &[]).is(303);
    assert!(house.app.db.read_now(waitlist::is_quiet).unwrap());
});

on_both!(what_is_let_go_or_too_late_goes_on_at_once, |house| {
    let id = sink(house).to_string();
    let owner = house.person("Maren", Role::Member);
    for (from, to) in [("09:00", "15:00"), ("15:00", "18:00"), ("18:00", "22:00")] {
        assert_eq!(book(&owner, &id, from, to), 303);
    }
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let lead = house.person("Runa", Role::Lead);
    wait(&ilse, "120", "17:00", "22:00").is(303);
    wait(&corin, "120", "17:00", "22:00").is(303);
    lead.get("/waiting").is(200).says("Everybody who waits").says("Ilse").says("Corin");
    corin.post("/waiting/1/withdraw", &[]).is(404);
    // A booking that is moved frees its time too.
    let moved = [
        ("sink", id.as_str()),
        ("date", "2027-03-17"),
        ("from", "18:00"),
        ("to", "22:00"),
        ("version", "1"),
    ];
    owner.post("/bookings/3", &moved).is(303);
    // 18 to 20 for Ilse, 20 to 22 for Corin: both at once.
    assert_eq!(offered(house), ["ilse@quillhaven.example", "corin@quillhaven.example"]);
    ilse.post("/waiting/1/withdraw", &[]).is(303);
    assert_eq!(book(&lead, &id, "18:00", "20:00"), 303, "nobody else waits, so it is free");
    // The next one to book passes on what ran out; no clockwork is needed.
    house.clock.advance(2 * 3600);
    assert_eq!(book(&lead, &id, "20:00", "22:00"), 303);
});

on_both!(nobody_waits_for_what_is_free_or_over, |house| {
    sink(house);
    let ilse = house.person("Ilse", Role::Member);
    wait(&ilse, "90", "17:00", "22:00").is(422).says("is free from 17:00 to 18:30");
    wait(&ilse, "900", "17:00", "22:00").is(422).says("longer than");
    let past = [
        ("date", "2027-03-14"),
        ("length", "60"),
        ("from", "10:00"),
        ("to", "12:00"),
        ("sink", ""),
    ];
    ilse.post("/waiting", &past).is(422).says("is over");
    let nowhere = [
        ("date", "2027-03-16"),
        ("length", "60"),
        ("from", "10:00"),
        ("to", "12:00"),
        ("sink", "424242"),
    ];
    ilse.post("/waiting", &nowhere).is(422).says("no such sink");
});

on_both!(a_leaver_waits_no_more_and_what_was_held_is_free, |house| {
    let id = sink(house).to_string();
    crate::sign_in::put(house, "Maren", Role::Lead);
    let owner = house.person("Ilse", Role::Member);
    let tove = crate::sign_in::signed_in(house, "Tove", Role::Member);
    for (from, to) in [("09:00", "15:00"), ("15:00", "21:00"), ("21:00", "22:00")] {
        assert_eq!(book(&owner, &id, from, to), 303);
    }
    wait(&tove, "60", "09:00", "22:00").is(303);
    owner.post("/bookings/3/cancel", &[]).is(303);
    assert_eq!(offered(house).len(), 1);
    let password = "seven gannets over a tin roof";
    tove.post("/me/leave", &[("old_password", password)]).is(303);
    assert_eq!(book(&owner, &id, "21:00", "22:00"), 303);
    assert!(house.app.db.read_now(waitlist::is_quiet).unwrap());
});

on_both!(an_offer_holds_its_light_too, |house| {
    let id = sink(house).to_string();
    let beside = house.app.db.write_now(|tx| {
        let name = "Side sink".to_owned();
        sinks::add_sink(tx, &Sink { name, ..Sink::default() })
    });
    let beside = beside.unwrap().to_string();
    let owner = house.person("Maren", Role::Member);
    assert_eq!(book(&owner, &id, "09:00", "15:00"), 303);
    assert_eq!(book(&owner, &id, "15:00", "18:00"), 303);
    assert_eq!(book(&owner, &id, "18:00", "22:00"), 303);
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let wish = [
        ("date", "2027-03-16"),
        ("length", "120"),
        ("from", "17:00"),
        ("to", "22:00"),
        ("sink", id.as_str()),
    ];
    ilse.post("/waiting", &wish).is(303);
    owner.post("/bookings/3/cancel", &[]).is(303);
    assert_eq!(offered(house), ["ilse@quillhaven.example"]);
    let dark = [
        ("sink", beside.as_str()),
        ("date", "2027-03-16"),
        ("from", "18:00"),
        ("to", "19:00"),
        ("light", "dark"),
    ];
    corin.post("/bookings", &dark).is(409).says("another light");
    // Given up: the room is free for any light again.
    ilse.post("/waiting/1/withdraw", &[]).is(303);
    corin.post("/bookings", &dark).is(303);
});

on_both!(an_offer_that_can_no_longer_be_had_is_taken_back_in_words, |house| {
    let id = sink(house).to_string();
    let owner = house.person("Maren", Role::Member);
    let lead = house.person("Runa", Role::Lead);
    for (from, to) in [("09:00", "15:00"), ("15:00", "18:00"), ("18:00", "22:00")] {
        assert_eq!(book(&owner, &id, from, to), 303);
    }
    let ilse = house.person("Ilse", Role::Member);
    wait(&ilse, "120", "17:00", "22:00").is(303);
    owner.post("/bookings/3/cancel", &[]).is(303);
    ilse.get("/waiting").says("Held for you").says("18:00 to 20:00");
    let thing = format!("sink_place {id}");
    let outage = [
        ("thing", thing.as_str()),
        ("from_date", "2027-03-16"),
        ("from_time", "18:00"),
        ("to_date", "2027-03-16"),
        ("to_time", "20:00"),
        ("reason", "The drain is blocked"),
    ];
    lead.post("/room/outages", &outage).is(303);
    let told = |house: &House| {
        let all = house.letters().into_iter();
        all.filter(|l| l.subject.starts_with("No longer to be had")).collect::<Vec<_>>()
    };
    let letters = told(house);
    assert_eq!(letters.len(), 1);
    assert_eq!(letters[0].to, "ilse@quillhaven.example");
    assert!(letters[0].text.contains("The drain is blocked"), "{}", letters[0].text);
    // She keeps her place, and is offered the next that comes free.
    ilse.get("/waiting").says("What you wait for");
    wetside::jobs::hours(&house.app, house.clock.now()).unwrap();
    assert_eq!(offered(house).len(), 2);
    ilse.get("/waiting").says("20:00 to 22:00");
    // So it is when the studio closes that day.
    let closed = [
        ("from_date", "2027-03-16"),
        ("to_date", ""),
        ("hours", ""),
        ("reason", "The roof is mended"),
        ("seen", "1 2"),
    ];
    lead.post("/room/days", &closed).is(303);
    assert_eq!(told(house).len(), 2);
    for id in 1..=2 {
        ilse.post(&format!("/waiting/offers/{id}/take"), &[]).is(404);
    }
});

//! The studio hangs its clock in another zone, or the rules of its zone change: coming bookings keep
//! their local times, and what cannot is listed.

use diesel::prelude::*;
use wetside::clock::{Moment, Span, Zone};
use wetside::db::schema::{bookings, holds};
use wetside::jobs;
use wetside::sessions::Role;
use wetside::sinks::{self, Kind, Outage};

use crate::bookings::sink;
use crate::house::{Answer, Browser, House};

fn book(who: &Browser, sink: i64, from: &str, to: &str) {
    let sink = sink.to_string();
    let wish = [("sink", sink.as_str()), ("date", "2027-03-16"), ("from", from), ("to", to)];
    who.post("/bookings", &wish).is(303);
}

fn move_to(lead: &Browser, zone: &str, seen: &str) -> Answer {
    let page = lead.get("/studio").is(200);
    let version = page.body.split("name=\"version\" value=\"").nth(1).unwrap();
    let version = version.split('"').next().unwrap();
    let fields = [
        ("name", "Quillhaven Commons Darkroom"),
        ("about", ""),
        ("zone", zone),
        ("joining", "invitation"),
        ("password_length", "12"),
        ("near_limit_percent", "80"),
        ("version", version),
        ("seen", seen),
    ];
    lead.post("/studio", &fields)
}

/// The spans of everything one booking holds.
fn held(house: &House, booking: i64) -> Vec<(i64, i64)> {
    let all = house.app.db.read_now(|c| {
        let own = holds::table.filter(holds::booking_id.eq(booking));
        Ok(own.select((holds::from_s, holds::to_s)).load(c)?)
    });
    all.unwrap()
}

fn at(zone: &str, wall: &str) -> i64 {
    let zone = Zone::named(zone).unwrap();
    zone.instant(format!("2027-03-16T{wall}:00").parse().unwrap()).unwrap().0
}

on_both!(bookings_keep_their_hours_on_a_clock_of_another_zone, |house| {
    let id = sink(house);
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    // Neighbours: moved one by one they would be in each other's way.
    for (from, to) in [("10:00", "14:00"), ("14:00", "18:00"), ("18:00", "22:00")] {
        book(&member, id, from, to);
    }
    let saved = move_to(&lead, "America/New_York", "").is(303);
    lead.follow(saved).says("3 coming bookings keep their hours");
    assert_eq!(
        held(house, 2),
        [(at("America/New_York", "14:00"), at("America/New_York", "18:00"))]
    );
    member.get("/board?date=2027-03-16").is(200).says("14:00 to 18:00").says("18:00 to 22:00");
    // Nothing was cancelled or announced, and nothing is left to do.
    assert!(house.letters().iter().all(|l| !l.subject.contains("ancelled")));
    jobs::follow_clock(&house.app, house.clock.now()).unwrap();
    let version = house
        .app
        .db
        .read_now(|c| Ok(bookings::table.find(2).select(bookings::version).first::<i64>(c)?));
    assert_eq!(version.unwrap(), 2);
});

on_both!(what_cannot_follow_the_clock_is_shown_before_and_told, |house| {
    let id = sink(house);
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    book(&member, id, "10:00", "11:00");
    book(&member, id, "12:00", "13:00");
    // Out of service lies at an instant: at 12 in New York, which is 16 in Dublin that day.
    let noon = Moment(at("America/New_York", "12:00"));
    let outage = Outage {
        id: 0,
        kind: Kind::SinkPlace,
        of_id: id,
        count: 1,
        span: Span { from: noon, to: noon.plus(3600) },
        reason: "The drain is blocked".to_owned(),
    };
    let (now, by) = (house.clock.now(), lead.id);
    house.app.db.write_now(|tx| sinks::add_outage(tx, now, by, &outage)).unwrap();
    move_to(&lead, "America/New_York", "")
        .is(409)
        .says("Not every coming booking can follow")
        .says("Ilse: Tuesday 16 March 2027, 12:00 to 13:00")
        .says("it stays where it is");
    assert_eq!(house.app.zone().name(), "Europe/Dublin", "nothing was done yet");
    let before = held(house, 2);
    move_to(&lead, "America/New_York", "2").is(303);
    assert_eq!(held(house, 1)[0].0, at("America/New_York", "10:00"));
    assert_eq!(held(house, 2), before);
});

on_both!(newer_rules_of_the_zone_move_bookings_and_tell_the_leads_what_could_not, |house| {
    let id = sink(house);
    house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    book(&member, id, "10:00", "12:00");
    book(&member, id, "13:00", "14:00");
    book(&member, id, "18:00", "19:00");
    // As if the rules had changed since: the instants are not what the local times come to.
    let wall = |id: i64, from: &str, to: &str| {
        house.app.db.write_now(|tx| {
            diesel::update(bookings::table.find(id))
                .set((bookings::from_wall.eq(from), bookings::to_wall.eq(to)))
                .execute(tx.conn())?;
            Ok(())
        })
    };
    wall(1, "09:00", "11:00").unwrap();
    // This one now wants the time of another that stays.
    wall(2, "18:30", "19:30").unwrap();
    let hour = house.app.zone().wall(Moment(held(house, 1)[0].0));
    jobs::follow_clock(&house.app, house.clock.now()).unwrap();
    let after = house.app.zone().wall(Moment(held(house, 1)[0].0));
    assert_eq!(hour - after, chrono::Duration::hours(1));
    assert_eq!(held(house, 2).len(), 1, "it stays where it was");
    let letter = house.letters().into_iter().find(|l| l.subject.contains("bookings to look at"));
    let letter = letter.expect("the lead is told");
    assert!(letter.to.starts_with("maren"), "{}", letter.to);
    assert!(letter.text.contains("Ilse") && letter.text.contains("that time is taken"));
});

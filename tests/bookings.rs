//! Stories of the board: booking, losing a race, cancelling.

use std::sync::Arc;

use diesel::prelude::*;
use wetside::bookings::{self, Place, Wish};
use wetside::clock::Span;
use wetside::db::schema::{holds, units};
use wetside::error::Error;
use wetside::sessions::{Person, Role, Taste, Via};
use wetside::sinks::{self, Hours, Sink};

use crate::house::{House, MORNING};

pub fn sink(house: &House) -> i64 {
    let wish = Sink { name: "Long sink".to_owned(), ..Sink::default() };
    let week: Vec<Hours> =
        (1..=7).map(|weekday| Hours { weekday, from_min: 540, to_min: 1320 }).collect();
    house
        .app
        .db
        .write_now(|tx| {
            sinks::set_hours(tx, &week)?;
            sinks::add_sink(tx, &wish)
        })
        .unwrap()
}

on_both!(a_member_books_and_a_lead_cancels, |house| {
    let id = sink(house).to_string();
    let member = house.person("Ilse", Role::Member);
    let lead = house.person("Maren", Role::Lead);
    let wish =
        |from, to| [("sink", id.as_str()), ("date", "2027-03-16"), ("from", from), ("to", to)];
    member.post("/bookings", &wish("18:00", "20:00")).is(303);
    member.get("/board?date=2027-03-16").is(200).says("Yours").says("Cancel");
    lead.get("/board?date=2027-03-16").is(200).says("Ilse");
    lead.post("/bookings", &wish("19:00", "21:00")).is(409).says("taken");
    lead.post("/bookings", &wish("20:00", "21:00")).is(303);
    member.post("/bookings", &wish("21:30", "22:15")).is(422).says("not open");
    member.post("/bookings", &wish("10:05", "11:00")).is(422).says("quarter");
    let newcomer = house.person("Odo", Role::Newcomer);
    newcomer.get("/board?date=2027-03-16").is(200);
    newcomer.post("/bookings", &wish("10:00", "11:00")).is(422).says("lead is on duty");
    newcomer.post("/bookings/1/cancel", &[]).is(404);
    lead.post("/bookings/1/cancel", &[]).is(303);
    lead.post("/bookings/1/cancel", &[]).is(303);
    let told: Vec<_> =
        house.letters().into_iter().filter(|l| l.to == "ilse@quillhaven.example").collect();
    assert_eq!(told.len(), 2, "one that it is booked, one that it is cancelled");
    member.post("/bookings", &wish("18:00", "20:00")).is(303);
});

on_both!(one_of_many_wins_the_same_slot, |house| {
    let id = sink(house);
    let person = house.put_person("Ilse", Role::Member);
    let person = Person {
        id: person,
        name: "Ilse".to_owned(),
        role: Role::Member,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    };
    // Tuesday 16 March 2027, 18:00 to 20:00.
    let from = MORNING.plus(32 * 3600);
    let wish = Wish::of(id, Span { from, to: from.plus(7200) });
    let place = Place { now: MORNING, zone: house.app.zone(), address: house.url.clone() };
    let go = Arc::new((house.app.clone(), place, person, wish));
    let tries: Vec<_> = (0..8)
        .map(|_| {
            let go = go.clone();
            std::thread::spawn(move || {
                go.0.db.write_now(|tx| bookings::book(tx, &go.1, &go.2, &go.3))
            })
        })
        .collect();
    let ends: Vec<_> = tries.into_iter().map(|t| t.join().unwrap()).collect();
    assert_eq!(ends.iter().filter(|e| e.is_ok()).count(), 1);
    let lost =
        |e: &&Result<i64, Error>| matches!(e, Err(Error::Refused { code: "slot-taken", .. }));
    assert_eq!(ends.iter().filter(lost).count(), 7, "{ends:?}");
});

on_both!(the_database_itself_refuses_a_second_hold, |house| {
    sink(house);
    let hold = |from: i64, to: i64| {
        house.app.db.write_now(|tx| {
            let unit: i64 = units::table.select(units::id).first(tx.conn())?;
            diesel::insert_into(holds::table)
                .values((
                    holds::unit_id.eq(unit),
                    holds::from_s.eq(from),
                    holds::to_s.eq(to),
                    holds::why.eq("out_of_service"),
                ))
                .execute(tx.conn())?;
            Ok(())
        })
    };
    hold(1000, 2000).unwrap();
    hold(2000, 3000).unwrap();
    for (from, to) in [(1999, 2001), (500, 1001), (1200, 1300), (500, 3500)] {
        let Err(Error::Broken(why)) = hold(from, to) else { panic!("{from} to {to} was let in") };
        assert!(why.contains("holds_never_meet"), "{why}");
    }
    let all = Span { from: wetside::clock::Moment(0), to: wetside::clock::Moment(9000) };
    let held = house.app.db.read_now(|c| sinks::held(c, sinks::Kind::SinkPlace, all)).unwrap();
    assert_eq!(held.len(), 2);
});

on_both!(who_leaves_gives_their_coming_bookings_back, |house| {
    let id = sink(house).to_string();
    let wish = |date, hours: (&'static str, &'static str)| {
        [("sink", id.as_str()), ("date", date), ("from", hours.0), ("to", hours.1)]
    };
    crate::sign_in::put(house, "Maren", Role::Lead);
    let tove = crate::sign_in::signed_in(house, "Tove", Role::Member);
    tove.post("/bookings", &wish("2027-03-15", ("12:00", "13:00"))).is(303);
    tove.post("/bookings", &wish("2027-03-16", ("18:00", "20:00"))).is(303);
    house.clock.advance(86_400);
    let password = "seven gannets over a tin roof";
    tove.post("/me/leave", &[("old_password", password)]).is(303);
    let ilse = house.person("Ilse", Role::Member);
    ilse.post("/bookings", &wish("2027-03-16", ("18:00", "20:00"))).is(303);
    let past = "2027-03-15".parse().unwrap();
    let kept = house.app.db.read_now(|c| bookings::on(c, past)).unwrap();
    assert_eq!(kept.len(), 1, "what is over stays on record");
    assert_eq!(kept[0].member_name, "A former member");
});

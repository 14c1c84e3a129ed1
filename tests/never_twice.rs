//! Nothing is promised twice: what the database refuses by itself, on either engine with the same
//! cases, and what holds when many want the same at once.

use std::sync::Arc;

use diesel::prelude::*;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use wetside::bookings::{self, Limits, Place, Wish};
use wetside::clock::{Moment, Span};
use wetside::db::schema::{bookings as rows, holds, room_lights, units};
use wetside::error::Error;
use wetside::sessions::{Person, Role, Taste, Via};
use wetside::sinks::{self, Kind, ReelKind, Why};

use crate::bookings::sink;
use crate::house::{House, MORNING};

fn span(from: i64, to: i64) -> Span {
    Span { from: Moment(from), to: Moment(to) }
}

/// A hold written straight into its table.
fn insert_hold(house: &House, unit: i64, span: Span) -> Result<(), Error> {
    house.app.db.write_now(|tx| {
        diesel::insert_into(holds::table)
            .values((
                holds::unit_id.eq(unit),
                holds::from_s.eq(span.from.0),
                holds::to_s.eq(span.to.0),
                holds::why.eq("out_of_service"),
            ))
            .execute(tx.conn())?;
        Ok(())
    })
}

fn units_of(house: &House, kind: &str) -> Vec<i64> {
    let all = |c: &mut wetside::db::Conn| {
        Ok(units::table.filter(units::kind.eq(kind)).order(units::id).select(units::id).load(c)?)
    };
    house.app.db.read_now(all).unwrap()
}

on_both!(the_database_agrees_with_the_plainest_reckoning, |house| {
    sink(house);
    let unit = units_of(house, "sink_place")[0];
    let mut runner =
        TestRunner::new(Config { cases: 3, failure_persistence: None, ..Config::default() });
    let wishes = proptest::collection::vec((0_i64..200, 1_i64..40), 40);
    let turn = std::cell::Cell::new(0);
    runner
        .run(&wishes, |wishes| {
            turn.set(turn.get() + 1000);
            let base = turn.get();
            let mut kept: Vec<Span> = Vec::new();
            for (from, length) in &wishes {
                let wish = span(base + from, base + from + length);
                let free = !kept.iter().any(|k| k.meets(&wish));
                let done = insert_hold(house, unit, wish);
                prop_assert_eq!(done.is_ok(), free, "{:?} among {:?}: {:?}", wish, kept, done);
                if free {
                    kept.push(wish);
                }
            }
            Ok(())
        })
        .unwrap();
});

on_both!(a_hold_is_never_changed_and_never_longer_than_three_days, |house| {
    sink(house);
    let unit = units_of(house, "sink_place")[0];
    insert_hold(house, unit, span(0, 100)).unwrap();
    let changed = house.app.db.write_now(|tx| {
        Ok(diesel::update(holds::table).set(holds::to_s.eq(50)).execute(tx.conn())?)
    });
    assert!(matches!(changed, Err(Error::Broken(why)) if why.contains("holds_never_change")));
    let booked = |to: i64| {
        house.app.db.write_now(|tx| {
            let row = (
                holds::unit_id.eq(unit),
                holds::from_s.eq(1000),
                holds::to_s.eq(1000 + to),
                holds::why.eq("offer"),
            );
            diesel::insert_into(holds::table).values(row).execute(tx.conn())?;
            Err::<(), _>(Error::NotFound)
        })
    };
    assert!(matches!(booked(259_200), Err(Error::NotFound)) || booked(259_200).is_err());
    assert!(matches!(booked(259_201), Err(Error::Broken(_))), "a longer one is refused");
});

on_both!(two_lights_never_meet_in_one_room, |house| {
    let id = sink(house);
    let member = house.put_person("Ilse", Role::Member);
    let booking: i64 = house
        .app
        .db
        .write_now(|tx| {
            let person = person(member, Role::Member);
            bookings::book(tx, &place(house), &person, &Wish::of(id, tomorrow(18, 20)))
        })
        .unwrap();
    let base = MORNING.0 + 10 * 86_400;
    let lit = |light: &str, from: i64, to: i64| {
        house.app.db.write_now(|tx| {
            diesel::insert_into(room_lights::table)
                .values((
                    room_lights::room_id.eq(1),
                    room_lights::light.eq(light),
                    room_lights::from_s.eq(base + from),
                    room_lights::to_s.eq(base + to),
                    room_lights::booking_id.eq(booking),
                ))
                .execute(tx.conn())?;
            Ok(())
        })
    };
    lit("white", 0, 100).unwrap();
    lit("white", 50, 150).unwrap();
    lit("dark", 150, 200).unwrap();
    for (light, from, to) in [("dark", 149, 150), ("safelight", 0, 10), ("white", 199, 300)] {
        let Err(Error::Broken(why)) = lit(light, from, to) else { panic!("{light} got in") };
        assert!(why.contains("room_lights_never_mix"), "{why}");
    }
    lit("safelight", 200, 300).unwrap();
});

/// Somebody as the house would know them.
fn person(id: i64, role: Role) -> Person {
    Person {
        id,
        name: "Ilse".to_owned(),
        role,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    }
}

fn place(house: &House) -> Place {
    Place { now: MORNING, zone: house.app.zone(), address: house.url.clone() }
}

fn reels() -> ReelKind {
    ReelKind { kind: "135".to_owned(), height_mm: 50, ..ReelKind::default() }
}

/// Tuesday 16 March 2027 between these hours.
fn tomorrow(from: i64, to: i64) -> Span {
    let midnight = MORNING.plus(14 * 3600);
    Span { from: midnight.plus(from * 3600), to: midnight.plus(to * 3600) }
}

on_both!(like_things_are_dealt_out_anew_when_a_gap_would_be_left, |house| {
    sink(house);
    let db = &house.app.db;
    let reels = ReelKind { owned: 2, ..reels() };
    let kind = db.write_now(|tx| sinks::add_reels(tx, &reels)).unwrap();
    let promise = |from, to, count| {
        db.write_now(|tx| {
            let what = (Kind::Reel, kind, count);
            sinks::promise(tx, MORNING, what, (tomorrow(from, to), Why::Other))
        })
    };
    // First fit puts 9-11 and 12-14 on the first reel, 10-13 on the second: then 11-12 is free on
    // the first only, and a wish for 13-15 would find both reels begun within it.
    promise(9, 11, 1).unwrap();
    promise(10, 12, 1).unwrap();
    promise(12, 14, 1).unwrap();
    promise(14, 16, 1).unwrap();
    promise(11, 14, 1).unwrap();
    promise(12, 13, 1).unwrap_err();
    promise(14, 16, 1).unwrap();
    let held = db.read_now(|c| sinks::held(c, Kind::Reel, tomorrow(0, 24))).unwrap();
    assert_eq!(held.len(), 6);
    for (i, a) in held.iter().enumerate() {
        assert!(held.iter().skip(i + 1).all(|b| a.seat != b.seat || !a.span.meets(&b.span)));
    }
    // What has begun stays in the hands that hold it.
    let before: Vec<_> = held.iter().filter(|h| h.span.from < tomorrow(10, 11).from).collect();
    assert_eq!(before.len(), 1);
});

// Eight threads book the same member's quota away at once.
on_both!(quotas_hold_whoever_comes_at_once, |house| {
    let id = sink(house);
    let member = house.put_person("Ilse", Role::Member);
    house
        .app
        .db
        .write_now(|tx| {
            let limits = bookings::limits(tx)?;
            bookings::change_limits(tx, &Limits { per_week: Some(3), ..limits })
        })
        .unwrap();
    let go = Arc::new((house.app.clone(), place(house), person(member, Role::Member)));
    let tries: Vec<_> = (9..17)
        .map(|hour| {
            let go = go.clone();
            let wish = Wish::of(id, tomorrow(hour, hour + 1));
            std::thread::spawn(move || {
                go.0.db.write_now(|tx| bookings::book(tx, &go.1, &go.2, &wish))
            })
        })
        .collect();
    let ends: Vec<_> = tries.into_iter().map(|t| t.join().unwrap()).collect();
    assert_eq!(ends.iter().filter(|e| e.is_ok()).count(), 3);
    assert!(
        ends.iter().filter_map(|e| e.as_ref().err()).all(|e| e.to_string().contains("3 bookings"))
    );
    let count = |c: &mut wetside::db::Conn| Ok(rows::table.count().get_result::<i64>(c)?);
    assert_eq!(house.app.db.read_now(count).unwrap(), 3, "nothing half-made");
});

// Whatever is booked, moved and cancelled in whatever order, no unit is held twice, and each
// booking holds what it asked for.
on_both!(whatever_is_booked_and_given_back_nothing_is_held_twice, |house| {
    let id = sink(house);
    let db = &house.app.db;
    let reels = ReelKind { owned: 5, drying_s: 1800, ..reels() };
    let kind = db.write_now(|tx| sinks::add_reels(tx, &reels)).unwrap();
    let more = |n: i64| sinks::Sink { name: format!("Sink {n}"), places: 3, ..Default::default() };
    let wide = db.write_now(|tx| sinks::add_sink(tx, &more(2))).unwrap();
    let member = person(house.put_person("Ilse", Role::Member), Role::Lead);
    let at = place(house);
    let mut runner =
        TestRunner::new(Config { cases: 2, failure_persistence: None, ..Config::default() });
    let acts = proptest::collection::vec((0_u8..4, 0_i64..48, 1_i64..12, 0_i64..4), 40);
    runner
        .run(&acts, |acts| {
            let mut standing: Vec<(i64, i64, i64)> = Vec::new();
            for (act, quarter, length, count) in acts {
                let from = tomorrow(9, 10).from.plus(quarter * 900);
                let wish = Wish {
                    reels: vec![(kind, count)],
                    ..Wish::of(
                        if count == 0 { id } else { wide },
                        Span { from, to: from.plus(length * 900) },
                    )
                };
                match (act, standing.pop()) {
                    (0, Some((booking, ..))) => {
                        db.write_now(|tx| bookings::cancel(tx, &at, &member, booking)).unwrap();
                    }
                    (1, Some((booking, version, reels))) => {
                        let moved = db.write_now(|tx| {
                            bookings::change(tx, &at, &member, (booking, version), &wish)
                        });
                        // A move that is refused leaves everything as it was.
                        let now = moved.map_or((version, reels), |b| (b.version, count));
                        standing.push((booking, now.0, now.1));
                    }
                    (_, kept) => {
                        standing.extend(kept);
                        let made = db.write_now(|tx| bookings::book(tx, &at, &member, &wish));
                        standing.extend(made.ok().map(|id| (id, 1, count)));
                    }
                }
            }
            for booking in standing {
                let held = db.read_now(|c| sinks::held_by_booking(c, booking.0)).unwrap();
                let reels: i64 =
                    held.iter().filter(|(k, ..)| *k == Kind::Reel).map(|(.., n)| n).sum();
                let places = held.iter().filter(|(k, ..)| *k == Kind::SinkPlace).count();
                prop_assert_eq!((places, reels), (1, booking.2), "what was asked for is held");
                db.write_now(|tx| bookings::cancel(tx, &at, &member, booking.0)).unwrap();
            }
            let left = |c: &mut wetside::db::Conn| Ok(holds::table.count().get_result::<i64>(c)?);
            prop_assert_eq!(db.read_now(left).unwrap(), 0, "everything is given back");
            Ok(())
        })
        .unwrap();
});

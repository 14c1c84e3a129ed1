//! What the house does by itself: each job by one server, and what is over is forgotten.

use diesel::prelude::*;
use wetside::db::lease::{Pace, under};
use wetside::db::schema::{holds, jobs, once_keys, outbox, sessions, tries};
use wetside::error::Error;
use wetside::sessions::Role;

const PACE: Pace = Pace { every_s: 50, at_most_s: 120 };

on_both!(of_many_servers_one_gets_a_job, |house| {
    let second = house.second();
    let got: Vec<bool> = std::thread::scope(|s| {
        let tries: Vec<_> = (0..16)
            .map(|n| {
                let db = if n % 2 == 0 { &house.app.db } else { &second.app.db };
                s.spawn(move || {
                    db.take_job("tidy", &format!("server {n}"), PACE).unwrap().is_some()
                })
            })
            .collect();
        tries.into_iter().map(|t| t.join().unwrap()).collect()
    });
    assert_eq!(got.iter().filter(|won| **won).count(), 1);
    // Given back, it is not due again at once; another job is.
    assert!(house.app.db.take_job("tidy", "a", PACE).unwrap().is_none());
    assert!(house.app.db.take_job("baths", "a", PACE).unwrap().is_some());
    drop(second.server.stop(true));
});

on_both!(who_slept_through_the_end_of_a_lease_changes_nothing, |house| {
    let db = &house.app.db;
    let old = db.take_job("tidy", "a", PACE).unwrap().unwrap();
    let count = || {
        db.write_now(|tx| {
            Ok(diesel::insert_into(tries::table)
                .values((tries::key.eq("story"), tries::at_s.eq(1)))
                .execute(tx.conn())?)
        })
    };
    under(&old, count).unwrap();
    // The lease ends by the database's clock: both of its times are put into the past here.
    db.write_now(|tx| {
        Ok(diesel::update(jobs::table)
            .set((jobs::until_s.eq(1), jobs::due_s.eq(1)))
            .execute(tx.conn())?)
    })
    .unwrap();
    let new = db.take_job("tidy", "b", PACE).unwrap().unwrap();
    match under(&old, count) {
        Err(Error::Refused { code: "lease", .. }) => {}
        other => panic!("{other:?}"),
    }
    under(&new, count).unwrap();
    // The former holder cannot give away what is no longer its own.
    db.give_back(&old).unwrap();
    let until: i64 = db.read_now(|c| Ok(jobs::table.select(jobs::until_s).first(c)?)).unwrap();
    assert!(until > 1);
    count().unwrap();
    let made: i64 = db.read_now(|c| Ok(tries::table.count().get_result(c)?)).unwrap();
    assert_eq!(made, 3);
});

on_both!(a_clock_that_went_back_does_not_stop_the_jobs, |house| {
    let db = &house.app.db;
    db.take_job("tidy", "a", PACE).unwrap().unwrap();
    db.write_now(|tx| {
        let far = 4_000_000_000_i64;
        Ok(diesel::update(jobs::table)
            .set((jobs::until_s.eq(far), jobs::due_s.eq(far)))
            .execute(tx.conn())?)
    })
    .unwrap();
    assert!(db.take_job("tidy", "b", PACE).unwrap().is_some());
});

on_both!(what_is_over_is_forgotten_in_its_time, |house| {
    let lead = house.person("Maren", Role::Lead);
    lead.post("/calendar/own", &[]).is(303);
    house.browser().post("/reset", &[("email", "maren@quillhaven.example")]).is(200);
    assert_eq!(house.deliver(), 1);
    let db = &house.app.db;
    let tidy = || {
        for _ in 0..3 {
            wetside::jobs::tidy(&house.app, house.clock.now()).unwrap();
        }
    };
    let left = || {
        db.read_now(|c| {
            let texts: i64 = outbox::table.filter(outbox::body.ne("")).count().get_result(c)?;
            let keys: i64 = once_keys::table.count().get_result(c)?;
            let open: i64 = sessions::table.count().get_result(c)?;
            let tried: i64 = tries::table.count().get_result(c)?;
            Ok((texts, keys, open, tried))
        })
        .unwrap()
    };
    assert!(matches!(left(), (1, 1.., 1, 1..)));
    house.clock.advance(4 * 86_400);
    tidy();
    assert_eq!(left(), (1, 0, 1, 0), "keys against double sending, and counted tries");
    house.clock.advance(11 * 86_400);
    tidy();
    assert_eq!(left(), (1, 0, 0, 0), "a session nobody used for a fortnight");
    house.clock.advance(76 * 86_400);
    tidy();
    assert_eq!(left(), (0, 0, 0, 0), "the text of a letter, after ninety days");
    let kept: i64 = db.read_now(|c| Ok(outbox::table.count().get_result(c)?)).unwrap();
    assert_eq!(kept, 1, "that it was sent is kept");
});

on_both!(past_promises_are_forgotten_and_bookings_kept, |house| {
    use wetside::db::schema::bookings;
    let sink = crate::bookings::sink(house).to_string();
    let tove = house.person("Tove", Role::Member);
    let wish =
        [("sink", sink.as_str()), ("date", "2027-03-16"), ("from", "18:00"), ("to", "20:00")];
    tove.post("/bookings", &wish).is(303);
    let kept = || {
        house
            .app
            .db
            .read_now(|c| {
                let held: i64 = holds::table.count().get_result(c)?;
                let booked: i64 = bookings::table.count().get_result(c)?;
                Ok((held > 0, booked))
            })
            .unwrap()
    };
    house.clock.advance(400 * 86_400);
    wetside::jobs::tidy(&house.app, house.clock.now()).unwrap();
    assert_eq!(kept(), (true, 1), "four hundred days are not over since");
    house.clock.advance(3 * 86_400);
    wetside::jobs::tidy(&house.app, house.clock.now()).unwrap();
    assert_eq!(kept(), (false, 1));
});

/// The whole database as text.
fn everything(house: &crate::house::House) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("all.wetside");
    wetside::db::portable::write(&house.app.db, &file, "story").unwrap();
    std::fs::read_to_string(file).unwrap()
}

on_both!(who_left_is_nowhere_in_the_database, |house| {
    use crate::sign_in::{PASSWORD, put, signed_in};
    let sink = crate::bookings::sink(house).to_string();
    let lead = signed_in(house, "Maren", Role::Lead);
    put(house, "Zzyzxwin", Role::Member);
    let them = house.browser();
    crate::sign_in::sign_in(&them, "zzyzxwin@quillhaven.example", PASSWORD).is(303);
    crate::second_factor::turned_on(house, &them);
    let wish = [
        ("sink", sink.as_str()),
        ("date", "2027-03-16"),
        ("from", "18:00"),
        ("to", "20:00"),
        ("purpose", "A first roll"),
    ];
    them.post("/bookings", &wish);
    them.post("/presence/in", &[]);
    them.post("/me/tokens", &[("label", "wall")]).is(200);
    them.post("/calendar/own", &[]).is(303);
    lead.get("/trail").is(200).says("Zzyzxwin");
    lead.post("/bookings/1/cancel", &[]);
    house.deliver();
    let holds_it = || everything(house).to_lowercase().contains("zzyzxwin");
    assert!(holds_it());
    them.post("/me/leave", &[("old_password", PASSWORD)]).is(303);
    house.deliver();
    let left: Vec<String> = everything(house)
        .lines()
        .filter(|l| l.to_lowercase().contains("zzyzxwin"))
        .map(ToOwned::to_owned)
        .collect();
    assert!(left.is_empty(), "{left:#?}");
    // What they did stays, as a number.
    lead.get("/trail").is(200).says("turned their second factor on").says("A former member");
});

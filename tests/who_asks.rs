//! Who is asking: recognised at every request, whatever changed a moment ago.

use diesel::prelude::*;
use wetside::db::schema::sessions;
use wetside::sessions::Role;

use crate::house::{Browser, MORNING};

on_both!(many_browsers_at_once_are_each_who_they_are, |house| {
    let names = ["Ada", "Brigid", "Colm", "Dervla", "Enda", "Fiadh", "Gormla", "Hugh"];
    let browsers = names.map(|name| (name, house.person(name, Role::Member)));
    std::thread::scope(|scope| {
        for (name, browser) in browsers {
            let url = &house.url;
            scope.spawn(move || {
                // Nobody is taken for another, however many ask at the same moment, and whoever
                // signs out is out at once.
                for _ in 0..25 {
                    browser.get("/me").is(200).says(&format!("value=\"{name}\""));
                }
                let held = browser.cookies();
                browser.post("/sign-out", &[]).is(303);
                Browser::new(url, Some(held)).get("/me").is(303);
            });
        }
        scope.spawn(|| {
            let stranger = Browser::new(&house.url, Some("wetside=nobody".to_owned()));
            (0..25).for_each(|_| drop(stranger.get("/me").is(303)));
        });
    });
});

on_both!(who_changes_is_known_as_changed_at_once_on_every_server, |house| {
    let second = house.second();
    let here = house.person("Ana", Role::Lead);
    let there = Browser::new(&second.url, Some(here.cookies()));
    let both =
        |path: &str, status| [&here, &there].map(|browser| browser.get(path).is(status).body);
    let change = |sql: &str| {
        let done = house.app.db.write_now(|tx| Ok(diesel::sql_query(sql).execute(tx.conn())?));
        assert_eq!(done.unwrap(), 1, "{sql}");
    };
    both("/members", 200);
    change("UPDATE members SET name = 'Anna' WHERE name = 'Ana'");
    assert!(both("/me", 200).iter().all(|page| page.contains("value=\"Anna\"")));
    change("UPDATE members SET role = 'member' WHERE name = 'Anna'");
    both("/members", 403);
    change("UPDATE members SET state = 'paused' WHERE name = 'Anna'");
    both("/me", 200);
    change("UPDATE members SET state = 'applied' WHERE name = 'Anna'");
    both("/me", 303);
    change("UPDATE members SET state = 'active' WHERE name = 'Anna'");
    both("/me", 200);
    change("UPDATE sessions SET expires_s = 0");
    both("/me", 303);
    change("UPDATE sessions SET expires_s = 9999999999");
    both("/me", 200);
    change("DELETE FROM sessions");
    both("/me", 303);
});

on_both!(a_session_in_use_is_marked_as_seen_now_and_then, |house| {
    let ana = house.person("Ana", Role::Member);
    let seen = || -> i64 {
        let asked = house
            .app
            .db
            .read_now(|c| Ok(sessions::table.select(sessions::seen_s).get_result::<i64>(c)?));
        asked.unwrap() - MORNING.0
    };
    let look = || drop(ana.get("/me").is(200));
    (0..3).for_each(|_| look());
    assert_eq!(seen(), 0);
    house.clock.advance(660);
    (0..3).for_each(|_| look());
    assert_eq!(seen(), 660);
    house.clock.advance(40);
    (0..3).for_each(|_| look());
    assert_eq!(seen(), 660);
});

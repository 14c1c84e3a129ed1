//! The outbox: whole or not at all, once, and never with a secret in it.

use wetside::error::Error;
use wetside::links::{self, Purpose};
use wetside::outbox::{self, LINK, Letter, Recipient};
use wetside::sessions::Role;

use crate::house::House;

fn letter(house: &House, key: &str, optional: bool) -> Letter {
    let id = house.put_person(&format!("Reader {key}"), Role::Member);
    Letter {
        kind: "trial",
        to: Recipient {
            member_id: Some(id),
            name: "Reader ülrik".to_owned(),
            address: "reader@quillhaven.example".to_owned(),
        },
        subject: "A trial".to_owned(),
        body: format!("Open {LINK} please.\n"),
        optional,
        link: None,
        dedupe_key: key.to_owned(),
        send_after: house.clock.now(),
    }
}

on_both!(a_letter_leaves_with_its_change_or_not_at_all, |house| {
    let now = house.clock.now();
    let l = letter(house, "a", false);
    let failed = house.app.db.write_now(|tx| {
        outbox::post(tx, now, &l)?;
        Err::<(), _>(Error::refused("story", "no"))
    });
    assert!(failed.is_err());
    assert_eq!(house.deliver(), 0);
    let twice =
        |tx: &mut wetside::db::Tx<'_>| Ok((outbox::post(tx, now, &l)?, outbox::post(tx, now, &l)?));
    assert_eq!(house.app.db.write_now(twice).unwrap(), (true, false));
    assert_eq!(house.deliver(), 1);
});

on_both!(a_row_holds_no_secret_yet_every_try_sends_the_same_link, |house| {
    let now = house.clock.now();
    let l = letter(house, "b", false);
    let link = house.app.db.write_now(|tx| {
        let link = links::issue(tx, now, Purpose::Reset, l.to.member_id, None)?;
        outbox::post(tx, now, &Letter { link: Some(link.id), ..l.clone() })?;
        Ok(link)
    });
    let link = link.unwrap();
    let url = link.url(&house.app.key, &house.url);
    assert!(house.letters()[0].text.contains(&url));
    let secret = link.secret(&house.app.key);
    let opened = |secret: &str, now| {
        let key = house.app.key.clone();
        let secret = secret.to_owned();
        house.app.db.read_now(move |c| links::open(c, &key, now, &secret, &[Purpose::Reset]))
    };
    assert!(opened(&secret, now).is_ok());
    assert!(opened(&secret, now.plus(3600)).is_err(), "it ends after an hour");
    assert!(opened(&secret.replace('.', ".x"), now).is_err());
    assert!(opened("99.zz", now).is_err());
    house.app.db.write_now(|tx| links::use_up(tx, now, &link)).unwrap();
    assert!(opened(&secret, now).is_err(), "it opens once");
});

on_both!(an_unwanted_kind_is_left_out_and_can_be_turned_off_from_the_letter, |house| {
    let now = house.clock.now();
    let l = letter(house, "c", true);
    house.app.db.write_now(|tx| outbox::post(tx, now, &l)).unwrap();
    let raw = String::from_utf8(house.letters()[0].raw.clone()).unwrap();
    assert!(raw.contains("List-Unsubscribe-Post: List-Unsubscribe=One-Click"));
    assert!(raw.contains("Auto-Submitted: auto-generated"));
    let line = house.letters()[0]
        .text
        .lines()
        .find(|l| l.contains("/letters/unwanted/"))
        .unwrap()
        .to_owned();
    let path = line.split_whitespace().last().unwrap().strip_prefix(&house.url).unwrap().to_owned();
    house.browser().get(&path).is(200).says("trial");
    house.browser().post(&path, &[]).is(200);
    house.browser().get(&path.replace("trial", "other")).is(404);
    let again = Letter { dedupe_key: "c2".to_owned(), ..l };
    assert!(!house.app.db.write_now(|tx| outbox::post(tx, now, &again)).unwrap());
});

on_both!(two_workers_never_send_a_letter_twice, |house| {
    let now = house.clock.now();
    for n in 0..40 {
        let l = letter(house, &format!("d{n}"), false);
        house.app.db.write_now(|tx| outbox::post(tx, now, &l)).unwrap();
    }
    std::thread::scope(|s| {
        for worker in ["one", "two"] {
            s.spawn(move || while outbox::turn(&house.app, worker).unwrap() > 0 {});
        }
    });
    let mut ids: Vec<String> = house.letters().iter().map(|l| message_id(&l.raw)).collect();
    assert_eq!(ids.len(), 40);
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), 40);
});

fn message_id(raw: &[u8]) -> String {
    let text = String::from_utf8_lossy(raw).into_owned();
    text.lines().find(|l| l.starts_with("Message-ID:")).expect("a Message-ID").to_owned()
}

on_both!(a_claim_that_was_lost_is_taken_over, |house| {
    let now = house.clock.now();
    let l = letter(house, "e", false);
    house.app.db.write_now(|tx| outbox::post(tx, now, &l)).unwrap();
    use diesel::prelude::*;
    use wetside::db::schema::outbox as rows;
    house
        .app
        .db
        .write_now(|tx| {
            Ok(diesel::update(rows::table)
                .set((rows::claimed_by.eq("dead"), rows::claimed_until_s.eq(now.0 + 120)))
                .execute(tx.conn())?)
        })
        .unwrap();
    assert_eq!(house.deliver(), 0);
    house.clock.advance(121);
    assert_eq!(house.deliver(), 1);
});

//! The pick-up shelf: how rolls come onto it and leave it, and what their owners hear.

use wetside::rolls;
use wetside::sessions::Role;

use crate::house::{Browser, House};
use crate::recipes::put_chart;
use crate::rolls::{ROLL, hand_in, spoken, status};

on_both!(what_lies_on_the_shelf_too_long_is_asked_after, |house| {
    let lead = put_chart(house);
    let member = house.person("Ana", Role::Member);
    let ticket = hand_in(house, &member, &ROLL);
    for state in ["planned", "on_the_hook", "ready"] {
        lead.post(&format!("/rolls/{ticket}/state"), &[("state", state)]).is(303);
    }
    let turn = |house: &House| {
        let now = house.clock.now();
        house.app.db.write_now(|tx| rolls::remind(tx, now)).unwrap()
    };
    member.get("/me").is(200).says("Your negatives wait to be picked up");
    assert_eq!(turn(house), 0);
    house.clock.advance((21 + 1) * 86_400);
    assert_eq!((turn(house), turn(house)), (1, 0), "one letter, however often it is looked");
    house.clock.advance(21 * 86_400);
    assert_eq!(turn(house), 1);
    // Somebody who can do without these letters gets none.
    let unwanted =
        |tx: &mut wetside::db::Tx<'_>| wetside::outbox::want(tx, member.id, "roll_kept", false);
    house.app.db.write_now(unwanted).unwrap();
    house.clock.advance(21 * 86_400);
    assert_eq!(turn(house), 0);
});

on_both!(negatives_of_somebody_who_left_go_their_way, |house| {
    let lead = put_chart(house);
    let member = house.person("Ana", Role::Member);
    let ticket = hand_in(house, &member, &ROLL);
    let id = member.id;
    let left = format!(
        "UPDATE members SET state = 'left', email = NULL, email_key = NULL, \
        password_hash = NULL, left_s = 1 WHERE id = {id}"
    );
    let leave = |tx: &mut wetside::db::Tx<'_>| {
        use diesel::prelude::*;
        Ok(diesel::sql_query(left.as_str()).execute(tx.conn())?)
    };
    house.app.db.write_now(leave).unwrap();
    for state in ["planned", "on_the_hook", "ready", "picked_up"] {
        lead.post(&format!("/rolls/{ticket}/state"), &[("state", state)]).is(303);
    }
    assert_eq!(status(house, &lead, &ticket), "picked_up");
});

on_both!(many_rolls_go_onto_the_shelf_at_once_and_their_owners_take_them, |house| {
    let lead = put_chart(house);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let mut tickets = Vec::new();
    for owner in [&ana, &ana, &ben] {
        let ticket = hand_in(house, owner, &ROLL);
        for state in ["planned", "on_the_hook"] {
            lead.post(&format!("/rolls/{ticket}/state"), &[("state", state)]).is(303);
        }
        tickets.push(ticket);
    }
    lead.get("/rolls?state=on_the_hook").is(200).says("ready to pick up").says(&tickets[0]);
    let before = house.letters().len();
    let ready: Vec<(&str, &str)> = std::iter::once(("state", "ready"))
        .chain(tickets.iter().map(|t| ("ticket", t.as_str())))
        .collect();
    ana.post("/rolls/moves", &ready).is(403).says("Only a lead");
    lead.post("/rolls/moves", &[("state", "ready")]).is(303);
    assert_eq!(house.letters().len(), before, "nothing was ticked");
    for _ in 0..2 {
        lead.post("/rolls/moves", &ready).is(303);
    }
    let letters = house.letters();
    let written = &letters[before..];
    assert_eq!(written.len(), 2, "one letter an owner, however often it is pressed");
    let of_ana = written.iter().find(|l| l.subject == "Ready to pick up: 2 tickets").unwrap();
    assert!(tickets[..2].iter().all(|t| of_ana.text.contains(&spoken(t))), "{}", of_ana.text);
    assert!(of_ana.text.contains("/rolls?state=ready"), "{}", of_ana.text);
    // An owner says so of their own, and of nobody else's.
    let taken = |ticket: &str| [("state", "picked_up".to_owned()), ("ticket", ticket.to_owned())];
    let press = |who: &Browser, ticket: &str| {
        let fields = taken(ticket);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
        who.post("/rolls/moves", &fields)
    };
    press(&ana, &tickets[2]).is(404);
    assert_eq!(status(house, &lead, &tickets[2]), "ready");
    ana.get(&format!("/rolls/{}", tickets[0])).is(200).says("I have picked it up");
    press(&ana, &tickets[0]).is(303);
    assert_eq!(status(house, &lead, &tickets[0]), "picked_up");
    assert_eq!(status(house, &lead, &tickets[1]), "ready");
});

on_both!(an_owner_hears_of_a_roll_that_is_spoiled_or_lost, |house| {
    let lead = put_chart(house);
    let ana = house.person("Ana", Role::Member);
    for (state, subject) in [("spoiled", "Spoiled"), ("lost", "Not to be found")] {
        let ticket = hand_in(house, &ana, &ROLL);
        let step = [("state", state), ("note", "The cassette was open in the box.")];
        lead.get(&format!("/rolls/{ticket}")).is(200).says("Its owner is told by letter");
        lead.post(&format!("/rolls/{ticket}/state"), &step).is(303);
        assert_eq!(status(house, &lead, &ticket), state);
        let letters = house.letters();
        let wanted = format!("{subject}: ticket {}", spoken(&ticket));
        let letter = letters.iter().find(|l| l.subject == wanted).expect(subject);
        assert!(letter.text.contains("The cassette was open in the box."), "{}", letter.text);
        assert!(letter.text.contains(&format!("/rolls/{ticket}")), "{}", letter.text);
    }
});

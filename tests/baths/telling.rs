//! Telling: letters for each cause once, and the forecast.

use wetside::baths;
use wetside::sessions::Role;

use super::{films, letters, mixing, stocked};
use crate::house::House;

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

/// The forecast checked against what really happened in the demonstration's year: from the
/// twentieth day of each retired fixer, the day it would take what it took in the end.
#[test]
fn the_forecast_agrees_with_a_replay_of_the_demonstrations_year() {
    use chrono::NaiveDate;
    use diesel::prelude::*;
    use wetside::clock::Moment;
    use wetside::db::schema::baths as table;
    use wetside::demo;

    let house = House::open(crate::house::Kind::Sqlite);
    demo::fill(&house.app).unwrap();
    let zone = house.app.zone();
    let (ids, ledgers) = house
        .app
        .db
        .read_now(|conn| {
            let ids: Vec<(i64, i64)> = table::table
                .filter(table::kind.eq("fixer").and(table::retired_s.is_not_null()))
                .order(table::mixed_s)
                .select((table::id, table::mixed_s))
                .load(conn)?;
            let ledgers: Vec<Vec<baths::Entry>> =
                ids.iter().map(|(id, _)| baths::ledger(conn, *id)).collect::<Result<_, _>>()?;
            Ok((ids, ledgers))
        })
        .unwrap();
    assert_eq!(ids.len(), 7, "seven fixers in the year");
    let uses: Vec<&baths::Entry> =
        ledgers.iter().flatten().filter(|e| e.kind == baths::EntryKind::Use).collect();
    let mut off = Vec::new();
    // The first has no four weeks before it.
    for ((_, mixed), ledger) in ids.iter().zip(&ledgers).skip(1) {
        let now = Moment(mixed + 20 * 86_400);
        let own = || ledger.iter().filter(|e| e.kind == baths::EntryKind::Use);
        let to_come: i64 = own().filter(|e| e.at >= now).map(|e| e.milli).sum();
        let recent: i64 = uses
            .iter()
            .filter(|e| e.at < now && now.since(e.at) <= 28 * 86_400)
            .map(|e| e.milli)
            .sum();
        let demand = baths::Demand { planned: Vec::new(), daily_milli: recent / 28 };
        let said = baths::reaches_limit(to_come, zone.date(now), &demand).unwrap();
        let really: NaiveDate = zone.date(own().next_back().unwrap().at);
        off.push((said - really).num_days().abs());
    }
    let mean = off.iter().sum::<i64>() / i64::try_from(off.len()).unwrap();
    // Seen when this was written: 4 to 14 days off, of the thirty that were left.
    assert!(mean <= 9 && off.iter().all(|d| *d <= 14), "days off: {off:?}");
}

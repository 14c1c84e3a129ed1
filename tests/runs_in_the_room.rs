//! Published runs and the room: their light, their places, and what bookings leave them.

use diesel::prelude::*;
use wetside::clock::{Moment, Span};
use wetside::db::schema::{holds, room_lights, runs, units};
use wetside::demo;
use wetside::sessions::Role;
use wetside::sinks::{self, Sink};

use crate::house::{Browser, House};

const DAY: &str = "2027-03-15";

/// A planned day of the invented studio, and its lead.
fn planned(house: &House) -> Browser {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    lead.post("/days", &[("date", DAY)]).is(303);
    lead
}

/// A bench in the room of the loading place.
fn bench(house: &House) -> i64 {
    let added = house.app.db.write_now(|tx| {
        let room_id = sinks::rooms(tx)?.into_iter().find(|r| r.name == "Loading room").unwrap().id;
        let name = "Trimming bench".to_owned();
        sinks::add_sink(tx, &Sink { name, room_id, is_sink: false, ..Sink::default() })
    });
    added.unwrap()
}

/// When the first published run is loaded, and when it is at its sink.
fn first(house: &House) -> (Span, Span) {
    let found = house.app.db.read_now(|c| {
        Ok(runs::table
            .filter(runs::withdrawn_s.is_null())
            .order(runs::load_from_s.desc())
            .select((runs::load_from_s, runs::load_to_s, runs::from_s, runs::to_s))
            .first::<(i64, i64, i64, i64)>(c)?)
    });
    let (a, b, c, d) = found.unwrap();
    let span = |from, to| Span { from: Moment(from), to: Moment(to) };
    (span(a, b), span(c, d))
}

fn book(house: &House, who: &Browser, sink: i64, span: Span, light: &str) -> u16 {
    let zone = house.app.zone();
    let grid = 900;
    let from = Moment(span.from.0.div_euclid(grid) * grid);
    let to = Moment((span.to.0 + grid - 1).div_euclid(grid) * grid);
    let wall = |m: Moment| zone.wall(m).format("%H:%M").to_string();
    let wish = [
        ("sink", sink.to_string()),
        ("date", DAY.to_owned()),
        ("from", wall(from)),
        ("to", wall(to)),
        ("light", light.to_owned()),
    ];
    let wish: Vec<(&str, &str)> = wish.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let answer = who.post("/bookings", &wish);
    if answer.status == 409 {
        assert!(answer.body.contains("another light"), "{}", answer.body);
    }
    answer.status
}

on_both!(a_published_run_keeps_other_light_out_of_its_rooms, |house| {
    let lead = planned(house);
    let bench = bench(house);
    let api = house.api(&lead);
    api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({})).is(200);
    let (load, wet) = first(house);
    assert_eq!(book(house, &lead, bench, load, "white"), 409, "it is loaded in the dark there");
    assert_eq!(book(house, &lead, bench, load, "dark"), 303, "the dark may be shared");
    let beside = house.app.db.write_now(|tx| {
        let room_id = sinks::sinks(tx)?.first().unwrap().room_id;
        let name = "Paper sink".to_owned();
        sinks::add_sink(tx, &Sink { name, room_id, is_sink: false, ..Sink::default() })
    });
    let beside = beside.unwrap();
    assert_eq!(book(house, &lead, beside, wet, "safelight"), 409, "runs stand in white light");
});

on_both!(a_run_is_not_published_into_a_room_that_is_lit, |house| {
    let lead = planned(house);
    let bench = bench(house);
    let (zone, day) = (house.app.zone(), DAY.parse().unwrap());
    let open = house.app.db.read_now(|c| sinks::opening(c, zone, day)).unwrap();
    let rest = Span { from: house.clock.now(), to: open.last().unwrap().to };
    assert_eq!(book(house, &lead, bench, rest, "white"), 303);
    let api = house.api(&lead);
    let refused = api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({}));
    refused.is(409).says("room-changed").says("total darkness").says("Loading bench");
    let kept = house.app.db.read_now(|c| {
        Ok(room_lights::table
            .filter(room_lights::run_id.is_not_null())
            .count()
            .get_result::<i64>(c)?)
    });
    assert_eq!(kept.unwrap(), 0, "nothing of the day was kept");
});

on_both!(a_day_is_planned_around_a_lit_loading_room, |house| {
    let lead = planned(house);
    let bench = bench(house);
    let (load, _) = first(house);
    let lit = Span { from: load.from.plus(-3600), to: load.to.plus(900) };
    assert_eq!(book(house, &lead, bench, lit, "white"), 303);
    let api = house.api(&lead);
    let refused = api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({}));
    refused.is(409).says("somebody needs another light in that room");
    // Planning it again is the remedy that the refusal names, so it has to help.
    lead.post("/days", &[("date", DAY)]).is(303);
    api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({})).is(200);
    let loads = house.app.db.read_now(|c| {
        let loads = runs::table.filter(runs::withdrawn_s.is_null());
        let loads = loads.select((runs::plan_id, runs::load_from_s, runs::load_to_s));
        Ok(loads.load::<(i64, i64, i64)>(c)?)
    });
    let mut loads = loads.unwrap();
    let last = loads.iter().map(|l| l.0).max().unwrap();
    loads.retain(|l| l.0 == last);
    let dark = |(_, from, to): &(i64, i64, i64)| {
        !lit.meets(&Span { from: Moment(*from), to: Moment(*to) })
    };
    assert!(loads.iter().all(dark), "{loads:?} beside {lit:?}");
});

on_both!(every_run_holds_all_it_takes, |house| {
    let lead = planned(house);
    let api = house.api(&lead);
    api.post(&format!("/api/v1/plans/{DAY}/publish"), &serde_json::json!({})).is(200);
    let held = house.app.db.read_now(|c| {
        let all: Vec<(i64, String)> = holds::table
            .inner_join(units::table.on(units::id.eq(holds::unit_id)))
            .filter(holds::run_id.is_not_null())
            .select((holds::run_id.assume_not_null(), units::kind))
            .load(c)?;
        Ok(all)
    });
    let held = held.unwrap();
    let of_runs: std::collections::BTreeSet<i64> = held.iter().map(|h| h.0).collect();
    assert!(!of_runs.is_empty());
    for run in of_runs {
        let has = |kind: &str| held.iter().filter(|h| h.0 == run && h.1 == kind).count();
        for kind in ["sink_place", "sink_tank", "tank", "loading"] {
            assert_eq!(has(kind), 1, "run {run}: {kind}");
        }
        assert!(has("reel") >= 1 && has("hanging") >= has("reel"), "run {run}");
    }
});

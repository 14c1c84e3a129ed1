//! The forecast held against what really happened: the demonstration's year, replayed.

use chrono::NaiveDate;
use wetside::baths::{self, Demand, EntryKind, RECENT_DAYS};
use wetside::clock::Moment;

const DAY: i64 = 86_400;

/// One film fixer of the year: when it was mixed, and what went through it when.
struct Life {
    mixed: Moment,
    uses: Vec<(Moment, i64)>,
}

on_both!(the_forecast_against_a_replay_of_the_year, |house| {
    wetside::demo::fill(&house.app).unwrap();
    let lives: Vec<Life> = house
        .app
        .db
        .read_now(|conn| {
            (1..=7)
                .map(|id| {
                    let bath = baths::one(conn, id)?;
                    let ledger = baths::ledger(conn, id)?;
                    let uses = ledger.iter().filter(|e| e.kind == EntryKind::Use);
                    Ok(Life { mixed: bath.mixed, uses: uses.map(|e| (e.at, e.milli)).collect() })
                })
                .collect()
        })
        .unwrap();
    let zone = house.app.zone();
    let date = |at: Moment| -> NaiveDate { zone.date(at) };
    let all: Vec<(Moment, i64)> = lives.iter().flat_map(|l| l.uses.clone()).collect();
    let first = lives.first().unwrap().mixed;
    // Asked every third day of a bath's life, what it really took being its limit, from the day on
    // from which there are four weeks to look back on.
    let (mut asked, mut errors) = (0, Vec::new());
    for life in &lives {
        let limit: i64 = life.uses.iter().map(|u| u.1).sum();
        let end = life.uses.last().unwrap().0;
        let mut now = life.mixed.plus(DAY);
        while now < end {
            let recent = all.iter().filter(|u| u.0 < now && u.0 > now.plus(-RECENT_DAYS * DAY));
            let since_first = now.since(first) / DAY;
            let taken: i64 = life.uses.iter().filter(|u| u.0 < now).map(|u| u.1).sum();
            if since_first > RECENT_DAYS {
                let daily = baths::usual_day(recent.map(|u| u.1).sum(), since_first);
                let demand = Demand { planned: Vec::new(), daily_milli: daily };
                let said = baths::reaches_limit(limit - taken, date(now), &demand).unwrap();
                errors.push((said - date(end)).num_days());
                asked += 1;
            }
            now = now.plus(3 * DAY);
        }
    }
    errors.sort_unstable_by_key(|e| e.abs());
    assert!(asked > 60, "asked {asked} times");
    let (half, most) = (errors[asked / 2].abs(), errors[asked * 9 / 10].abs());
    println!("asked {asked} times: half within {half} days, nine in ten within {most} days");
    assert!(half <= 4, "half are within {half} days: {errors:?}");
    assert!(most <= 12, "nine in ten are within {most} days: {errors:?}");
});

//! Washing, stop bath, replenishing, wetting and drying.

use super::*;
use crate::chemistry::*;

fn last_wash(plan: &WashPlan) -> (u32, Option<u32>) {
    let wash = plan.steps.last().unwrap();
    (wash.time.get(), wash.changes)
}

#[test]
fn washes_as_published() {
    let plan = |washing| wash_plan(washing, at(20.0), at(20.0)).unwrap();
    // WASH-5, Army SS0509 p. Ss050980024: rinse 30 s, aid 2 min, wash 5 min.
    let with_aid = plan(Washing::WithAid);
    let times: Vec<u32> = with_aid.steps.iter().map(|step| step.time.get()).collect();
    assert_eq!(times, [30, 120, 300]);
    assert_eq!(with_aid.total(), secs(450));
    // WASH-2, NAVEDTRA 14209 p. 250: 20 min, a complete change every 3 min.
    assert_eq!(last_wash(&plan(Washing::WithoutAid)), (1200, Some(7)));
    // WASH-4, Army SS0509 p. Ss050980030: 30 min, dumped every 3 min; WASH-15, Johnson
    // 1955 (secondary): 8-10 refills in 30 min.
    assert_eq!(last_wash(&plan(Washing::AfterHardener)), (1800, Some(10)));
    // WASH-16, Practical Photography §206: five changes of 5 min are 25 min.
    assert_eq!(changes_in(secs(1500), secs(300)), 5);
    let brisk = plan(Washing::Brisk);
    assert_eq!((last_wash(&brisk).0, brisk.warnings), (600, vec![Warning::BriskWash]));
    // WASH-12, MD0954 para. 3-33: counted from the last film.
    assert_eq!(with_aid.ends_after(secs(90)), secs(540));
}

#[test]
fn cold_and_warm_wash_water() {
    let plan = |water: f64| wash_plan(Washing::WithoutAid, at(water), at(water));
    // WASH-7, T.O. 33B-1-1 6.7.10.1: 50-60 °F takes three times as long, below 50 °F is
    // not adequate.
    assert_eq!(last_wash(&plan(15.5).unwrap()), (3600, Some(20)));
    assert_eq!(last_wash(&plan(10.0).unwrap()).0, 3600);
    assert_eq!(last_wash(&plan(15.6).unwrap()).0, 1200);
    assert!(plan(9.9).is_err());
    assert_eq!(format!("{:.1}", fahrenheit(50.0).degrees()), "10.0");
    // WASH-17, photographytips.com p. 4891: not above 75 °F.
    assert_eq!(plan(24.0).unwrap().warnings, vec![]);
    assert_eq!(plan(24.1).unwrap().warnings, vec![Warning::WarmWash(at(24.1))]);
    assert!(plan(30.1).is_err());
    // WASH-9, T.O. 33B-1-1 6.7.10.1: a step above 15 °F (8.3 °C; warned of from 8 °C).
    let step = wash_plan(Washing::WithAid, at(16.0), at(24.0)).unwrap();
    assert_eq!(step.warnings, vec![Warning::WashStep { degrees: 8.0 }]);
    assert_eq!(wash_plan(Washing::WithAid, at(16.1), at(24.0)).unwrap().warnings, vec![]);
}

#[test]
fn the_flow_of_water() {
    // WASH-2, NAVEDTRA 14209 p. 250: a change every 3 min; a 3 l washer takes 1 l/min.
    assert_eq!(flow_needed(ml(3000.0)), ml(1000.0));
    assert_eq!(check_flow(ml(3000.0), ml(1000.0)).unwrap(), None);
    assert!(check_flow(ml(3000.0), ml(990.0)).unwrap().is_some());
    assert!(check_flow(ml(3000.0), ml(0.0)).is_err());
    // WASH-14, pictorialplanet.com: 12 changes an hour are one in 5 min.
    assert_eq!(time_of_a_change(ml(3000.0), ml(600.0)).unwrap(), secs(300));
}

#[test]
fn stop_bath_takes_twelve_rolls_a_litre() {
    // FIX-27, Anchell 2008 p. 268.
    let bath = |film| stop_bath_use(ml(1000.0), None, rolls(film));
    assert_eq!(bath(0.0).capacity, rolls(12.0));
    assert_eq!(bath(9.5).standing, Standing::Good);
    assert_eq!(bath(9.6).standing, Standing::NearLimit);
    assert_eq!(bath(12.0).standing, Standing::Spent);
    assert_eq!(bath(13.0).remaining.rolls(), -1.0);
    // AGI-5, Army SS0509 p. Ss050980030: 30-60 s; FIX-27: about 3 min.
    for (time, right) in [(29, false), (30, true), (60, true), (180, true), (301, false)] {
        assert_eq!(check_stop_time(secs(time)).is_ok(), right, "{time}");
    }
}

#[test]
fn replenishing_by_area() {
    let ounce = |n| Millilitres::from_fluid_ounces(n).unwrap();
    let mark = ml(2000.0);
    let add = |per_roll, film: f64| {
        replenish(per_roll, rolls(film), mark, mark).unwrap().replenisher.ml()
    };
    // DEV-1, Army SS0513 p. SS05130025: 8 fl oz for 800 in² is 23.7 ml for 80 in².
    near(add(ounce(0.8), 1.0), 23.7, 0.05);
    near(add(ounce(0.8), 10.0), ounce(8.0).ml(), 0.01);
    // DEV-2, NMAC 20.3.6.612 B(3)(b): 1 l for 3100 in² is 25.8 ml for 80 in².
    near(add(ml(1000.0 / 38.75), 38.75), 1000.0, 0.05);
    near(1000.0 / 38.75, 25.8, 0.01);
    // DEV-3, silvergrain.com labs: about 20 ml, near the carry-over loss of 15 ml.
    let one = replenish(ml(20.0), rolls(2.0), ml(1970.0), mark).unwrap();
    // DEV-5, Army SS0514 p. SS05140050: take out, add, refill, discard the rest.
    assert_eq!(one.take_out, ml(40.0));
    assert_eq!((one.put_back, one.discard, one.lacks), (ml(30.0), ml(10.0), ml(0.0)));
    assert_eq!(one.warning(), None);
    let dry = replenish(ml(5.0), rolls(1.0), ml(1900.0), mark).unwrap();
    assert_eq!(dry.warning(), Some(Warning::TankFalls(ml(95.0))));
    assert!(replenish(ml(20.0), rolls(1.0), ml(2001.0), mark).is_err());
    assert!(replenish(ml(20.0), rolls(101.0), mark, mark).is_err());
}

#[test]
fn wetting_and_drying() {
    // DRY-4, Army SS0509 p. Ss050980024: 1 min. 1+240 is common practice, no source.
    let bath = wetting_bath(ml(482.0), Dilution::one_plus(240));
    assert_eq!((bath.split.concentrate, bath.time.value), (ml(2.0), secs(60)));
    // DRY-1, Handicraft part 4, 1 h, doubled; DRY-3, Portrait extract, 20-30 min.
    assert_eq!(drying_time(DryingPlace::StillAir).value, secs(7200));
    assert_eq!(drying_time(DryingPlace::FanCabinet).value, secs(1800));
}

//! Fixer: capacity, clearing tests, age, two baths.

use super::*;
use crate::chemistry::fixer::*;
use crate::chemistry::*;

fn bath(label: &str) -> FixerBath {
    FixerBath {
        label: label.to_string(),
        mixed: ml(1000.0),
        capacity: FixerCapacity::acid(),
        age: Days::of(1),
        events: vec![],
    }
}

fn used(film: f64) -> FixerEvent {
    FixerEvent::Use(FixerUse::of(rolls(film)))
}

fn test(fresh: u32, measured: u32) -> FixerEvent {
    FixerEvent::Test(ClipTest::new(secs(fresh), secs(measured)).unwrap())
}

#[test]
fn capacity_is_rolls_a_litre_less_the_margin() {
    let whole = |capacity: FixerCapacity| FixerCapacity { margin: percent(100.0), ..capacity };
    // FIX-5, Anchell 2008 p. 108: 20 a litre and 80 in 4 l. FIX-6, same: 25 alkaline.
    assert_eq!(whole(FixerCapacity::acid()).of_volume(ml(1000.0)), rolls(20.0));
    assert_eq!(whole(FixerCapacity::acid()).of_volume(ml(4000.0)), rolls(80.0));
    assert_eq!(whole(FixerCapacity::alkaline()).of_volume(ml(1000.0)), rolls(25.0));
    // The margin of 0.75 is common practice, no source.
    assert_eq!(FixerCapacity::acid().of_volume(ml(1000.0)), rolls(15.0));
    assert_eq!(FixerCapacity::alkaline().of_volume(ml(2000.0)), rolls(37.5));
}

#[test]
fn tabular_grain_counts_more() {
    // FIX-8, photrio.com post 2259812: two thirds of 25, about 17, so each roll counts 1.5.
    let factor = defaults::TABULAR_GRAIN.value;
    near(25.0 / factor.get(), 17.0, 0.5);
    // FIX-7, brodie-tyrrell.org wiki: 50-70 % of 20; the cautious factor is 2.
    assert_eq!(20.0 / defaults::TABULAR_GRAIN_CAUTIOUS.value.get(), 10.0);
    let one = FixerUse { factor, ..FixerUse::of(rolls(2.0)) };
    assert_eq!(one.load(), rolls(3.0));
    let second = FixerUse { place: Place::Second, ..one };
    assert_eq!(second.load(), rolls(0.3), "a tenth: common practice, no source");
}

#[test]
fn fixing_times() {
    // FIX-1, NAVEDTRA 14209 p. 249: twice the clearing time. FIX-9, atelierelealbe.eu F5:
    // clears in 5 min, fix 10 min; discarded when fixing passes 20 min, clearing doubled.
    assert_eq!(fixing_time(Seconds::minutes(5)), Seconds::minutes(10));
    let worn = ClipTest::new(Seconds::minutes(5), Seconds::minutes(10)).unwrap();
    assert_eq!((worn.fixing_time(), worn.standing()), (Seconds::minutes(20), Standing::Spent));
    // FIX-3, brodie-tyrrell.org wiki: 2 T when fresh, 4 T near the end.
    assert_eq!(fixing_time(secs(60)), secs(120));
    assert_eq!(worn.fixing_time(), Seconds::minutes(5).times(4));
    // FIX-4, NAVEDTRA 14209 p. 249: equal times in both baths.
    assert_eq!(time_in_each_of_two(secs(45)), secs(45));
}

#[test]
fn a_faster_salt_and_a_processing_line_keep_the_same_rule() {
    // FIX-22, fotolaborinfo.de: ammonium thiosulfate clears about four times as fast as sodium's
    // five minutes (FIX-9), and is fixed by the same rule.
    let ammonium = Seconds::new(5 * 60 / 4).unwrap();
    assert_eq!(fixing_time(ammonium).times(4), fixing_time(Seconds::minutes(5)));
    // FIX-25, Radiography in Modern Industry p. 130 (arithmetic only): film that clears as long as
    // it develops stays twice as long in the fixer, so its tank holds twice the developer's.
    assert_eq!(fixing_time(Seconds::minutes(5)), Seconds::minutes(5).times(2));
    // FIX-26, same (arithmetic only): four hangers, five minutes and one for changing: 40 an hour.
    let turn = Seconds::minutes(6);
    assert_eq!(4 * Seconds::minutes(60).get() / turn.get(), 40);
}

#[test]
fn cold_fixer_takes_longer() {
    // FIX-11, TM 11-2323 para. 33c: 50 °F twice, 32 °F four times the time at 68 °F.
    assert_eq!(cold_fixing_time(secs(300), fahrenheit(50.0)).unwrap(), secs(600));
    assert_eq!(cold_fixing_time(secs(300), fahrenheit(32.0)).unwrap(), secs(1200));
    assert_eq!(cold_fixing_time(secs(300), at(20.0)).unwrap(), secs(300));
    assert_eq!(cold_fixing_time(secs(300), at(25.0)).unwrap(), secs(300));
    assert_eq!(cold_fixing_time(secs(300), at(15.0)).unwrap(), secs(425));
    assert!(cold_fixing_time(secs(300), at(-0.1)).is_err());
}

#[test]
fn the_clearing_test_decides_at_double() {
    // FIX-2, NAVEDTRA 14209 p. 249; near from 1.6 times on is common practice, no source.
    let cases = [
        (30, 30, Standing::Good),
        (30, 47, Standing::Good),
        (30, 48, Standing::NearLimit),
        (30, 59, Standing::NearLimit),
        (30, 60, Standing::Spent),
        (30, 90, Standing::Spent),
    ];
    for (fresh, measured, standing) in cases {
        let test = ClipTest::new(secs(fresh), secs(measured)).unwrap();
        assert_eq!(test.standing(), standing, "{measured} s");
    }
    let error = ClipTest::new(secs(0), secs(30)).unwrap_err();
    assert_eq!(error.to_string(), "fresh clearing time: 0 s is not possible; give 1 to 3,600 s");
}

#[test]
fn the_state_is_the_worst_of_three() {
    let state = |events, age| FixerBath { events, age: Days::of(age), ..bath("A") }.state();
    let fresh = state(vec![], 0);
    assert_eq!((fresh.standing, fresh.because, fresh.by_test), (Standing::Good, vec![], None));
    assert_eq!(state(vec![used(12.0)], 1).because, vec![Judge::Capacity]);
    assert_eq!(state(vec![used(12.0)], 1).standing, Standing::NearLimit);
    assert_eq!(state(vec![used(15.0)], 1).standing, Standing::Spent);
    // FIX-13, Anchell 2008 p. 108: two months.
    assert_eq!(state(vec![], 47).standing, Standing::Good);
    assert_eq!(state(vec![], 48).because, vec![Judge::Age]);
    assert_eq!(state(vec![], 60).standing, Standing::Spent);
    let failed = state(vec![used(1.0), test(30, 60), test(30, 31)], 1);
    assert_eq!((failed.standing, failed.because), (Standing::Spent, vec![Judge::ClipTest]));
    let all = state(vec![used(16.0), test(30, 60)], 60);
    assert_eq!(all.because, vec![Judge::Capacity, Judge::Age, Judge::ClipTest]);
    assert_eq!(all.capacity.remaining.rolls(), -1.0);
}

#[test]
fn carry_over_shrinks_the_bottle() {
    // 15 ml a roll: common practice, no source.
    let state = FixerBath { events: vec![used(4.0), used(2.5)], ..bath("A") }.state();
    assert_eq!(state.volume_left, ml(902.5));
    assert_eq!(state.capacity.remaining.rolls(), 8.5);
    assert_eq!(state.fills(ml(900.0)), None);
    assert!(state.fills(ml(903.0)).is_some());
    assert_eq!(state.takes(rolls(8.5)), None);
    assert!(matches!(state.takes(rolls(9.0)), Some(Warning::BeyondCapacity(_))));
    assert_eq!(state.lasts(rolls(2.0)), Some(Days::of(4)));
    assert_eq!(state.lasts(rolls(0.0)), None);
}

#[test]
fn a_failed_test_looks_back_to_the_last_good_one() {
    let ledger = |events| FixerBath { events, ..bath("A") }.unproven_uses();
    let good = vec![used(1.0), test(30, 32), used(1.0), used(1.0)];
    assert!(ledger(good.clone()).is_empty());
    let mut failed = good;
    failed.push(test(30, 65));
    assert_eq!(ledger(failed.clone()), [2, 3]);
    failed.push(used(1.0));
    assert_eq!(ledger(failed), [2, 3, 5], "nor is what was fixed after it proven");
}

#[test]
fn two_baths_rotate_with_their_history() {
    // FIX-4, NAVEDTRA 14209 p. 249: discard 1, move 2 to place 1, fresh bath 2.
    let worn = FixerBath { events: vec![used(15.0), test(30, 61)], ..bath("A") };
    let second_use = FixerUse { place: Place::Second, ..FixerUse::of(rolls(15.0)) };
    let second =
        FixerBath { events: vec![FixerEvent::Use(second_use)], age: Days::of(20), ..bath("B") };
    let pair = TwoBaths::fresh(worn, second.clone());
    assert_eq!(pair.state().0, Standing::Spent);
    let rotated = pair.rotate(bath("C")).unwrap();
    assert_eq!(rotated.discarded.label, "A");
    assert_eq!(rotated.now.first, second, "with its age and its ledger");
    assert_eq!(rotated.now.first.state().capacity.load, rolls(1.5));
    assert_eq!((rotated.now.second.label.as_str(), rotated.now.promotions()), ("C", 1));
}

#[test]
fn promotions_are_capped() {
    // five: common practice, no source
    let mut pair = TwoBaths::fresh(bath("A"), bath("B"));
    for _ in 0..5 {
        pair = pair.rotate(bath("next")).unwrap().now;
    }
    assert_eq!(pair.rotate(bath("one more")), Err(Refusal::TooManyPromotions(5)));
    assert!(TwoBaths::kept(bath("A"), bath("B"), 6).is_err());
}

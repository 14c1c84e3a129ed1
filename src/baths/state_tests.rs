//! The state of a bath, checked against published figures and by properties.

use proptest::prelude::*;

use super::*;
use crate::baths::rules::{Growth, Kind, NewBath};
use crate::chemistry::{FixerBath, FixerCapacity, FixerEvent, FixerUse, Standing, defaults};
use crate::units::{Days, Millilitres, RollEquivalents};

pub(in crate::baths) fn bath() -> Bath {
    let of = NewBath {
        water_parts: Some(4),
        volume_ul: 2_000_000,
        capacity_milli: 30_000,
        ..NewBath::of(Kind::Fixer, "Fixer 12", Moment(0))
    };
    Bath { id: 1, number: 1, of, retired: None }
}

/// The same, mixed otherwise.
fn other(change: impl FnOnce(&mut NewBath)) -> Bath {
    let mut bath = bath();
    change(&mut bath.of);
    bath
}

fn used(milli: i64) -> Entry {
    Entry { milli, film_milli: milli, ..Entry::of(EntryKind::Use, Moment(1)) }
}

fn test(id: i64, seconds: i64) -> Entry {
    Entry { id, seconds: Some(seconds), ..Entry::of(EntryKind::ClipTest, Moment(1)) }
}

fn corrects(id: i64, milli: i64) -> Entry {
    Entry { corrects: Some(id), milli, ..Entry::of(EntryKind::Correction, Moment(2)) }
}

fn at(bath: &Bath, ledger: &[Entry]) -> State {
    state(bath, ledger, Moment(10), &Measures::usual(80))
}

#[test]
fn a_bath_goes_from_good_by_near_to_its_limit() {
    let of = |m: &[i64]| at(&bath(), &m.iter().map(|m| used(*m)).collect::<Vec<_>>());
    assert_eq!(of(&[]).condition, Condition::Good);
    assert_eq!(of(&[23_999]).condition, Condition::Good);
    assert_eq!(of(&[20_000, 4000]).condition, Condition::NearLimit);
    assert_eq!(of(&[30_000]).condition, Condition::AtLimit);
    assert_eq!(of(&[31_500]).remaining_milli, -1500);
}

#[test]
fn double_the_fresh_clearing_time_is_spent() {
    // NAVEDTRA 14209, web p. 249: exhausted when the clearing time is double the fresh value.
    let of = |s: &[i64]| at(&bath(), &s.iter().map(|s| test(0, *s)).collect::<Vec<_>>()).condition;
    assert_eq!(of(&[60, 95]), Condition::Good);
    assert_eq!(of(&[60, 96]), Condition::NearLimit, "1.6 times: common practice, no source");
    assert_eq!(of(&[60, 119]), Condition::NearLimit);
    assert_eq!(of(&[60, 120]), Condition::FailedTest);
    assert_eq!(of(&[60, 120, 70]), Condition::FailedTest, "a later test cannot heal it");
    // F-5 formula page, atelierelealbe.eu: discard when twice the clearing time exceeds 20 min.
    assert_eq!(of(&[601]), Condition::FailedTest);
    assert_eq!(of(&[600]), Condition::Good);
}

#[test]
fn film_stays_in_it_for_twice_the_clearing_time() {
    // NAVEDTRA 14209, web p. 249: fix for twice the time it takes to clear.
    assert_eq!(at(&bath(), &[]).fix_s, 300);
    assert_eq!(at(&bath(), &[test(1, 60), used(5000), test(2, 75)]).fix_s, 150);
    // F-5 clears in about 5 min fresh, so it fixes in 10 (atelierelealbe.eu).
    assert_eq!(at(&bath(), &[test(1, 300)]).fix_s, 600);
}

#[test]
fn only_tests_of_like_film_temperature_and_wetting_are_compared() {
    let of = |film: &str, mc: i64, pre_wet: bool, seconds: i64| Entry {
        film: film.to_owned(),
        temperature_mc: Some(mc),
        pre_wet,
        ..test(0, seconds)
    };
    let fresh = of("Gannet 400", 20_000, false, 60);
    let failed = |e: Entry| at(&bath(), &[fresh.clone(), e]).condition == Condition::FailedTest;
    assert!(failed(of("Gannet 400", 20_300, false, 120)));
    assert!(!failed(of("Skerry T 400", 20_000, false, 120)));
    assert!(!failed(of("Gannet 400", 16_000, false, 120)));
    assert!(!failed(of("Gannet 400", 20_000, true, 120)));
    // The fresh time of an earlier bath of the same product stands in for one never taken.
    let clearing = Clearing::of(&fresh).unwrap();
    let known = Measures { fresh: vec![clearing], ..Measures::usual(80) };
    let late = [of("Gannet 400", 20_000, false, 130)];
    assert_eq!(state(&bath(), &late, Moment(10), &known).condition, Condition::FailedTest);
}

#[test]
fn working_fixer_older_than_two_months_is_not_trusted() {
    // S. Anchell, The Darkroom Cookbook, 3rd ed. 2008, p. 108: at most two months.
    let of = |days: i64| state(&bath(), &[], Moment(days * 86_400), &Measures::usual(80)).condition;
    assert_eq!((of(60), of(61)), (Condition::Good, Condition::TooOld));
}

#[test]
fn what_is_left_must_cover_the_film_and_a_top_up_restores_no_capacity() {
    let little = other(|b| (b.least_ul, b.volume_ul) = (500_000, 1_000_000));
    let out = Entry { volume_ul: -501_000, ..used(29_000) };
    assert_eq!(at(&little, std::slice::from_ref(&out)).condition, Condition::TooLittle);
    let top = Entry { volume_ul: 400_000, ..Entry::of(EntryKind::TopUp, Moment(2)) };
    let after = at(&little, &[out, top]);
    assert_eq!(after.condition, Condition::NearLimit);
    assert_eq!((after.left_ul, after.remaining_milli), (899_000, 1000));
}

#[test]
fn a_half_empty_stock_keeps_less_long() {
    // Keeping times of a stock, full and half full, are from memory; the lead types them in.
    let stock = other(|b| {
        (b.kind, b.way) = (Kind::Developer, Way::Stock);
        (b.keeps_days, b.half_keeps_days) = (180, Some(60));
    });
    let half = Entry {
        at: Moment(10 * 86_400),
        volume_ul: -1_000_000,
        ..Entry::of(EntryKind::Drawn, Moment(0))
    };
    let of = |days: i64, ledger: &[Entry]| {
        state(&stock, ledger, Moment(days * 86_400), &Measures::usual(80)).condition
    };
    assert_eq!(of(100, &[]), Condition::Good);
    assert_eq!(of(70, std::slice::from_ref(&half)), Condition::Good);
    assert_eq!(of(71, &[half]), Condition::TooOld);
}

#[test]
fn a_developer_used_again_needs_more_time_for_each_whole_step() {
    // About 15 % more after each four rolls: from memory, so a lead types it in.
    let growth = Some(Growth { permille: 150, every_milli: 4000 });
    let developer = other(|b| {
        (b.kind, b.way, b.growth) = (Kind::Developer, Way::ReUsed, growth);
    });
    let of = |milli| at(&developer, &[used(milli)]).time_permille;
    assert_eq!((of(3999), of(4000), of(8000)), (1000, 1150, 1300));
}

#[test]
fn an_old_developer_asks_for_a_scrap_and_a_pale_one_is_dead() {
    let developer = other(|b| {
        (b.kind, b.way, b.keeps_days) = (Kind::Developer, Way::Stock, 180);
    });
    let now = Moment(70 * 86_400);
    let of = |ledger: &[Entry]| state(&developer, ledger, now, &Measures::usual(80));
    assert!(of(&[]).asks_scrap_test);
    let tried = |passed| Entry { passed: Some(passed), ..Entry::of(EntryKind::ScrapTest, now) };
    assert!(!of(&[tried(true)]).asks_scrap_test);
    assert_eq!(of(&[tried(false)]).condition, Condition::FailedTest);
}

#[test]
fn a_correction_that_lowers_the_state_begins_a_new_count() {
    let first = Entry { id: 7, ..used(25_000) };
    let causes = |ledger: &[Entry]| at(&bath(), ledger).causes;
    assert_eq!(causes(std::slice::from_ref(&first)), [(Cause::Near, 0)]);
    let down = corrects(7, -20_000);
    assert_eq!(causes(&[first.clone(), down.clone()]), []);
    assert_eq!(causes(&[first.clone(), down, used(20_000)]), [(Cause::Near, 1)]);
    // One that leaves it near its limit does not.
    assert_eq!(causes(&[first, corrects(7, -500), used(100)]), [(Cause::Near, 0)]);
}

#[test]
fn a_test_that_was_taken_back_counts_no_more() {
    let ledger = [test(1, 60), test(2, 200), corrects(2, 0)];
    let said = at(&bath(), &ledger);
    assert_eq!((said.condition, said.fix_s), (Condition::Good, 120));
}

/// The same ledger as the chemistry counts it.
fn chemistry(film: &[i64], litres: u64) -> FixerBath {
    FixerBath {
        label: "Fixer".to_owned(),
        mixed: Millilitres::from_microlitres(litres * 1_000_000).unwrap(),
        capacity: FixerCapacity::acid(),
        age: Days::of(1),
        events: film
            .iter()
            .map(|milli| {
                let rolls = RollEquivalents::from_millionths(u64::try_from(*milli).unwrap() * 1000);
                FixerEvent::Use(FixerUse::of(rolls))
            })
            .collect(),
    }
}

proptest! {
    #[test]
    fn ledger_and_chemistry_say_the_same(
        film in proptest::collection::vec(1_i64..9000, 0..12), litres in 1_u64..4,
    ) {
        let by_chemistry = chemistry(&film, litres).state();
        let volume_ul = i64::try_from(litres).unwrap() * 1_000_000;
        // 20 rolls' worth a litre (Anchell 2008, p. 108), of which the studio uses three quarters.
        let own = other(|b| {
            (b.volume_ul, b.capacity_milli) = (volume_ul, volume_ul / 1000 * 15);
        });
        let ledger: Vec<Entry> = film.iter().map(|m| used(*m)).collect();
        let said = state(&own, &ledger, Moment(86_400), &Measures::usual(80));
        let expected = match by_chemistry.standing {
            Standing::Good => Condition::Good,
            Standing::NearLimit => Condition::NearLimit,
            Standing::Spent => Condition::AtLimit,
        };
        prop_assert_eq!(said.condition, expected);
        prop_assert_eq!(i64::from(defaults::FIXER_LIFE.value.get()), own.keeps_days);
    }

    #[test]
    fn more_use_never_makes_a_bath_better(
        a in proptest::collection::vec(1_i64..40_000, 0..20), more in 1_i64..40_000,
    ) {
        let mut ledger: Vec<Entry> = a.iter().map(|m| used(*m)).collect();
        let before = at(&bath(), &ledger);
        ledger.push(used(more));
        let after = at(&bath(), &ledger);
        prop_assert!(after.condition >= before.condition);
        prop_assert_eq!(after.used_milli, before.used_milli + more);
    }

    #[test]
    fn a_test_can_only_make_it_worse(
        a in proptest::collection::vec(1_i64..8000, 0..10),
        tests in proptest::collection::vec(1_i64..3600, 0..6), one in 1_i64..3600,
    ) {
        let mut ledger: Vec<Entry> = a.iter().map(|m| used(*m)).collect();
        ledger.extend(tests.iter().map(|s| test(0, *s)));
        let before = at(&bath(), &ledger).condition;
        ledger.push(test(0, one));
        prop_assert!(at(&bath(), &ledger).condition >= before);
    }

    #[test]
    fn nothing_makes_it_panic(
        m in any::<i64>(), s in any::<i64>(), now in any::<i64>(), p in any::<i64>(), v in any::<i64>(),
    ) {
        let ledger = [
            Entry { volume_ul: v, at: Moment(now), ..used(m) },
            Entry { temperature_mc: Some(v), ..test(1, s) },
            corrects(1, m),
        ];
        let odd = other(|b| (b.least_ul, b.half_keeps_days) = (v, Some(p)));
        let said = state(&odd, &ledger, Moment(now), &Measures::usual(p));
        let _ = said.cannot_take(m);
    }
}

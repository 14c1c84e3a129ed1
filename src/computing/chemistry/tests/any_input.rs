//! Nothing panics, whatever it is given: every public function, with every number a
//! constructor lets through, and every constructor with every number there is.

use std::fmt::Debug;

use proptest::prelude::*;

use super::*;
use crate::chemistry::developing_time::*;
use crate::chemistry::fixer::*;
use crate::chemistry::*;

/// All bit patterns, and those that break things most often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<u64>().prop_map(f64::from_bits),
        -1e3..1e6_f64,
        prop::sample::select(vec![
            0.0,
            -0.0,
            1.0,
            100.0,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::MAX,
            f64::MIN,
            f64::MIN_POSITIVE,
            1e9,
            1e-9,
        ]),
    ]
}

/// What a constructor lets through, its greatest and least among them.
fn any_volume() -> impl Strategy<Value = Millilitres> {
    prop_oneof![
        (0..=1_000_000_000_000u64).prop_map(|u| Millilitres::from_microlitres(u).unwrap()),
        (0..3_000_000u64).prop_map(|u| Millilitres::from_microlitres(u).unwrap()),
        Just(Millilitres::ZERO),
        Just(Millilitres::GREATEST),
    ]
}

fn any_temperature() -> impl Strategy<Value = Celsius> {
    prop_oneof![(-30.0..=110.0_f64), (0.0..30.0_f64)].prop_map(|d| Celsius::new(d).unwrap())
}

fn any_time() -> impl Strategy<Value = Seconds> {
    prop_oneof![0..=2_592_000u32, 0..1200u32, Just(0), Just(2_592_000)]
        .prop_map(|s| Seconds::new(s).unwrap())
}

fn any_film() -> impl Strategy<Value = RollEquivalents> {
    prop_oneof![0.0..=1e6_f64, 0.0..40.0_f64, Just(0.0), Just(1e6)]
        .prop_map(|r| RollEquivalents::new(r).unwrap())
}

fn any_percent() -> impl Strategy<Value = Percent> {
    prop_oneof![0.0..=100.0_f64, Just(0.0), Just(100.0)].prop_map(|p| Percent::new(p).unwrap())
}

fn any_dilution() -> impl Strategy<Value = Dilution> {
    prop_oneof![0.0..=1e4_f64, 0.0..100.0_f64, Just(0.0), Just(1e4)]
        .prop_map(|n| Dilution::new(n).unwrap())
}

fn any_factor() -> impl Strategy<Value = Factor> {
    prop_oneof![0.01..=100.0_f64, Just(0.01), Just(100.0)].prop_map(|f| Factor::new(f).unwrap())
}

fn any_scheme() -> impl Strategy<Value = AgitationScheme> {
    let regular = (any_time(), any_time(), any_time()).prop_map(|(a, b, c)| {
        AgitationScheme::regular(a, b, c).unwrap_or(AgitationScheme::usual())
    });
    let turned = (any::<u8>(), any_time()).prop_map(|(n, every)| {
        AgitationScheme::inversions(n, every).unwrap_or(AgitationScheme::five_inversions())
    });
    let stand =
        any_time().prop_map(|t| AgitationScheme::stand(t).unwrap_or(AgitationScheme::Continuous));
    prop_oneof![Just(AgitationScheme::Continuous), regular, turned, stand]
}

/// An answer can be shown, and a refusal says something with a remedy.
fn answers<T: Debug>(result: Result<T, Refusal>) -> Option<T> {
    match result {
        Ok(value) => {
            assert!(!format!("{value:?}").is_empty());
            Some(value)
        }
        Err(refusal) => {
            let sentence = refusal.to_string();
            assert!(sentence.contains(';'), "no remedy in: {sentence}");
            None
        }
    }
}

fn warned(warnings: &[Warning]) {
    for warning in warnings {
        let sentence = warning.to_string();
        assert!(sentence.len() > 20 && !sentence.contains('{'), "{sentence}");
    }
}

proptest! {
    #[test]
    fn constructors(x in any_number(), y in any_number(), n in any::<u32>(), text in ".{0,50}") {
        let (s, t) = (n % 2_592_001, n / 7 % 2_592_001);
        answers(Coefficient::own(x).map_err(Refusal::from));
        answers(Part::new("A", x).map_err(Refusal::from));
        answers(ClipTest::new(secs(s), secs(t)).map_err(Refusal::from));
        answers(text.parse::<Format>().map_err(Refusal::from));
        answers(text.parse::<AgitationScheme>().map_err(Refusal::from));
        if let (Ok(a), Ok(b)) = (Celsius::new(x), Celsius::new(y)) {
            answers(Band::new(a, b).map_err(Refusal::from));
            answers(Coefficient::from_two_times((a, secs(s)), (b, secs(t))));
            let row = |at, time| TableRow { at, time };
            answers(TimeTable::new(vec![row(a, secs(s)), row(b, secs(t))]));
        }
        if let (Ok(a), Ok(b)) = (Millilitres::new(x), Millilitres::new(y)) {
            answers(Measuring::new(vec![Tool { up_to: a, step: b }]));
            let figures = FillFigures { base_ml: a, min_ml: b, max_ml: a };
            answers(Fill::new(figures).map_err(Refusal::from));
        }
        if let (Ok(a), Ok(b)) = (Percent::new(x), Percent::new(y)) {
            answers(SilverAssumptions::new((n, n / 2), (a, b)).map_err(Refusal::from));
        }
    }

    #[test]
    fn mixing(
        volume in any_volume(), other in any_volume(), n in any_dilution(), m in any_dilution(),
        p in (any_percent(), any_percent(), any_percent()),
        t in (any_temperature(), any_temperature(), any_temperature()),
        shares in prop::collection::vec(0.001..=10_000.0_f64, 1..=20),
    ) {
        prop_assert_eq!(split(volume, n).total(), volume);
        answers(from_concentrate(volume, n));
        prop_assert!(percent_of(volume, p.0) <= volume);
        answers(percent_to_percent(volume, p.0, p.1));
        if let Some(cross) = answers(alligation(p.0, p.1, p.2)) {
            let made = cross.volumes(volume);
            prop_assert_eq!(made.stronger + made.weaker, volume);
        }
        let two = TwoStep { stock: n, working: m };
        answers(two.overall());
        prop_assert_eq!(two.amounts(volume).working.total(), volume);
        answers(mixed_temperature(&[(volume, t.0), (other, t.1)]));
        answers(hot_and_cold(volume, t.0, t.1, t.2));
        let mixture = Split { concentrate: volume, water: other };
        if let Some(water) = answers(water_temperature(mixture, t.0, t.1)) {
            warned(water.warning.as_slice());
        }
        warned(check_mixing_water(Mixing::Developer, t.0).as_slice());
        warned(check_mixing_water(Mixing::Fixer, t.0).as_slice());
        let shares = shares.iter().map(|s| Part::new("part", *s).unwrap()).collect();
        let parts = Parts::new(shares).unwrap();
        prop_assert_eq!(parts.divide(volume).iter().map(|v| v.volume).sum::<Millilitres>(), volume);
        prop_assert!(parts.strength_of_first().is_none_or(|f| f.get() >= 1.0));
        prop_assert!(make_up(volume).start_to <= volume);
        let grams = solid_for_percent(volume, p.0);
        prop_assert!(anhydrous_hypo(grams) <= grams);
        answers(weigh_out(grams, volume));
        answers(volume_from_packet(grams, anhydrous_hypo(grams)));
        prop_assert_eq!(wetting_bath(volume, n).split.total(), volume);
    }

    #[test]
    fn tanks(
        figures in (any_volume(), any_volume(), any_volume()), cover in any_volume(),
        reels in any::<u16>(), film in any_film(), n in any_dilution(), minimum in any_volume(),
        holds in any_volume(), rotary in any::<bool>(),
    ) {
        let (base_ml, min_ml, max_ml) = figures;
        let fill = Fill::new(FillFigures { base_ml, min_ml, max_ml }).ok();
        let tank = TankVolumes { inversion: fill, rotary: None };
        let reel = ReelVolumes { inversion: Some(cover), rotary: None };
        let loaded = [LoadedReels { reel, reels, film }, LoadedReels { reel, reels: 1, film }];
        let method = if rotary { Method::Rotary } else { Method::Inversion };
        let loaded = LoadedTank { tank: &tank, reels: &loaded, method };
        let developer = DeveloperUse { dilution: n, minimum_per_roll: minimum };
        answers(loaded.other_bath());
        answers(loaded.from_bottle(holds));
        if let Some(need) = answers(loaded.developer(&developer)) {
            let part = |name: &str, parts| Part::new(name, parts).unwrap();
            let parts = Parts::new(vec![part("A", 1.0), part("water", 9.0)]).unwrap();
            let forms = [
                Preparation::Diluted { name: String::from("stock"), dilution: n },
                Preparation::Mixed(parts),
            ];
            for form in forms {
                let measured = form.measure(&need, &Measuring::usual());
                let total: Millilitres = measured.volumes.iter().map(|v| v.volume).sum();
                prop_assert!(total >= need.volume && total <= need.maximum);
            }
            let _ = Preparation::OneAfterAnother(vec![]).measure(&need, &Measuring::usual());
        }
    }

    #[test]
    fn developing_times(
        (time, at_t, start, end) in (any_time(), any_temperature(), any_temperature(), any_temperature()),
        k in 1.0..=10.0_f64, estimate in any::<bool>(), wide in any::<bool>(),
        stops in -20.0..=20.0_f64, factor in any_factor(), which in 0..4u8,
        (used, this_run, every) in (any_film(), any_film(), any_film()), grow in any_percent(),
        schemes in (any_scheme(), any_scheme()), own in any::<bool>(), volume in any_volume(), step in any_time(),
    ) {
        let coefficient = if estimate { Coefficient::estimate() } else { Coefficient::own(k).unwrap() };
        let whole_band = Band::new(at(-30.0), at(110.0)).unwrap();
        let band = if wide { whole_band } else { Band::usual() };
        let one = TimeBasis::OneTime(OneTime { time, at: at_t, coefficient, band });
        let rows = vec![TableRow { at: at(-30.0), time: step }, TableRow { at: at_t, time }];
        let basis = match TimeTable::new(rows) {
            Ok(table) if own => TimeBasis::Table(table),
            _ => one,
        };
        let by = match which {
            0 => PushFactor::Own(factor),
            1 => PushFactor::PerStop(factor),
            _ => PushFactor::Estimate,
        };
        let on = if own { GrowthOn::FirstTime } else { GrowthOn::LastTime };
        let counted = if wide { Counted::WholeSteps } else { Counted::InProportion };
        let growth = Growth { percent: grow, every, counted, on, at_most: own.then_some(every) };
        let development = Development {
            basis: &basis,
            temperature: RunTemperature::FromTo(start, end),
            push: (which != 3).then_some(Push { stops: Stops::new(stops).unwrap(), by }),
            re_use: estimate.then_some(ReUse { used, this_run, growth }),
            agitation: Some(AgitationChange {
                recipe: schemes.0, run: schemes.1, factor: own.then_some(factor),
            }),
            volume,
            step,
        };
        if let Some(ours) = answers(developing_time(&development)) {
            warned(&ours.warnings);
            prop_assert!(ours.steps.iter().all(|s| s.factor.is_finite() && s.factor > 0.0));
            prop_assert!(ours.steps.iter().all(|s| s.to_string().contains('=')));
            prop_assert!(serde_json::to_string(&ours).is_ok());
        }
        prop_assert!(pouring_time(volume) >= 10.0);
        let _ = needs_correction(start, end);
    }

    #[test]
    fn agitation_and_washing(
        scheme in any_scheme(), time in 0..20_000u32, other in any_time(), volume in any_volume(),
        flow in any_volume(), t in (any_temperature(), any_temperature()), film in any_film(),
        per_litre in 0.001..=1000.0_f64, mark in any_volume(),
    ) {
        prop_assert!(timetable(scheme, secs(time)).moving() <= secs(time));
        for washing in [Washing::WithAid, Washing::WithoutAid, Washing::AfterHardener, Washing::Brisk] {
            if let Some(plan) = answers(wash_plan(washing, t.0, t.1)) {
                warned(&plan.warnings);
                prop_assert!(plan.ends_after(other) >= other);
            }
        }
        let _ = changes_in(secs(time), other);
        answers(time_of_a_change(volume, flow));
        let _ = flow_needed(volume);
        if let Some(warning) = answers(check_flow(volume, flow)) {
            warned(warning.as_slice());
        }
        let rate = RollsPerLitre::new(per_litre).unwrap();
        let _ = stop_bath_use(volume, Some(rate), film);
        answers(check_stop_time(other).map_err(Refusal::from));
        if let Some(done) = answers(replenish(flow, film, volume, mark)) {
            warned(done.warning().as_slice());
        }
    }

    #[test]
    fn fixers(
        mixed in any_volume(), rate in 0.001..=1000.0_f64, margin in any_percent(), days in 0..=36_500u32,
        events in prop::collection::vec((any_film(), any_factor(), any_volume(), 1..=3600u32, 1..=3600u32, 0..3u8), 0..12),
        time in any_time(), t in any_temperature(), film in any_film(), needs in any_volume(), promotions in any::<u8>(),
        sheets in any::<u32>(),
    ) {
        let event = |(film, factor, carried_out, fresh, measured, kind)| match kind {
            0 => FixerEvent::Test(ClipTest::new(secs(fresh), secs(measured)).unwrap()),
            1 => FixerEvent::Use(FixerUse { film, factor, place: Place::Second, carried_out }),
            _ => FixerEvent::Use(FixerUse { film, factor, place: Place::First, carried_out }),
        };
        let capacity = FixerCapacity { per_litre: RollsPerLitre::new(rate).unwrap(), margin };
        let bath = FixerBath {
            label: String::new(), mixed, capacity, age: Days::new(days).unwrap(),
            events: events.into_iter().map(event).collect(),
        };
        let state = bath.state();
        warned(state.fills(needs).as_slice());
        warned(state.takes(film).as_slice());
        let _ = state.lasts(film);
        prop_assert!(bath.unproven_uses().len() <= bath.uses().count());
        prop_assert!(serde_json::to_string(&state).is_ok());
        answers(cold_fixing_time(time, t));
        prop_assert!(time_in_each_of_two(time) >= time || time > secs(1_296_000));
        let _ = carry_over(film, needs);
        let _ = FixerUse::of(film).load();
        if let Some(pair) = answers(TwoBaths::kept(bath.clone(), bath.clone(), promotions)) {
            answers(pair.rotate(bath));
        }
        let estimate = silver(film, SilverAssumptions::usual());
        prop_assert!(estimate.least <= estimate.most);
        answers(estimate.per_litre(needs));
        for format in [Format::Film135(36), Format::Film120, Format::Sheet4x5, Format::Film135(0)] {
            let _ = rolls_of(format, sheets);
        }
        let _ = rolls_of_area(film.area());
    }
}

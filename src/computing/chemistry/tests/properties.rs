//! What must hold for every amount: sums, round trips, monotony.

use proptest::prelude::*;

use super::*;
use crate::chemistry::developing_time::*;
use crate::chemistry::*;

prop_compose! {
    fn a_volume()(ml in 0.0..20_000.0_f64) -> Millilitres { Millilitres::new(ml).unwrap() }
}

prop_compose! {
    fn a_dilution()(n in prop_oneof![0.0..500.0_f64, (0..100u8).prop_map(f64::from)]) -> Dilution {
        Dilution::new(n).unwrap()
    }
}

prop_compose! {
    fn a_need()(volume in 1.0..3000.0_f64, room in 0.0..1500.0_f64) -> Need {
        Need {
            volume: ml(volume), decided_by: Decider::ToCover, to_cover: ml(volume),
            tank_minimum: ml(0.0), for_the_rolls: ml(0.0), maximum: ml(volume + room),
        }
    }
}

fn parts_of(shares: &[f64]) -> Parts {
    Parts::new(shares.iter().map(|s| Part::new("part", *s).unwrap()).collect()).unwrap()
}

proptest! {
    #[test]
    fn a_split_adds_up_and_comes_back(total in a_volume(), dilution in a_dilution()) {
        let parts = split(total, dilution);
        prop_assert_eq!(parts.total(), total);
        let share = parts.concentrate.ml() * (1.0 + dilution.water_parts());
        prop_assert!((share - total.ml()).abs() <= 0.0005 * (1.0 + dilution.water_parts()) + 1e-6);
        let made = from_concentrate(total, dilution).unwrap();
        prop_assert_eq!(split(made.total(), dilution).concentrate, total);
    }

    #[test]
    fn strengths_add_up(total in a_volume(), a in 0.0..100.0_f64, b in 0.0..100.0_f64, c in 0.0..100.0_f64) {
        let mut all = [percent(a), percent(b), percent(c)];
        all.sort();
        let [weak, middle, strong] = all;
        if let Ok(parts) = percent_to_percent(total, middle, strong) {
            prop_assert_eq!(parts.total(), total);
            let contained = parts.concentrate.ml() * strong.fraction();
            prop_assert!((contained - total.ml() * middle.fraction()).abs() <= 0.001);
        }
        if let Ok(cross) = alligation(weak, strong, middle) {
            let volumes = cross.volumes(total);
            prop_assert_eq!(volumes.stronger + volumes.weaker, total);
            let contained =
                volumes.stronger.ml() * strong.fraction() + volumes.weaker.ml() * weak.fraction();
            prop_assert!((contained - total.ml() * middle.fraction()).abs() <= 0.001);
        }
    }

    #[test]
    fn parts_and_steps_add_up(
        total in a_volume(),
        shares in prop::collection::vec(0.001..10_000.0_f64, 1..=20),
        a in a_dilution(),
        b in a_dilution(),
    ) {
        let volumes = parts_of(&shares).divide(total);
        prop_assert_eq!(volumes.iter().map(|v| v.volume).sum::<Millilitres>(), total);
        let amounts = TwoStep { stock: a, working: b }.amounts(total);
        prop_assert_eq!(amounts.working.total(), total);
        prop_assert_eq!(amounts.stock.total(), amounts.working.concentrate);
    }

    #[test]
    fn waters_mix_to_what_was_wanted(total in a_volume(), a in 0.0..100.0_f64, b in 0.0..100.0_f64, share in 0.0..1.0_f64) {
        let wanted = at(a + (b - a) * share);
        let mix = hot_and_cold(total, at(a), at(b), wanted).unwrap();
        prop_assert_eq!(mix.hot + mix.cold, total);
        if total > ml(100.0) {
            let (cold, hot) = (at(a.min(b)), at(a.max(b)));
            let mixed = mixed_temperature(&[(mix.hot, hot), (mix.cold, cold)]).unwrap();
            prop_assert!(mixed.apart(wanted) <= 0.002);
        }
    }

    #[test]
    fn the_water_for_stock_brings_it_there(total in 100.0..5000.0_f64, n in 1.0..60.0_f64, own in 5.0..35.0_f64, wanted in 16.0..26.0_f64) {
        let mixture = split(ml(total), Dilution::new(n).unwrap());
        if let Ok(water) = water_temperature(mixture, at(own), at(wanted)) {
            let mixed = mixed_temperature(&[
                (mixture.concentrate, at(own)),
                (mixture.water, water.temperature),
            ]).unwrap();
            prop_assert!(mixed.apart(at(wanted)) <= 0.002);
        }
    }

    #[test]
    fn a_friendly_volume_is_enough_and_fits(need in a_need(), dilution in a_dilution()) {
        let measuring = Measuring::usual();
        let ready = friendly(&need, dilution, &measuring);
        let total = ready.split.total();
        prop_assert!(total >= need.volume && total <= need.maximum);
        let strength = dilution.water_parts() + 1.0;
        prop_assert!(ready.split.concentrate.ml() * strength >= need.volume.ml() - 1e-6);
        if ready.measure_exactly {
            prop_assert_eq!(total, need.volume);
        } else {
            let concentrate = ready.split.concentrate;
            let exact = need.volume.ml() / strength;
            // a trace over 20 ml no longer fits the syringe of 20 ml
            let step = measuring.step_for(ml((exact * 1000.0 - 1e-6).ceil() / 1000.0));
            prop_assert_eq!(concentrate.microlitres() % step.microlitres(), 0);
            prop_assert!(concentrate.ml() < exact + step.ml() + 0.001);
        }
    }

    #[test]
    fn friendly_parts_are_enough_and_fit(need in a_need(), shares in prop::collection::vec(1.0..100.0_f64, 1..6)) {
        let (volumes, _) = friendly_parts(&need, &parts_of(&shares), &Measuring::usual());
        let total: Millilitres = volumes.iter().map(|v| v.volume).sum();
        prop_assert!(total >= need.volume && total <= need.maximum);
    }

    #[test]
    fn more_film_never_needs_less(n in a_dilution(), minimum in 0.0..50.0_f64, film in 0.0..5.0_f64, more in 0.0..5.0_f64) {
        let fill = FillFigures { base_ml: ml(10.0), min_ml: ml(300.0), max_ml: Millilitres::GREATEST };
        let tank = TankVolumes { inversion: Fill::new(fill).ok(), rotary: None };
        let developer = DeveloperUse { dilution: n, minimum_per_roll: ml(minimum) };
        let need = |film| {
            let reel = ReelVolumes { inversion: Some(ml(290.0)), rotary: None };
            let loaded = [LoadedReels { reel, reels: 1, film: rolls(film) }];
            LoadedTank { tank: &tank, reels: &loaded, method: Method::Inversion }
                .developer(&developer)
                .unwrap()
        };
        let (less, more) = (need(film), need(film + more));
        prop_assert!(more.volume >= less.volume);
        let parts = split(more.volume, n);
        let given = parts.concentrate.ml() + 0.001;
        prop_assert!(given >= minimum * rolls(film).rolls() - 0.001, "minimum per roll");
        prop_assert_eq!(more.volume, more.to_cover.max(more.tank_minimum).max(more.for_the_rolls));
    }

    #[test]
    fn warmer_is_never_longer(k in 1.0..4.0_f64, a in 18.0..24.0_f64, b in 18.0..24.0_f64, time in 300..3000u32) {
        let one = OneTime {
            time: secs(time), at: at(20.0),
            coefficient: Coefficient::own(k).unwrap(), band: Band::usual(),
        };
        let basis = TimeBasis::OneTime(one);
        let run = |temperature| {
            developing_time(&Development {
                basis: &basis, temperature, push: None, re_use: None, agitation: None,
                volume: ml(0.0), step: Seconds::ZERO,
            })
        };
        let (cold, warm) = (at(a.min(b)), at(a.max(b)));
        let times = [
            run(RunTemperature::Steady(cold)),
            run(RunTemperature::FromTo(cold, warm)),
            run(RunTemperature::Steady(warm)),
        ];
        if let [Ok(cold), Ok(between), Ok(warm)] = times {
            prop_assert!(cold.time >= between.time && between.time >= warm.time);
        }
    }

    #[test]
    fn a_working_multiplies_out(k in 1.0..4.0_f64, degrees in 18.0..24.0_f64, stops in -1.0..2.0_f64, step in 0..60u32) {
        let one = OneTime {
            time: secs(900), at: at(20.0),
            coefficient: Coefficient::own(k).unwrap(), band: Band::usual(),
        };
        let basis = TimeBasis::OneTime(one);
        let push = Some(Push { stops: Stops::new(stops).unwrap(), by: PushFactor::Estimate });
        let ours = developing_time(&Development {
            basis: &basis, temperature: RunTemperature::Steady(at(degrees)), push, re_use: None,
            agitation: None, volume: ml(0.0), step: secs(step),
        }).unwrap();
        let mut seconds = ours.recipe_time.real();
        for step in &ours.steps {
            prop_assert!((step.before_s - seconds).abs() < 1e-6);
            seconds *= step.factor;
            prop_assert!((step.after_s - seconds).abs() < 1e-6);
        }
        prop_assert!((seconds - ours.time.real()).abs() <= 0.5 + 1e-6);
    }

    #[test]
    fn cues_are_in_order_and_never_overlap(first in 0..120u32, then in 1..60u32, every in 60..300u32, time in 0..4000u32) {
        let scheme = AgitationScheme::regular(secs(first), secs(then), secs(every)).unwrap();
        let table = timetable(scheme, secs(time));
        let out = table.cues.last().unwrap();
        prop_assert_eq!(out.action, Action::PourOut);
        let mut free_from = 0;
        for cue in &table.cues {
            if let Action::Move(moving) = cue.action {
                prop_assert!(cue.at.get() >= free_from);
                free_from = cue.at.get() + moving.get();
            }
            prop_assert!(cue.at <= out.at);
        }
        prop_assert!(free_from <= out.at.get());
    }

    #[test]
    fn use_never_makes_a_bath_better(film in prop::collection::vec(0.0..3.0_f64, 0..20), age in 0..80u8) {
        let mut bath = FixerBath {
            label: String::from("fixer"), mixed: ml(1500.0), capacity: FixerCapacity::acid(),
            age: Days::of(age), events: vec![],
        };
        let mut before = bath.state();
        for amount in film {
            bath.events.push(FixerEvent::Use(FixerUse::of(rolls(amount))));
            let after = bath.state();
            prop_assert!(after.standing >= before.standing);
            prop_assert!(after.capacity.remaining <= before.capacity.remaining);
            prop_assert!(after.volume_left <= before.volume_left);
            before = after;
        }
    }

    #[test]
    fn replenishing_moves_no_liquid_from_nowhere(per_roll in 0.0..60.0_f64, film in 0.0..20.0_f64, missing in 0.0..300.0_f64) {
        let mark = ml(2000.0);
        let holds = mark.less(ml(missing));
        if let Ok(r) = replenish(ml(per_roll), rolls(film), holds, mark) {
            prop_assert_eq!(r.put_back + r.discard, r.take_out);
            let now = holds.less(r.take_out) + r.replenisher + r.put_back;
            prop_assert_eq!(now + r.lacks, mark);
        }
    }
}

//! Dilution, percentages, parts, temperatures, powders.

use super::*;
use crate::chemistry::*;

#[test]
fn one_plus_n_is_taken_apart() {
    let cases = [
        (1000.0, 9.0, 100.0, 900.0, "DIL-23, arithmetic"),
        (500.0, 4.0, 100.0, 400.0, "DIL-23, arithmetic"),
        (600.0, 31.0, 18.75, 581.25, "DIL-23, arithmetic"),
        (8.0, 3.0, 2.0, 6.0, "DIL-10, Fontbonne University (in oz)"),
        (96.0, 2.0, 32.0, 64.0, "DIL-11, Practical Photography §§505-506 (in oz)"),
        (16.0, 1.0, 8.0, 8.0, "DIL-12, Practical Photography ch. XVIII part 4 (in oz)"),
        (485.0, 32.0, 14.697, 470.303, "common practice, no source"),
        (500.0, 0.0, 500.0, 0.0, "1+0 is used as it is"),
    ];
    for (total, n, concentrate, water, source) in cases {
        let parts = split(ml(total), Dilution::new(n).unwrap());
        assert_eq!(parts, Split { concentrate: ml(concentrate), water: ml(water) }, "{source}");
        assert_eq!(parts.total(), ml(total), "{source}");
    }
}

#[test]
fn concentrate_goes_as_far_as_its_dilution() {
    let made = from_concentrate(ml(9.5), Dilution::one_plus(31)).unwrap();
    assert_eq!((made.water, made.total()), (ml(294.5), ml(304.0)));
    let error = from_concentrate(Millilitres::GREATEST, Dilution::one_plus(31)).unwrap_err();
    assert!(error.to_string().starts_with("water: "), "{error}");
}

#[test]
fn one_strength_from_another() {
    let ounces = |n| Millilitres::from_fluid_ounces(n).unwrap();
    // DIL-1 and DIL-2, Army SS0513 p. SS05130024: 32 oz of 28 % from 99.5 % is 9.0 oz
    // and 23 oz (exactly 9.005).
    let parts = percent_to_percent(ounces(32.0), percent(28.0), percent(99.5)).unwrap();
    near(parts.concentrate.fluid_ounces(), 9.005, 0.0005);
    near(parts.water.fluid_ounces(), 23.0, 0.01);
    // DIL-13, Army SS0514 p. SS05140051: 3 % of 128 fl oz is 3.84 fl oz.
    near(percent_of(ounces(128.0), percent(3.0)).fluid_ounces(), 3.84, 0.0001);
    // DIL-5 and DIL-7, Anchell 2008 p. 170: 3 + 8 parts of 99.5 % is 27.1 % by volume.
    let three_of_eleven = percent_to_percent(ml(550.0), percent(27.136), percent(99.5)).unwrap();
    near(three_of_eleven.concentrate.ml(), 150.0, 0.01);
    let error = percent_to_percent(ml(100.0), percent(30.0), percent(28.0)).unwrap_err();
    assert_eq!(
        error.to_string().replace('\u{202F}', " "),
        "strength wanted: 30 % cannot be made from 28 %; give 0 % to 28 %"
    );
}

#[test]
fn the_cross_rule() {
    // DIL-8, jbhphoto.com, 17 June 2013: 28 % to 1 % is 1 part and 27 parts of water.
    let cross = alligation(percent(28.0), percent(0.0), percent(1.0)).unwrap();
    assert_eq!((cross.stronger_parts, cross.weaker_parts), (1, 27));
    let volumes = cross.volumes(ml(1400.0));
    assert_eq!((volumes.stronger, volumes.weaker), (ml(50.0), ml(1350.0)));
    // arithmetic: 28 % and 10 % to 16 %, in either order
    let cross = alligation(percent(10.0), percent(28.0), percent(16.0)).unwrap();
    assert_eq!((cross.stronger_parts, cross.weaker_parts), (1, 2));
    assert!(alligation(percent(10.0), percent(28.0), percent(30.0)).is_err());
    assert!(alligation(percent(10.0), percent(10.0), percent(10.0)).is_err());
}

#[test]
fn stock_first_and_working_solution_then() {
    // DIL-11, Practical Photography §§505-506: 32 oz of stock and 64 oz of water are 96 oz.
    let two = TwoStep { stock: Dilution::one_plus(3), working: Dilution::one_plus(2) };
    let amounts = two.amounts(ml(96.0));
    assert_eq!((amounts.working.concentrate, amounts.working.water), (ml(32.0), ml(64.0)));
    assert_eq!((amounts.stock.concentrate, amounts.stock.water), (ml(8.0), ml(24.0)));
    assert_eq!(two.overall().unwrap(), Dilution::one_plus(11));
    // The same source: 80 grains in 96 oz are 5/6 grain an ounce. DIL-12: 20 in 16 are 1.25.
    near(80.0 / amounts.working.total().ml(), 5.0 / 6.0, 1e-9);
    near(20.0 / from_concentrate(ml(8.0), Dilution::one_plus(1)).unwrap().total().ml(), 1.25, 1e-9);
    let thin = Dilution::one_plus(10_000);
    assert!(TwoStep { stock: thin, working: thin }.overall().is_err());
}

#[test]
fn named_parts_add_up() {
    let part = |name: &str, parts| Part::new(name, parts).unwrap();
    let parts = Parts::new(vec![part("A", 1.0), part("B", 1.0), part("water", 98.0)]).unwrap();
    let volumes = parts.divide(ml(300.0));
    assert_eq!(volumes.iter().map(|v| v.volume.ml()).collect::<Vec<_>>(), [3.0, 3.0, 294.0]);
    assert!(Parts::new(vec![]).is_err());
    assert!(Part::new("A", 0.0).is_err());
    assert!(Part::new("A", f64::NAN).is_err());
}

#[test]
fn hot_and_cold_water() {
    // DIL-15, math.techqa.club Q 2630465: 25 l at 60 °C of 10 °C and 100 °C: 11.11 l cold.
    let mix = hot_and_cold(ml(25_000.0), at(10.0), at(100.0), at(60.0)).unwrap();
    near(mix.cold.litres(), 11.11, 0.005);
    near(mix.hot.litres(), 13.89, 0.005);
    // DIL-14, mirrorinfo.online: T = (T1·V1 + T2·V2) / (V1 + V2).
    let back = mixed_temperature(&[(mix.cold, at(10.0)), (mix.hot, at(100.0))]).unwrap();
    near(back.degrees(), 60.0, 0.001);
    let error = hot_and_cold(ml(1.0), at(10.0), at(40.0), at(41.0)).unwrap_err();
    assert!(error.to_string().contains("10.0"), "{error}");
    assert!(mixed_temperature(&[]).is_err());
    assert!(mixed_temperature(&[(ml(0.0), at(20.0))]).is_err());
}

#[test]
fn water_brings_stock_to_working_temperature() {
    // arithmetic on DIL-14: stock at 25 °C, 1+1, wanted 20 °C: water of 15 °C
    let one_to_one = split(ml(600.0), Dilution::one_plus(1));
    let water = water_temperature(one_to_one, at(25.0), at(20.0)).unwrap();
    assert_eq!((water.temperature, water.warning), (at(15.0), None));
    let as_it_is = split(ml(600.0), Dilution::UNDILUTED);
    assert!(water_temperature(as_it_is, at(25.0), at(20.0)).is_err());
    // 1+1 of stock at 60 °C would need water of -20 °C
    assert!(water_temperature(one_to_one, at(60.0), at(20.0)).is_err());
    let hot = water_temperature(one_to_one, at(5.0), at(30.0)).unwrap();
    assert_eq!(hot.warning, Some(Warning::ScaldingWater(at(55.0))));
}

#[test]
fn water_for_mixing_powders() {
    // DIL-17, NAVEDTRA 14209 ph209175: developers 90-125 °F, fixers not above 80 °F.
    let cases = [
        (Mixing::Developer, 32.0, true),
        (Mixing::Developer, 52.0, true),
        (Mixing::Developer, 31.9, false),
        (Mixing::Developer, 52.1, false),
        (Mixing::Fixer, 27.0, true),
        (Mixing::Fixer, 5.0, true),
        (Mixing::Fixer, 27.1, false),
    ];
    for (mixing, degrees, right) in cases {
        assert_eq!(check_mixing_water(mixing, at(degrees)).is_none(), right, "{degrees}");
    }
    near(fahrenheit(90.0).degrees(), 32.0, 0.3);
    near(fahrenheit(125.0).degrees(), 52.0, 0.4);
    near(fahrenheit(80.0).degrees(), 27.0, 0.4);
}

#[test]
fn powders_are_made_up_to_a_volume() {
    let grams = |g| Grams::new(g).unwrap();
    // DIL-3 and trap 5, Army SS0513 p. SS05130024: 10 % is 1 in 10 made up, not 1 + 10.
    assert_eq!(solid_for_percent(ml(1000.0), percent(10.0)), grams(100.0));
    // DIL-16, NAVEDTRA 14209 ph209175: begin with half to three quarters.
    let up = make_up(ml(1000.0));
    assert_eq!((up.start_from, up.start_to, up.fill_up_to), (ml(500.0), ml(750.0), ml(1000.0)));
    // DIL-19, Anchell 2008 p. 268; with DIL-21, fotolaborinfo.de, 240 g of crystals.
    assert_eq!(anhydrous_hypo(grams(240.0)), grams(153.6));
    // DIL-20, German photographic handbook p. 301, D-76 type: 2, 100, 5 and 2 g a litre.
    let sulfite = weigh_out(grams(100.0), ml(3800.0)).unwrap();
    assert_eq!(sulfite, grams(380.0));
    assert_eq!(weigh_out(grams(2.0), ml(500.0)).unwrap(), grams(1.0));
    assert_eq!(volume_from_packet(grams(380.0), grams(100.0)).unwrap(), ml(3800.0));
    assert!(volume_from_packet(grams(380.0), Grams::ZERO).is_err());
}

#[test]
fn cautions_say_where_they_come_from() {
    for caution in caution::WHEN_MIXING.iter().chain(&caution::WHEN_EMPTYING) {
        assert!(caution.to_string().ends_with('.'));
        assert!(!caution.source().to_string().is_empty());
    }
    // DIL-18, Army SS0509 p. Ss050980011.
    assert_eq!(Caution::ChemicalIntoWater.source().row, "DIL-18");
    assert!(Caution::CollectDoNotPour.to_string().starts_with("Collect, do not pour"));
}

#[test]
fn the_iodide_test_by_volumes() {
    // FIX-14, Anchell 2008 p. 108: 10.0 ml of 4 to 5 % iodide to 100.0 ml of fixer; what it comes
    // to in the mixture is arithmetic. The other way round: that strength needs those 10 ml.
    let whole = ml(110.0);
    for (stock, mixed) in [(4.0, 0.3636), (5.0, 0.4545)] {
        let parts = percent_to_percent(whole, percent(mixed), percent(stock)).unwrap();
        near(parts.concentrate.ml(), 10.0, 0.02);
        near(percent_of(whole, percent(mixed)).ml(), 10.0 * stock / 100.0, 0.002);
    }
}

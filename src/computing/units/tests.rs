//! Checks of the quantities through their public face.

use proptest::prelude::*;

use super::*;

const THIN: char = '\u{202F}';

#[test]
fn people_read_quantities_with_a_thin_space() {
    let cases = [
        (Millilitres::new(9.5).unwrap().to_string(), "9.5_ml"),
        (Millilitres::new(300.0).unwrap().to_string(), "300_ml"),
        (Millilitres::new(0.04).unwrap().to_string(), "0_ml"),
        (format!("{:#}", Millilitres::new(18.75).unwrap()), "18.75_ml"),
        (Celsius::new(20.0).unwrap().to_string(), "20.0_°C"),
        (Celsius::new(-0.04).unwrap().to_string(), "0.0_°C"),
        (Seconds::of(495).to_string(), "8:15_min"),
        (Seconds::of(45).to_string(), "0:45_min"),
        (Seconds::of(3900).to_string(), "1:05:00_h"),
        (RollEquivalents::of(1).to_string(), "1_roll's worth"),
        (RollEquivalents::new(2.25).unwrap().to_string(), "2.25_rolls' worth"),
        (Dilution::one_plus(31).to_string(), "1+31"),
        (Dilution::new(2.5).unwrap().to_string(), "1+2.5"),
        (Percent::new(99.5).unwrap().to_string(), "99.5_%"),
        (Grams::new(0.09).unwrap().to_string(), "0.09_g"),
        (Days::of(1).to_string(), "1_day"),
        (Millilitres::of(300).in_words(Measures::Us), "10.14_fl_oz"),
        (Celsius::new(20.0).unwrap().in_words(Measures::Us), "68.0_°F"),
        (RollEquivalents::of(1).area().in_words(Measures::Us), "80_in²"),
        (RollEquivalents::of(1).area().to_string(), "516.1_cm²"),
        (Stops::new(1.0).unwrap().to_string(), "+1"),
    ];
    for (ours, wanted) in cases {
        assert_eq!(ours.replace(THIN, "_"), wanted);
    }
}

#[test]
fn an_error_names_quantity_value_and_range() {
    let error = Millilitres::new(-3.0).unwrap_err().named("minimum per roll");
    assert_eq!(
        error.to_string(),
        "minimum per roll: -3 ml is not possible; give 0 to 1,000,000,000 ml"
    );
    let error = Celsius::from_fahrenheit(500.0).unwrap_err();
    assert_eq!(error.to_string(), "temperature: 500 °F is not possible; give -22 to 230 °F");
    assert_eq!(Percent::new(f64::NAN).unwrap_err().value(), "NaN %");
}

#[test]
fn a_colon_is_not_a_dilution() {
    for text in ["1:3", "2+3", "1+", "1+-1", "+3", "", "1+nan", "1+inf", "1+1e9"] {
        assert!(text.parse::<Dilution>().is_err(), "{text}");
    }
    assert_eq!("1 + 31".parse::<Dilution>().unwrap(), Dilution::one_plus(31));
}

#[test]
fn json_is_plain_numbers_and_a_dilution_is_text() {
    assert_eq!(serde_json::to_string(&Millilitres::new(9.5).unwrap()).unwrap(), "9.5");
    assert_eq!(serde_json::to_string(&Seconds::of(480)).unwrap(), "480");
    assert_eq!(serde_json::to_string(&Dilution::one_plus(9)).unwrap(), "\"1+9\"");
    assert!(serde_json::from_str::<Millilitres>("-1").is_err());
    assert!(serde_json::from_str::<Percent>("101").is_err());
    assert_eq!(serde_json::from_str::<Dilution>("\"1+4\"").unwrap(), Dilution::one_plus(4));
}

#[test]
fn fahrenheit_agrees_with_published_pairs() {
    // TT-3, NAVEDTRA 14209 p. 10-15: 68 °F is 20 °C.
    assert_eq!(Celsius::from_fahrenheit(68.0).unwrap(), Celsius::new(20.0).unwrap());
    // WASH-17, photographytips.com p. 4891: 60-75 °F is 15.6-23.9 °C.
    assert_eq!(format!("{:.1}", Celsius::from_fahrenheit(60.0).unwrap().degrees()), "15.6");
    assert_eq!(format!("{:.1}", Celsius::from_fahrenheit(75.0).unwrap().degrees()), "23.9");
    // DRY-2 with the slip named in trap 8, Army SS0573 p. SS05730027: 125 °F is 51.7 °C.
    assert_eq!(format!("{:.1}", Celsius::from_fahrenheit(125.0).unwrap().degrees()), "51.7");
}

#[test]
fn stops_between_speeds() {
    let stops = |iso, ei| FilmSpeed::new(iso).unwrap().stops_to(FilmSpeed::new(ei).unwrap()).get();
    // SPD-6, arithmetic on SPD-1, Army SS0507 p. SS05070039.
    assert!((stops(400, 800) - 1.0).abs() < 1e-12);
    assert!((stops(400, 1600) - 2.0).abs() < 1e-12);
    assert!((stops(400, 250) + 0.68).abs() < 0.005);
    // SPD-2, Britannica "DIN system": 100/21°, 200/24°.
    assert_eq!(FilmSpeed::new(100).unwrap().degrees().round(), 21.0);
    assert_eq!(FilmSpeed::new(200).unwrap().degrees().round(), 24.0);
    // SPD-5, from memory: the third-stop series is 15° to 36° by ones.
    let series = [
        25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600,
        2000, 2500, 3200,
    ];
    for (speed, degrees) in series.into_iter().zip(15..) {
        assert_eq!(FilmSpeed::new(speed).unwrap().degrees().round(), f64::from(degrees));
    }
}

proptest! {
    #[test]
    fn no_number_makes_a_constructor_panic(bits in any::<u64>(), n in any::<u32>(), s in ".*") {
        let x = f64::from_bits(bits);
        let texts = [
            Millilitres::new(x).map(|v| format!("{v}{v:#}{}", v.in_words(Measures::Us))),
            Millilitres::from_fluid_ounces(x).map(|v| v.to_string()),
            Millilitres::from_litres(x).map(|v| v.to_string()),
            Celsius::new(x).map(|v| format!("{v}{}", v.in_words(Measures::Us))),
            Celsius::from_fahrenheit(x).map(|v| v.to_string()),
            Seconds::nearest(x).map(|v| v.to_string()),
            Seconds::new(n).map(|v| v.to_string()),
            Days::new(n).map(|v| v.to_string()),
            Grams::new(x).map(|v| format!("{v}{}", v.in_words(Measures::Us))),
            Area::new(x).map(|v| format!("{v}{}", v.in_words(Measures::Us))),
            Area::from_square_inches(x).map(|v| v.to_string()),
            Area::rectangle_mm(x, x).map(|v| v.to_string()),
            RollEquivalents::new(x).map(|v| v.to_string()),
            RollBalance::try_from(x).map(|v| v.to_string()),
            RollsPerLitre::new(x).map(|v| v.to_string()),
            Dilution::new(x).map(|v| v.to_string()),
            s.parse::<Dilution>().map(|v| v.to_string()),
            Percent::new(x).map(|v| v.to_string()),
            Factor::new(x).map(|v| v.to_string()),
            Stops::new(x).map(|v| v.to_string()),
            FilmSpeed::new(n).map(|v| v.to_string()),
        ];
        for text in texts {
            prop_assert!(!text.unwrap_or_else(|e| e.to_string()).is_empty());
        }
    }

    #[test]
    fn what_is_stored_reads_back(ml in 0.0..1e6_f64, c in -30.0..110.0_f64, n in 0.0..1e4_f64) {
        let volume = Millilitres::new(ml).unwrap();
        prop_assert!((volume.ml() - ml).abs() <= 0.0005);
        prop_assert_eq!(Millilitres::new(volume.ml()).unwrap(), volume);
        prop_assert_eq!(Millilitres::from_microlitres(volume.microlitres()).unwrap(), volume);
        let temperature = Celsius::new(c).unwrap();
        prop_assert_eq!(Celsius::from_fahrenheit(temperature.fahrenheit()).unwrap(), temperature);
        let dilution = Dilution::new(n).unwrap();
        prop_assert_eq!(dilution.to_string().parse::<Dilution>().unwrap(), dilution);
        let json = serde_json::to_string(&volume).unwrap();
        prop_assert_eq!(serde_json::from_str::<Millilitres>(&json).unwrap(), volume);
    }

    #[test]
    fn sums_never_overflow(a in any::<u64>(), b in any::<u64>(), n in any::<u32>()) {
        let a = Millilitres::from_microlitres(a % 1_000_000_000_001).unwrap();
        let b = Millilitres::from_microlitres(b % 1_000_000_000_001).unwrap();
        prop_assert!(a + b >= a.max(b));
        prop_assert!(a.less(b) <= a);
        prop_assert!(a.times(n.max(1)) >= a);
        prop_assert!(a.rounded_up_to(b) >= a || a.rounded_up_to(b) == Millilitres::from_microlitres(1_000_000_000_000).unwrap());
    }
}

//! The volume of a loaded tank and what can be measured.

use super::*;
use crate::chemistry::*;

fn tank() -> TankVolumes {
    let fill = |base, min, max| {
        Fill::new(FillFigures { base_ml: ml(base), min_ml: ml(min), max_ml: ml(max) }).unwrap()
    };
    TankVolumes {
        inversion: Some(fill(10.0, 300.0, 1250.0)),
        rotary: Some(fill(0.0, 140.0, 600.0)),
    }
}

fn reels(cover: f64, rotary: f64, count: u16, film: f64) -> LoadedReels {
    let reel = ReelVolumes { inversion: Some(ml(cover)), rotary: Some(ml(rotary)) };
    LoadedReels { reel, reels: count, film: rolls(film) }
}

fn developer(n: u16, minimum: f64) -> DeveloperUse {
    DeveloperUse { dilution: Dilution::one_plus(n), minimum_per_roll: ml(minimum) }
}

#[test]
fn the_volume_says_what_decided_it() {
    let cases = [
        // reels, 1+n, minimum, method, volume, decided by
        (vec![reels(290.0, 100.0, 1, 1.0)], 31, 6.0, Method::Inversion, 300.0, Decider::ToCover),
        (
            vec![reels(200.0, 100.0, 1, 1.0)],
            31,
            6.0,
            Method::Inversion,
            300.0,
            Decider::TankMinimum,
        ),
        (
            vec![reels(290.0, 100.0, 1, 1.0)],
            31,
            10.0,
            Method::Inversion,
            320.0,
            Decider::MinimumPerRoll,
        ),
        (
            vec![reels(290.0, 100.0, 2, 2.0), reels(500.0, 200.0, 1, 1.0)],
            9,
            6.0,
            Method::Inversion,
            1090.0,
            Decider::ToCover,
        ),
        (
            vec![reels(290.0, 100.0, 2, 2.0)],
            31,
            6.0,
            Method::Rotary,
            384.0,
            Decider::MinimumPerRoll,
        ),
        (vec![reels(290.0, 100.0, 1, 1.0)], 0, 100.0, Method::Rotary, 140.0, Decider::TankMinimum),
    ];
    for (loaded, n, minimum, method, volume, decided_by) in cases {
        let tank = tank();
        let loaded = LoadedTank { tank: &tank, reels: &loaded, method };
        let need = loaded.developer(&developer(n, minimum)).unwrap();
        assert_eq!((need.volume, need.decided_by), (ml(volume), decided_by));
    }
}

#[test]
fn a_tank_that_is_too_small_says_why() {
    let tank = tank();
    let four = [reels(290.0, 100.0, 4, 4.0)];
    let loaded = LoadedTank { tank: &tank, reels: &four, method: Method::Inversion };
    let error = loaded.developer(&developer(31, 12.0)).unwrap_err().to_string();
    let wanted = "developer volume: 1536 ml is needed (for the minimum of concentrate per roll), \
                  but the tank takes at most 1250 ml; load fewer rolls or choose a larger tank";
    assert_eq!(error.replace('\u{202F}', " "), wanted);
    let none = LoadedTank { tank: &tank, reels: &[], method: Method::Inversion };
    assert_eq!(none.developer(&developer(1, 1.0)), Err(Refusal::Missing("a loaded reel")));
    let upright = TankVolumes { rotary: None, ..tank };
    let loaded = LoadedTank { tank: &upright, reels: &four, method: Method::Rotary };
    assert_eq!(loaded.other_bath(), Err(Refusal::NotForThisMethod(Method::Rotary)));
}

#[test]
fn a_shared_bath_is_poured_in_steps_of_five() {
    let tank = tank();
    let one = [reels(293.0, 100.0, 1, 1.0)];
    let loaded = LoadedTank { tank: &tank, reels: &one, method: Method::Inversion };
    assert_eq!(loaded.from_bottle(ml(1000.0)).unwrap().volume, ml(305.0));
    assert!(loaded.from_bottle(ml(290.0)).is_err());
}

fn need(volume: f64, maximum: f64) -> Need {
    Need {
        volume: ml(volume),
        decided_by: Decider::ToCover,
        to_cover: ml(volume),
        tank_minimum: ml(0.0),
        for_the_rolls: ml(0.0),
        maximum: ml(maximum),
    }
}

#[test]
fn the_friendly_volume_is_whole_steps_of_a_tool() {
    let cases = [
        // need, maximum, 1+n, concentrate, total, exactly (hand-worked)
        (300.0, 1250.0, 31, 9.5, 304.0, false),
        (300.0, 303.0, 31, 9.375, 300.0, true),
        // 20.3 ml needs the cylinder of 100 ml, whose step is 1 ml
        (650.0, 1250.0, 31, 21.0, 672.0, false),
        (1090.0, 1250.0, 9, 110.0, 1100.0, false),
        (1090.0, 1095.0, 9, 109.0, 1090.0, true),
        (301.0, 1250.0, 0, 305.0, 305.0, false),
        (304.0, 1250.0, 31, 9.5, 304.0, false),
    ];
    for (needed, maximum, n, concentrate, total, exactly) in cases {
        let ready = friendly(&need(needed, maximum), Dilution::one_plus(n), &Measuring::usual());
        let ours = (ready.split.concentrate, ready.split.total(), ready.measure_exactly);
        assert_eq!(ours, (ml(concentrate), ml(total), exactly), "{needed} at 1+{n}");
    }
}

#[test]
fn named_parts_and_baths_in_turn_are_measured() {
    let part = |name: &str, parts| Part::new(name, parts).unwrap();
    let parts = Parts::new(vec![part("A", 1.0), part("B", 2.0), part("water", 97.0)]).unwrap();
    let measured = Preparation::Mixed(parts).measure(&need(310.0, 1250.0), &Measuring::usual());
    let volumes: Vec<f64> = measured.volumes.iter().map(|v| v.volume.ml()).collect();
    assert_eq!((volumes, measured.measure_exactly), (vec![3.5, 7.0, 339.5], false));

    let baths = Preparation::OneAfterAnother(vec!["A".to_string(), "B".to_string()]);
    let measured = baths.measure(&need(302.0, 1250.0), &Measuring::usual());
    assert!(measured.volumes.iter().all(|v| v.volume == ml(305.0)));

    let stock = Preparation::Diluted { name: "stock".to_string(), dilution: Dilution::UNDILUTED };
    let measured = stock.measure(&need(300.0, 1250.0), &Measuring::usual());
    assert_eq!(measured.volumes.len(), 1, "1+0 lists no water");
}

#[test]
fn a_tool_must_end_on_a_mark() {
    let tool = |up_to, step| Tool { up_to: ml(up_to), step: ml(step) };
    assert!(Measuring::new(vec![]).is_err());
    assert!(Measuring::new(vec![tool(20.0, 0.0)]).is_err());
    let error = Measuring::new(vec![tool(20.0, 3.0)]).unwrap_err().to_string();
    assert!(error.contains("multiple of a step"), "{error}");
    let read: Measuring = serde_json::from_str(
        r#"[{"up_to_ml": 100, "step_ml": 1}, {"up_to_ml": 20, "step_ml": 0.5}]"#,
    )
    .unwrap();
    assert_eq!(read.step_for(ml(20.0)), ml(0.5));
    assert_eq!(read.step_for(ml(20.1)), ml(1.0));
    assert_eq!(read.step_for(ml(500.0)), ml(1.0));
}

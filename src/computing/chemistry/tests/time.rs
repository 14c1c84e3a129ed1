//! Developing times.

use super::*;
use crate::chemistry::developing_time::*;
use crate::chemistry::{AgitationScheme, Refusal, Warning, defaults};

/// Chart 2a, WAC 246-225-150(1)(a) and N.D. Admin. Code 33.1-10-06 App. D, all 21 points:
/// an oracle for reading a table, never advice for pictorial film.
const CHART: [(f64, u32); 21] = [
    (80.0, 120),
    (79.0, 120),
    (78.0, 150),
    (77.0, 150),
    (76.0, 180),
    (75.0, 180),
    (74.0, 210),
    (73.0, 210),
    (72.0, 240),
    (71.0, 240),
    (70.0, 270),
    (69.0, 270),
    (68.0, 300),
    (67.0, 330),
    (66.0, 330),
    (65.0, 360),
    (64.0, 390),
    (63.0, 420),
    (62.0, 480),
    (61.0, 510),
    (60.0, 570),
];

fn chart() -> TimeTable {
    let row = |(f, time): (f64, u32)| TableRow { at: fahrenheit(f), time: secs(time) };
    TimeTable::new(CHART.map(row).to_vec()).unwrap()
}

fn one_time(time: u32, degrees: f64, coefficient: Coefficient) -> TimeBasis {
    TimeBasis::OneTime(OneTime {
        time: secs(time),
        at: at(degrees),
        coefficient,
        band: Band::usual(),
    })
}

fn steady<'a>(basis: &'a TimeBasis, degrees: f64) -> Development<'a> {
    Development {
        basis,
        temperature: RunTemperature::Steady(at(degrees)),
        push: None,
        re_use: None,
        agitation: None,
        volume: ml(300.0),
        step: Seconds::ZERO,
    }
}

fn own(factor: f64) -> Coefficient {
    Coefficient::own(factor).unwrap()
}

#[test]
fn a_table_is_read_exactly_and_between_in_log_time() {
    let table = chart();
    for (f, time) in CHART {
        near(table.time_at(fahrenheit(f)).unwrap(), f64::from(time), 0.01);
    }
    // half way between 60 °F and 61 °F: the geometric mean
    near(table.time_at(fahrenheit(60.5)).unwrap(), (570.0f64 * 510.0).sqrt(), 0.1);
    assert!(matches!(table.time_at(fahrenheit(59.9)), Err(Refusal::OutsideBand { .. })));
    assert!(matches!(table.time_at(fahrenheit(80.1)), Err(Refusal::OutsideBand { .. })));
}

#[test]
fn the_published_temperature_coefficients() {
    let pair = |(f1, t1): (f64, u32), (f2, t2): (f64, u32)| {
        Coefficient::from_two_times((fahrenheit(f1), secs(t1)), (fahrenheit(f2), secs(t2)))
            .unwrap()
            .per_ten_degrees()
    };
    // TT-7 and TT-8, Wall, Jahrbuch 24 (1910) p. 44: 70 s at 8 °C and 25 s at 20 °C give
    // 0.037 per degree, a factor of 2.36.
    let wall = Coefficient::from_two_times((at(8.0), secs(70)), (at(20.0), secs(25))).unwrap();
    assert_eq!(format!("{:.3}", wall.log_per_degree()), "0.037");
    near(wall.per_ten_degrees(), 2.36, 0.005);
    near(Coefficient::estimate().per_ten_degrees(), 2.36, 1e-9);
    // TT-11, arithmetic on chart 2a: the factor differs with the interval.
    near(pair((60.0, 570), (80.0, 120)), 4.07, 0.01);
    near(pair((65.0, 360), (75.0, 180)), 3.48, 0.01);
    near(pair((64.0, 390), (72.0, 240)), 2.98, 0.01);
    near(pair((66.0, 330), (70.0, 270)), 2.47, 0.01);
    // TT-12, arithmetic on TT-1 (T.O. 33B-1-1 table 6-16): 6 min at 63 °F, 3¼ at 80 °F.
    near(pair((63.0, 360), (80.0, 195)), 1.91, 0.01);
    // TT-10, roybijster.nl (secondary): 2 is a rule of thumb, so 10 °C warmer is half.
    near(own(2.0).log_per_degree() * 10.0, 2f64.log10(), 1e-12);
    assert!(Coefficient::own(0.9).is_err());
    assert!(Coefficient::own(f64::NAN).is_err());
    assert!(Coefficient::from_two_times((at(20.0), secs(5)), (at(20.0), secs(5))).is_err());
}

#[test]
fn a_coefficient_shows_its_working() {
    let basis = one_time(480, 20.0, own(2.5));
    let ours = developing_time(&steady(&basis, 22.0)).unwrap();
    // arithmetic: 480 × 2.5^-0.2 = 399.6
    assert_eq!(ours.time, secs(400));
    let step = &ours.steps[0];
    assert_eq!(step.correction, Correction::Temperature);
    near(step.factor, 2.5f64.powf(-0.2), 1e-9);
    let line = step.to_string();
    assert!(line.starts_with("temperature: 480 s × 0.833 = 400 s, because 2.50^((20.0"), "{line}");
    assert_eq!((ours.estimated_between, ours.warnings), (None, vec![]));
}

#[test]
fn an_estimated_coefficient_says_so() {
    let basis = one_time(600, 20.0, Coefficient::estimate());
    let ours = developing_time(&steady(&basis, 22.0)).unwrap();
    assert_eq!(ours.time, secs(505)); // arithmetic: 600 × 2.36^-0.2 = 505.3
    let (least, most) = ours.estimated_between.unwrap();
    assert!(least < ours.time && ours.time < most);
    let source = defaults::ESTIMATED_COEFFICIENT.source;
    assert_eq!(ours.warnings, vec![Warning::Estimate { what: "temperature correction", source }]);
}

#[test]
fn outside_the_band_is_refused() {
    let basis = one_time(480, 20.0, own(2.5));
    for degrees in [17.9, 24.1, 40.0, -5.0] {
        let error = developing_time(&steady(&basis, degrees)).unwrap_err();
        assert!(matches!(error, Refusal::OutsideBand { what: "developer", .. }), "{degrees}");
    }
    // At the recipe's own temperature there is nothing to correct, whatever it is.
    let warm = one_time(480, 26.0, own(2.5));
    let ours = developing_time(&steady(&warm, 26.0)).unwrap();
    assert_eq!(ours.time, secs(480));
    assert!(matches!(ours.warnings[..], [Warning::UnusualTemperature { .. }]));
}

#[test]
fn a_run_that_cools_takes_longer() {
    let basis = one_time(600, 20.0, own(2.5));
    let run = |from: f64, to: f64| {
        let temperature = RunTemperature::FromTo(at(from), at(to));
        developing_time(&Development { temperature, ..steady(&basis, 20.0) }).unwrap()
    };
    let cooled = run(20.0, 18.0);
    // mean of 2.5^((T - 20)/10) from 18 to 20 °C: (1 - 2.5^-0.2) / (0.2 ln 2.5)
    let rate = (1.0 - 2.5f64.powf(-0.2)) / (0.2 * 2.5f64.ln());
    near(cooled.time.real(), 600.0 / rate, 0.5);
    assert_eq!(cooled.warnings, vec![Warning::Drift { degrees: 2.0 }]);
    assert_eq!(run(18.0, 20.0).time, cooled.time, "either way round");
    let steady_time = developing_time(&steady(&basis, 19.0)).unwrap().time;
    near(cooled.time.real(), steady_time.real(), 1.0);
    assert_eq!(run(20.0, 20.4).warnings, vec![], "within 0.5 °C (TT-6)");
}

#[test]
fn push_and_pull() {
    let basis = one_time(600, 20.0, own(2.5));
    let time = |stops: f64, by| {
        let push = Some(Push { stops: Stops::new(stops).unwrap(), by });
        developing_time(&Development { push, ..steady(&basis, 20.0) })
    };
    let range = |stops| time(stops, PushFactor::Estimate).unwrap().estimated_between.unwrap();
    // SPD-7, Horenstein p. 154 (secondary): +35-50 % and +75-100 %. SPD-8, from memory:
    // -20 to -30 %.
    assert_eq!(range(1.0), (secs(810), secs(900)));
    assert_eq!(range(2.0), (secs(1050), secs(1200)));
    assert_eq!(range(-1.0), (secs(420), secs(480)));
    assert_eq!(time(0.0, PushFactor::Estimate).unwrap().time, secs(600));
    for beyond in [-1.01, 2.01, 20.0, -20.0] {
        assert!(matches!(time(beyond, PushFactor::Estimate), Err(Refusal::NoFigure(_))));
    }
    let factor = |f| Factor::new(f).unwrap();
    assert_eq!(time(1.5, PushFactor::Own(factor(1.6))).unwrap().time, secs(960));
    assert_eq!(time(2.0, PushFactor::PerStop(factor(1.4))).unwrap().time, secs(1176));
    assert!(time(20.0, PushFactor::PerStop(factor(2.0))).is_err());
}

#[test]
fn re_use_grows_the_time() {
    let basis = one_time(600, 20.0, own(2.5));
    let growth = |counted, on| Growth {
        percent: percent(15.0),
        every: rolls(4.0),
        counted,
        on,
        at_most: Some(rolls(16.0)),
    };
    let time = |used: f64, growth| {
        let re_use = Some(ReUse { used: rolls(used), this_run: rolls(1.0), growth });
        developing_time(&Development { re_use, ..steady(&basis, 20.0) })
    };
    // DEV-15, from memory: about 15 % after each 4 rolls (a gallon); DEV-14: 16 a gallon.
    let whole = growth(Counted::WholeSteps, GrowthOn::FirstTime);
    assert_eq!(time(3.9, whole).unwrap().time, secs(600));
    assert_eq!(time(4.0, whole).unwrap().time, secs(690));
    assert_eq!(time(9.0, whole).unwrap().time, secs(780));
    let even = growth(Counted::InProportion, GrowthOn::FirstTime);
    assert_eq!(time(2.0, even).unwrap().time, secs(645));
    let compound = growth(Counted::WholeSteps, GrowthOn::LastTime);
    near(time(8.0, compound).unwrap().time.real(), 600.0 * 1.15 * 1.15, 0.51);
    assert!(matches!(time(15.5, whole), Err(Refusal::NotEnoughCapacity { .. })));
    let never = Growth { every: rolls(0.0), ..whole };
    assert!(time(1.0, never).is_err());
}

#[test]
fn another_agitation() {
    let basis = one_time(600, 20.0, own(2.5));
    let time = |recipe, run, factor| {
        let agitation = Some(AgitationChange { recipe, run, factor });
        developing_time(&Development { agitation, ..steady(&basis, 20.0) })
    };
    let (usual, turned) = (AgitationScheme::usual(), AgitationScheme::five_inversions());
    let rolling = AgitationScheme::Continuous;
    // AGI-9, from memory: continuous cuts 10-15 %.
    let ours = time(usual, rolling, None).unwrap();
    assert_eq!(ours.estimated_between, Some((secs(510), secs(540))));
    assert!(time(rolling, usual, None).unwrap().time > secs(660));
    assert_eq!(time(usual, usual, None).unwrap().steps, vec![]);
    let other = time(usual, turned, None).unwrap();
    assert_eq!((other.time, other.warnings), (secs(600), vec![Warning::AgitationNotCorrected]));
    let stand = "stand".parse().unwrap();
    assert!(matches!(time(usual, stand, None), Err(Refusal::NoFigure(_))));
    let own = Factor::new(3.0).ok();
    assert_eq!(time(usual, stand, own).unwrap().time, secs(1800));
}

#[test]
fn short_times_are_warned_of_and_refused() {
    // AGI-10, from memory: about 5 min; 20 × (10 s + 10 s a litre) is common practice.
    assert_eq!(shortest_time(ml(300.0)).unwrap(), secs(260));
    assert_eq!(shortest_time(ml(1000.0)).unwrap(), secs(400));
    assert!(check_shortest(secs(259), ml(300.0)).is_err());
    assert!(check_shortest(secs(260), ml(300.0)).unwrap().is_some());
    assert_eq!(check_shortest(secs(300), ml(300.0)).unwrap(), None);
    let basis = one_time(200, 20.0, own(2.5));
    let error = developing_time(&steady(&basis, 20.0)).unwrap_err();
    assert_eq!(error, Refusal::TooShort { time: secs(200), shortest: secs(260) });
}

#[test]
fn times_are_given_in_steps() {
    let basis = one_time(475, 20.0, own(2.5));
    let ours = developing_time(&Development { step: secs(15), ..steady(&basis, 20.0) }).unwrap();
    assert_eq!(ours.time, secs(480));
    assert_eq!(ours.steps.last().unwrap().correction, Correction::Rounding);
    assert_eq!(ours.steps.last().unwrap().after_s.round(), 480.0);
}

#[test]
fn a_table_wins_and_a_faulty_one_is_refused() {
    let basis = TimeBasis::Table(chart());
    let ours = developing_time(&steady(&basis, 20.0)).unwrap();
    assert_eq!((ours.time, ours.recipe_time), (secs(300), secs(300)));
    let row = |degrees: f64, time| TableRow { at: at(degrees), time: secs(time) };
    assert!(TimeTable::new(vec![row(20.0, 300)]).is_err());
    assert!(TimeTable::new(vec![row(20.0, 300), row(20.0, 300)]).is_err());
    assert!(TimeTable::new(vec![row(20.0, 300), row(22.0, 310)]).is_err());
    assert!(TimeTable::new(vec![row(20.0, 300), row(22.0, 0)]).is_err());
    let text = serde_json::to_string(&chart()).unwrap();
    assert_eq!(serde_json::from_str::<TimeTable>(&text).unwrap(), chart());
}

#[test]
fn the_alert_is_half_a_degree() {
    // TT-6, international report on aerial film practice p. 43: ±0.5 °C.
    assert!(!needs_correction(at(20.0), at(20.5)));
    assert!(needs_correction(at(20.0), at(20.6)));
    assert!(needs_correction(at(20.0), at(19.4)));
}

//! Film in roll equivalents, and the silver on it.

use super::*;
use crate::chemistry::*;

#[test]
fn formats_count_as_published() {
    // AREA-1, brodie-tyrrell.org wiki: 80 in² = one 135-36 = one 120 = half a 220 =
    // four 4×5 = one 8×10. AREA-3, photrio.com post 2259812: 25 8×10 = 100 4×5.
    let cases = [
        ("135-36", 1, 1.0),
        ("135", 1, 1.0),
        ("135-24", 3, 2.000001),
        ("120", 1, 1.0),
        ("220", 1, 2.0),
        ("4x5", 4, 1.0),
        ("4×5", 100, 25.0),
        ("8x10", 25, 25.0),
        ("5x7", 1, 0.4375),
        ("135-4", 3, 1.000002),
    ];
    for (name, count, wanted) in cases {
        let format: Format = name.parse().unwrap();
        assert_eq!(rolls_of(format, count), rolls(wanted), "{name}");
    }
    for wrong in ["135-0", "135-41", "116", "", "135-"] {
        assert!(wrong.parse::<Format>().is_err(), "{wrong}");
    }
}

#[test]
fn measured_areas_count_by_eighty_square_inches() {
    let inches = |n| Area::from_square_inches(n).unwrap();
    // AREA-2, Anchell 2008 p. 108; AREA-5, arithmetic: 20 in² = 129.0 cm², 80 = 516.1.
    assert_eq!(rolls_of_area(inches(80.0)), rolls(1.0));
    assert_eq!(rolls_of_area(inches(20.0)), rolls(0.25));
    near(inches(20.0).square_centimetres(), 129.0, 0.05);
    near(inches(80.0).square_centimetres(), 516.1, 0.05);
    near(inches(80.0).square_metres(), 0.051_612_8, 1e-9);
    // AREA-3, photrio.com post 2259812: 2000 in² are 25 rolls.
    assert_eq!(rolls_of_area(inches(2000.0)), rolls(25.0));
    // AREA-7, arithmetic on AREA-6: 120 film of 61 × 760 mm and 61 × 840 mm.
    near(Area::rectangle_mm(61.0, 760.0).unwrap().square_inches(), 71.9, 0.06);
    near(Area::rectangle_mm(61.0, 840.0).unwrap().square_inches(), 79.4, 0.06);
    // AREA-10, arithmetic (AREA-9): 36 × 38 mm by 35 mm; the strip of 1.6 m from memory.
    near(Area::rectangle_mm(35.0, 36.0 * 38.0).unwrap().square_inches(), 74.2, 0.06);
    near(Area::rectangle_mm(35.0, 1600.0).unwrap().square_inches(), 86.8, 0.06);
    // FIX-9, atelierelealbe.eu F5 page: 1600-2000 in² are 1.03-1.29 m².
    near(inches(1600.0).square_metres(), 1.03, 0.005);
    near(inches(2000.0).square_metres(), 1.29, 0.005);
}

#[test]
fn silver_is_a_range_with_its_assumptions() {
    // FIX-16 × FIX-24, German radiographic handbook id 340 and memory: 0.09-0.41 g a roll.
    let one = silver(rolls(1.0), SilverAssumptions::usual());
    near(one.least.grams(), 0.09, 0.005);
    near(one.most.grams(), 0.41, 0.005);
    assert!(one.to_string().contains("60"), "{one}");
    let all = (percent(100.0), percent(100.0));
    // FIX-19, arithmetic on FIX-16: 3, 5 and 10 g/m² are 0.155, 0.258 and 0.516 g.
    let low = SilverAssumptions::new((3_000, 5_000), all).unwrap();
    let high = SilverAssumptions::new((5_000, 10_000), all).unwrap();
    near(silver(rolls(1.0), low).least.grams(), 0.155, 0.0005);
    near(silver(rolls(1.0), low).most.grams(), 0.258, 0.0005);
    near(silver(rolls(1.0), high).most.grams(), 0.516, 0.0005);
    // FIX-20, arithmetic on FIX-5 and FIX-16: 20 rolls in 1 l are 3.1, 5.2 or 10.3 g/l.
    let (three, five) = silver(rolls(20.0), low).per_litre(ml(1000.0)).unwrap();
    near(three.grams(), 3.1, 0.05);
    near(five.grams(), 5.2, 0.05);
    let (_, ten) = silver(rolls(20.0), high).per_litre(ml(1000.0)).unwrap();
    near(ten.grams(), 10.3, 0.05);
    // DISP-26, arithmetic on FIX-20 and DISP-1: 3-10 g/l is 600-2000 times 5 mg/l.
    near(three.grams() / 0.005, 620.0, 5.0);
    // FIX-17, German radiographic handbook id 340 (arithmetic only): 1.92 m² × 10 g/m² = 19.2 g.
    let sheets = rolls_of_area(Area::new(19_200.0).unwrap());
    near(silver(sheets, high).most.grams(), 19.2, 0.001);
    assert!(silver(rolls(1.0), low).per_litre(ml(0.0)).is_err());
    assert!(SilverAssumptions::new((5, 4), all).is_err());
}

#[test]
fn estimated_silver_stands_among_what_others_found() {
    // FIX-18, German radiographic handbook id 340 (arithmetic only): 0.3 mg/cm² of paper are 3 g/m².
    let all = (percent(100.0), percent(100.0));
    let paper = SilverAssumptions::new((3_000, 3_000), all).unwrap();
    let metre = rolls_of_area(Area::new(10_000.0).unwrap());
    near(silver(metre, paper).most.grams(), 3.0, 0.001);
    // FIX-21, Weill Cornell Medicine EHS: 5 to 12,000 mg/l. From a bath that saw a tenth of a roll
    // to one at the 20 rolls of FIX-5, Anchell 2008 p. 108.
    let found = |film| {
        let film = silver(rolls(film), SilverAssumptions::usual());
        let (least, most) = film.per_litre(ml(1000.0)).unwrap();
        (least.milligrams(), most.milligrams())
    };
    assert!(found(0.1).0 >= 5 && found(20.0).1 <= 12_000);
    // FIX-23, from memory: a first bath is let go near 5 to 6 g/l, 8 to 10 where it need not last.
    // At three quarters of FIX-5, which is when ours is, the estimate reaches from below to there.
    let (least, most) = found(15.0);
    assert!(least < 5_000 && (5_000..=10_000).contains(&most), "{least} to {most} mg/l");
    // FIX-15, German radiographic handbook id 1686551908/340: copper stays bright below 6 mg/l. One
    // roll in a litre is far above that, so a bright strip cannot excuse a used bath.
    assert!(found(1.0).0 > 6);
    // FIX-24, from memory: 60 to 80 % of the coated silver is dissolved.
    let usual = silver(rolls(1.0), SilverAssumptions::usual()).to_string();
    assert!(usual.contains("60") && usual.contains("80"), "{usual}");
}

#[test]
fn prints_wear_a_bath_by_another_measure() {
    // FIX-10, NAVEDTRA 14209 p. 249: about 200 prints of 8×10 in a US gallon. That is 52.8 times
    // 80 in² a litre, and film's 20 (FIX-5) would be wrong for it: they never share a bath.
    let prints = rolls_of_area(Area::from_square_inches(200.0 * 80.0).unwrap());
    let gallon = Millilitres::from_fluid_ounces(128.0).unwrap();
    near(prints.rolls() / (gallon.ml() / 1000.0), 52.8, 0.05);
    assert!(prints > FixerCapacity::acid().of_volume(gallon));
}

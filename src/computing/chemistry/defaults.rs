//! Every default in one place, each with its row of facts and its source. A lead
//! can change all of them; a page shows [`Setting::source`] beside the figure.
//!
//! What is not here on purpose, because it must be typed from the maker's sheet
//! or the local rule: minimum developer per roll, replenishment, growth of time
//! with re-use, hazard statements, exposure limits, and what may be poured away.

use crate::units::{
    Area, Celsius, Days, Factor, Millilitres, Percent, RollEquivalents, RollsPerLitre, Seconds,
};

use super::source::{Setting, Source};

const NAVY_249: &str = "NAVEDTRA 14209, web p. 249";
const NAVY_250: &str = "NAVEDTRA 14209, web p. 250";
const NAVY_266: &str = "NAVEDTRA 14209, web p. 266";
const NAVY_MIXING: &str = "NAVEDTRA 14209, ph209175";
const COOKBOOK_108: &str = "Anchell 2008, p. 108";
const ARMY_AID: &str = "Army SS0509, web p. Ss050980024";
const ARMY_FIX: &str = "Army SS0509, web p. Ss050980030";
const AIR_FORCE_WASH: &str = "T.O. 33B-1-1, 6.7.10.1";

/// 80 in² of film: one roll equivalent (AREA-1 brodie-tyrrell.org wiki, AREA-2 Anchell 2008 p. 108).
pub const ROLL_EQUIVALENT: Setting<Area> =
    Setting::new(Area::from_units(80 * 64_516), Source::published("AREA-2", COOKBOOK_108));

/// A 127 roll: about 46 × 650 mm, counted as 0.6 (common practice, no source).
pub const FILM_127: Setting<RollEquivalents> =
    Setting::new(RollEquivalents::from_millionths(600_000), Source::PRACTICE);

/// Film fixer, acid: 20 rolls' worth per litre (FIX-5, Anchell 2008 p. 108).
pub const FIXER_ACID: Setting<RollsPerLitre> =
    Setting::new(RollsPerLitre::of(20), Source::published("FIX-5", COOKBOOK_108));

/// Film fixer, alkaline, only if chosen: 25 per litre (FIX-6, Anchell 2008 p. 108).
pub const FIXER_ALKALINE: Setting<RollsPerLitre> =
    Setting::new(RollsPerLitre::of(25), Source::published("FIX-6", COOKBOOK_108));

/// The share of a fixer's capacity that the studio uses: 75 % (common practice, no source).
pub const FIXER_MARGIN: Setting<Percent> = Setting::new(Percent::of(75), Source::PRACTICE);

/// Load of tabular-grain film: × 1.5, two thirds of the capacity (FIX-8, photrio.com post 2259812).
pub const TABULAR_GRAIN: Setting<Factor> =
    Setting::new(Factor::hundredths(150), Source::published("FIX-8", "photrio.com post 2259812"));

/// The cautious load of tabular-grain film: × 2 (FIX-7, brodie-tyrrell.org wiki).
pub const TABULAR_GRAIN_CAUTIOUS: Setting<Factor> =
    Setting::new(Factor::hundredths(200), Source::published("FIX-7", "brodie-tyrrell.org wiki"));

/// Fix for twice the clearing time of that bath (FIX-1, NAVEDTRA 14209 web p. 249).
pub const FIX_FOR_CLEARINGS: Setting<u32> = Setting::new(2, Source::published("FIX-1", NAVY_249));

/// Spent when the clearing time is twice the fresh one (FIX-2, NAVEDTRA 14209 web p. 249).
pub const SPENT_AT_CLEARINGS: Setting<u32> = Setting::new(2, Source::published("FIX-2", NAVY_249));

/// Life of working fixer: two months, counted as 60 days (FIX-13, Anchell 2008 p. 108).
pub const FIXER_LIFE: Setting<Days> =
    Setting::new(Days::of(60), Source::published("FIX-13", COOKBOOK_108));

/// Most promotions of a second bath before both are mixed fresh: 5
/// (rotation FIX-4, NAVEDTRA 14209 web p. 249; the cap is common practice).
pub const MOST_PROMOTIONS: Setting<u8> = Setting::new(5, Source::PRACTICE);

/// The share of a film's load that reaches the second of two baths: 10 %
/// (common practice, no source).
pub const SECOND_BATH_SHARE: Setting<Percent> = Setting::new(Percent::of(10), Source::PRACTICE);

/// Below 20 °C the fixing time doubles for each 10 °C (FIX-11, TM 11-2323 para. 33c).
pub const COLD_FIX_DOUBLING: Setting<u32> =
    Setting::new(10, Source::published("FIX-11", "TM 11-2323, para. 33c"));

/// Warn of capacity or age from this share on: 80 % (common practice, no source).
pub const NEAR_LIMIT: Setting<Percent> = Setting::new(Percent::of(80), Source::PRACTICE);

/// Warn of the clearing time from 1.6 times the fresh one: 80 % of the limit
/// (common practice, no source).
pub const NEAR_CLEARINGS: Setting<Factor> = Setting::new(Factor::hundredths(160), Source::PRACTICE);

/// Fixing agitation: 15 s, then 10 s a minute (FIX-12, Army SS0509 web p. Ss050980030).
pub const FIX_AGITATION: Setting<(Seconds, Seconds, Seconds)> = Setting::new(
    (Seconds::of(15), Seconds::of(10), Seconds::of(60)),
    Source::published("FIX-12", ARMY_FIX),
);

/// Stop bath: 12 rolls' worth per litre (FIX-27, Anchell 2008 p. 268).
pub const STOP_BATH: Setting<RollsPerLitre> =
    Setting::new(RollsPerLitre::of(12), Source::published("FIX-27", "Anchell 2008, p. 268"));

/// Shortest and longest usual stop: 30-60 s (AGI-5, Army SS0509 web p. Ss050980030).
pub const STOP_TIME: Setting<(Seconds, Seconds)> =
    Setting::new((Seconds::of(30), Seconds::of(60)), Source::published("AGI-5", ARMY_FIX));

/// Rinse before the wash aid: 30 s (WASH-5, Army SS0509 web p. Ss050980024).
pub const RINSE: Setting<Seconds> =
    Setting::new(Seconds::of(30), Source::published("WASH-5", ARMY_AID));

/// Time in the wash aid: 2 min (WASH-5, Army SS0509 web p. Ss050980024).
pub const WASH_AID: Setting<Seconds> =
    Setting::new(Seconds::minutes(2), Source::published("WASH-5", ARMY_AID));

/// Wash after a wash aid: 5 min (WASH-5, Army SS0509 web p. Ss050980024).
pub const WASH_WITH_AID: Setting<Seconds> =
    Setting::new(Seconds::minutes(5), Source::published("WASH-5", ARMY_AID));

/// Wash without aid: 20 min (WASH-2, NAVEDTRA 14209 web p. 250).
pub const WASH_WITHOUT_AID: Setting<Seconds> =
    Setting::new(Seconds::minutes(20), Source::published("WASH-2", NAVY_250));

/// Wash after a hardening fixer: 30 min (WASH-4, Army SS0509 web p. Ss050980030).
pub const WASH_AFTER_HARDENER: Setting<Seconds> =
    Setting::new(Seconds::minutes(30), Source::published("WASH-4", ARMY_FIX));

/// Only as the studio's own choice, for non-hardening rapid fixer in brisk water:
/// 10 min (common practice, no source).
pub const WASH_BRISK: Setting<Seconds> = Setting::new(Seconds::minutes(10), Source::PRACTICE);

/// A complete change of water every 3 min (WASH-2, NAVEDTRA 14209 web p. 250).
pub const WASH_CHANGE: Setting<Seconds> =
    Setting::new(Seconds::minutes(3), Source::published("WASH-2", NAVY_250));

/// Warmest wash water: 24 °C (WASH-17, photographytips.com p. 4891: 75 °F).
pub const WASH_WARMEST: Setting<Celsius> = Setting::new(
    Celsius::from_millidegrees(24_000),
    Source::published("WASH-17", "photographytips.com p. 4891"),
);

/// Below 60 °F = 15.6 °C a wash takes three times as long (WASH-7, T.O. 33B-1-1 6.7.10.1).
pub const WASH_COLD_BELOW: Setting<Celsius> =
    Setting::new(Celsius::from_millidegrees(15_600), Source::published("WASH-7", AIR_FORCE_WASH));

/// How much longer a cold wash is (WASH-7, T.O. 33B-1-1 6.7.10.1).
pub const WASH_COLD_TIMES: Setting<u32> =
    Setting::new(3, Source::published("WASH-7", AIR_FORCE_WASH));

/// Below 50 °F = 10 °C washing is not adequate (WASH-7, T.O. 33B-1-1 6.7.10.1).
pub const WASH_COLDEST: Setting<Celsius> =
    Setting::new(Celsius::from_millidegrees(10_000), Source::published("WASH-7", AIR_FORCE_WASH));

/// Warn when the wash differs from the fixer by 8 °C: the gelatin may wrinkle
/// (WASH-9, T.O. 33B-1-1 6.7.10.1: above 15 °F = 8.3 °C).
pub const WASH_STEP: Setting<Celsius> =
    Setting::new(Celsius::from_millidegrees(8_000), Source::published("WASH-9", AIR_FORCE_WASH));

/// Wetting agent: 1 min (DRY-4, Army SS0509 web p. Ss050980024).
pub const WETTING: Setting<Seconds> =
    Setting::new(Seconds::minutes(1), Source::published("DRY-4", ARMY_AID));

/// Agitation: 30 s, then 5 s each minute (AGI-1, NAVEDTRA 14209 web pp. 258, 266).
pub const AGITATION: Setting<(Seconds, Seconds, Seconds)> = Setting::new(
    (Seconds::of(30), Seconds::of(5), Seconds::of(60)),
    Source::published("AGI-1", "NAVEDTRA 14209, web pp. 258 and 266"),
);

/// The other choice: five inversions a minute (AGI-7, idigitalphoto.com dictionary).
pub const INVERSIONS: Setting<(u8, Seconds)> =
    Setting::new((5, Seconds::of(60)), Source::published("AGI-7", "idigitalphoto.com dictionary"));

/// Filling takes at most 20 s (AGI-3, NAVEDTRA 14209 web p. 266).
pub const FILLING: Setting<Seconds> =
    Setting::new(Seconds::of(20), Source::published("AGI-3", NAVY_266));

/// Start pouring out 10 s early (AGI-3, NAVEDTRA 14209 web p. 266).
pub const POUR_OUT_EARLY: Setting<Seconds> =
    Setting::new(Seconds::of(10), Source::published("AGI-3", NAVY_266));

/// Normal temperature: 68 °F = 20 °C (TT-3, NAVEDTRA 14209 p. 10-15).
pub const NORMAL_TEMPERATURE: Setting<Celsius> = Setting::new(
    Celsius::from_millidegrees(20_000),
    Source::published("TT-3", "NAVEDTRA 14209, p. 10-15"),
);

/// Coldest developer a coefficient is good for: 18 °C (TT-4, Army SS0509 web p. Ss050980019).
pub const BAND_LOWEST: Setting<Celsius> = Setting::new(
    Celsius::from_millidegrees(18_000),
    Source::published("TT-4", "Army SS0509, web p. Ss050980019"),
);

/// Warmest developer a coefficient is good for: 24 °C (TT-4, Army SS0509 web p. Ss050980019).
pub const BAND_HIGHEST: Setting<Celsius> = Setting::new(
    Celsius::from_millidegrees(24_000),
    Source::published("TT-4", "Army SS0509, web p. Ss050980019"),
);

/// Correct the time when the temperature is off by more than 0.5 °C (TT-6,
/// international report on aerial film practice, p. 43).
pub const TEMPERATURE_ALERT: Setting<Celsius> = Setting::new(
    Celsius::from_millidegrees(500),
    Source::published("TT-6", "international report on aerial film practice, p. 43"),
);

/// Factor per 10 °C where a developer has none of its own, a marked estimate: 2.36
/// (TT-8, Wall, Jahrbuch für Photographie 24 (1910) p. 44).
pub const ESTIMATED_COEFFICIENT: Setting<Factor> = Setting::new(
    Factor::hundredths(236),
    Source::arithmetic("TT-8", "Wall, Jahrbuch für Photographie 24 (1910), p. 44"),
);

/// The spread of factors per 10 °C that was observed: 1.5 to 4 (TT-10, roybijster.nl, Oct 2018).
pub const COEFFICIENT_SPREAD: Setting<(Factor, Factor)> = Setting::new(
    (Factor::hundredths(150), Factor::FOUR),
    Source::published("TT-10", "roybijster.nl, October 2018"),
);

/// Push by one stop, a marked estimate: × 1.35 to 1.50 (SPD-7, Horenstein, p. 154).
pub const PUSH_ONE: Setting<(Factor, Factor)> = Setting::new(
    (Factor::hundredths(135), Factor::hundredths(150)),
    Source::published("SPD-7", "Horenstein, Black & White Photography, p. 154"),
);

/// Push by two stops, a marked estimate: × 1.75 to 2.00 (SPD-7, Horenstein, p. 154).
pub const PUSH_TWO: Setting<(Factor, Factor)> = Setting::new(
    (Factor::hundredths(175), Factor::hundredths(200)),
    Source::published("SPD-7", "Horenstein, Black & White Photography, p. 154"),
);

/// Pull by one stop, a marked estimate from memory: × 0.70 to 0.80 (SPD-8).
pub const PULL_ONE: Setting<(Factor, Factor)> =
    Setting::new((Factor::hundredths(70), Factor::hundredths(80)), Source::from_memory("SPD-8"));

/// Continuous instead of intermittent agitation, a marked estimate from memory:
/// × 0.85 to 0.90 (AGI-9).
pub const CONTINUOUS: Setting<(Factor, Factor)> =
    Setting::new((Factor::hundredths(85), Factor::hundredths(90)), Source::from_memory("AGI-9"));

/// Warn of developing times under 5 min (AGI-10, from memory).
pub const SHORT_TIME: Setting<Seconds> =
    Setting::new(Seconds::of(300), Source::from_memory("AGI-10"));

/// Refuse developing times under this many times the pouring time (common practice, no source).
pub const POURINGS: Setting<u32> = Setting::new(20, Source::PRACTICE);

/// Pouring takes 10 s, and 10 s more for each litre (common practice, no source).
pub const POURING: Setting<(Seconds, Seconds)> =
    Setting::new((Seconds::of(10), Seconds::of(10)), Source::PRACTICE);

/// Water for mixing developers: 32-52 °C (DIL-17, NAVEDTRA 14209 ph209175).
pub const DEVELOPER_MIXING: Setting<(Celsius, Celsius)> = Setting::new(
    (Celsius::from_millidegrees(32_000), Celsius::from_millidegrees(52_000)),
    Source::published("DIL-17", NAVY_MIXING),
);

/// Warmest water for mixing fixers: 27 °C (DIL-17, NAVEDTRA 14209 ph209175).
pub const FIXER_MIXING: Setting<Celsius> =
    Setting::new(Celsius::from_millidegrees(27_000), Source::published("DIL-17", NAVY_MIXING));

/// Start a powder with half to three quarters of the water (DIL-16, NAVEDTRA 14209 ph209175).
pub const MIXING_START: Setting<(Percent, Percent)> =
    Setting::new((Percent::of(50), Percent::of(75)), Source::published("DIL-16", NAVY_MIXING));

/// Anhydrous hypo instead of crystals: 64 % of the mass (DIL-19, Anchell 2008 p. 268).
pub const ANHYDROUS_HYPO: Setting<Percent> =
    Setting::new(Percent::of(64), Source::published("DIL-19", "Anchell 2008, p. 268"));

/// Hanging in still air: 2 h (DRY-1 *Handicraft* says 1 h; slower is safer).
pub const DRYING_STILL: Setting<Seconds> = Setting::new(
    Seconds::minutes(120),
    Source::published("DRY-1", "Handicraft, Photography part 4 (1 h, doubled)"),
);

/// In a cabinet with a fan: 30 min (DRY-3, *Portrait* magazine extract).
pub const DRYING_FAN: Setting<Seconds> = Setting::new(
    Seconds::minutes(30),
    Source::published("DRY-3", "Portrait magazine, extract (20-30 min)"),
);

/// Silver in the coating of negative film: 3-10 g/m², in milligrams (FIX-16, German
/// radiographic handbook, id 340).
pub const SILVER_COATED_MG: Setting<(u32, u32)> = Setting::new(
    (3_000, 10_000),
    Source::published("FIX-16", "German radiographic handbook, id 340"),
);

/// The share of it that goes into the fixer: 60-80 % (FIX-24, from memory).
pub const SILVER_SHARE: Setting<(Percent, Percent)> =
    Setting::new((Percent::of(60), Percent::of(80)), Source::from_memory("FIX-24"));

/// Liquid carried out of a bath by one roll: 15 ml (common practice, no source).
pub const CARRY_OVER: Setting<Millilitres> = Setting::new(Millilitres::of(15), Source::PRACTICE);

/// Shared baths are poured from their bottle in steps of 5 ml (common practice, no source).
pub const BATH_STEP: Setting<Millilitres> = Setting::new(Millilitres::of(5), Source::PRACTICE);

/// Measuring tools as (holds, step): 20 ml by 0.5, 100 ml by 1, 5 l by 5 (common
/// practice, no source).
pub const MEASURING_TOOLS: Setting<[(Millilitres, Millilitres); 3]> = Setting::new(
    [
        (Millilitres::of(20), Millilitres::HALF),
        (Millilitres::of(100), Millilitres::of(1)),
        (Millilitres::of(5000), Millilitres::of(5)),
    ],
    Source::PRACTICE,
);

/// Loading in the dark: one 135, one 120, one 220, one sheet, and the tank itself
/// (common practice, no source).
pub const LOADING: Setting<[Seconds; 5]> = Setting::new(
    [
        Seconds::minutes(3),
        Seconds::minutes(4),
        Seconds::minutes(5),
        Seconds::of(90),
        Seconds::minutes(2),
    ],
    Source::PRACTICE,
);

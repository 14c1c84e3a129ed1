//! The figures a day is planned with: each has a published or customary default, and a lead may
//! set any of them.

use std::collections::BTreeMap;

/// One figure: its name in the database and in forms, and what a lead must know to set it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Figure {
    pub(super) name: &'static str,
    pub(super) label: &'static str,
    pub(super) unit: &'static str,
    pub(super) default: i64,
    pub(super) least: i64,
    pub(super) most: i64,
    /// Where the default comes from.
    pub(super) source: &'static str,
}

const PRACTICE: &str = "common practice, no source";
const ARMY_30: &str = "Army SS0509, web p. Ss050980030";
const ARMY_24: &str = "Army SS0509, web p. Ss050980024";
const CHOICE: &str = "the studio's own choice";

macro_rules! figures {
    ($($name:ident: $label:literal, $unit:literal, $default:literal, $least:literal..=$most:literal, $source:expr;)*) => {
        /// Every figure of a day, in whole units as named at each.
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub(super) struct Figures { $(#[doc = $label] pub(super) $name: i64,)* }

        /// All figures in the order in which they are read.
        pub(super) const ALL: &[Figure] = &[$(Figure {
            name: stringify!($name), label: $label, unit: $unit, default: $default,
            least: $least, most: $most, source: $source,
        },)*];

        impl Figures {
            /// The studio's own figures, the defaults where it has none.
            pub(super) fn of(own: &BTreeMap<String, i64>) -> Figures {
                let get = |name: &str, default: i64| own.get(name).copied().unwrap_or(default);
                Figures { $($name: get(stringify!($name), $default),)* }
            }

            /// The figure of that name.
            pub(super) fn value(&self, name: &str) -> i64 {
                match name { $(stringify!($name) => self.$name,)* _ => 0 }
            }
        }
    };
}

figures! {
    under_percent: "A developing time may be shorter by", "%", 5, 0..=30, PRACTICE;
    over_percent: "A developing time may be longer by", "%", 5, 0..=50, PRACTICE;
    time_step_s: "Developing times are given in steps of", "s", 15, 1..=60, PRACTICE;
    grid_s: "Runs start on multiples of", "s", 300, 60..=3600, PRACTICE;
    max_rolls: "Most rolls in one run (0: no limit)", "rolls", 0, 0..=40, CHOICE;
    max_owners: "Most owners in one run (0: no limit)", "people", 0, 0..=40, CHOICE;
    tanks_at_once: "Tanks in developer at once for one person", "tanks", 2, 1..=8, PRACTICE;
    stop_s: "Stop bath", "s", 60, 10..=600, ARMY_30;
    water_stop: "Where no shared stop bath stands (0: one is mixed for the run, 1: water)", "", 0, 0..=1, CHOICE;
    rinse_s: "Rinse before the wash aid", "s", 30, 0..=600, ARMY_24;
    wash_aid_s: "Wash aid", "s", 120, 0..=1200, ARMY_24;
    wash_s: "Wash after the wash aid", "s", 300, 60..=7200, ARMY_24;
    wetting_s: "Wetting agent", "s", 60, 0..=600, ARMY_24;
    hang_s: "Hanging up one roll", "s", 90, 10..=900, PRACTICE;
    drying_s: "A film hangs until it is dry for", "s", 7200, 600..=172_800, "Handicraft, Photography part 4 (1 h, doubled)";
    sleeving_s: "From dry to sleeved and ready", "s", 1800, 0..=86_400, PRACTICE;
    hanging_places: "Hanging places (0: not counted)", "places", 24, 0..=500, CHOICE;
    sink_gap_s: "A sink is wiped after a run for", "s", 300, 0..=3600, PRACTICE;
    tank_gap_s: "A tank is rinsed and dried after a run for", "s", 600, 0..=7200, PRACTICE;
    loading_places: "Dark places to load in", "places", 1, 1..=10, CHOICE;
    load_tank_s: "Loading: for each tank", "s", 120, 0..=1800, PRACTICE;
    load_135_s: "Loading: for each 135 roll", "s", 180, 30..=1800, PRACTICE;
    load_120_s: "Loading: for each 120 or 220 roll", "s", 240, 30..=1800, PRACTICE;
    load_other_s: "Loading: for each other film or set of sheets", "s", 360, 30..=3600, PRACTICE;
    before_pour_s: "Hands free before developer is poured", "s", 30, 0..=600, PRACTICE;
    after_pour_s: "Hands busy after developer is poured", "s", 75, 10..=600, PRACTICE;
    before_end_s: "Hands free before a bath ends", "s", 15, 10..=600, PRACTICE;
    after_fix_s: "Hands busy after fixer is poured", "s", 45, 10..=600, PRACTICE;
    tabular_percent: "Tabular-grain film loads the fixer by", "%", 150, 100..=300, "photrio.com post 2259812";
    hot_tenths: "Hot water from the tap", "tenths of a °C", 500, 250..=600, PRACTICE;
    cold_tenths: "Cold water from the tap", "tenths of a °C", 120, 0..=300, PRACTICE;
    wetting_parts: "Wetting agent 1+n, from its bottle (0: not typed yet)", "parts of water", 0, 0..=2000, "the maker's bottle; there is no default";
}

impl Figures {
    /// Loading one roll on a reel of this kind, in seconds.
    pub(super) fn load_roll_s(&self, reel: &str) -> i64 {
        match reel {
            "135" => self.load_135_s,
            "120" | "220" => self.load_120_s,
            _ => self.load_other_s,
        }
    }
}

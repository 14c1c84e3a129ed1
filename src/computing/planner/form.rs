//! The day as it is written: plain texts and numbers, to be checked by [`super::Day::from_form`].

use std::collections::BTreeMap;

use serde::Serialize;

use super::{day::Day, decimal::Decimal, fault::Fault};

/// Two local times of day, `HH:MM`; the second may be `24:00`.
pub type Hours = (String, String);

/// Two local times of day and how many are taken between them.
pub type TakenHours = (String, String, i64);

/// A tolerance in percent of the developing time.
#[derive(Debug, Clone, Serialize)]
pub struct ToleranceForm {
    /// Percent that the time may be shorter, 0 to 99.
    pub under: Decimal,
    /// Percent that the time may be longer, 0 to 1000.
    pub over: Decimal,
}

/// A measuring tool.
#[derive(Debug, Clone, Serialize)]
pub struct MeasureForm {
    /// What it holds.
    pub up_to_ml: Decimal,
    /// The step it is read in.
    pub step_ml: Decimal,
}

/// The studio's rules for a run.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct RulesForm {
    pub tolerance_percent: ToleranceForm,
    pub time_step_s: i64,
    pub grid_s: Option<i64>,
    pub max_rolls_per_run: Option<i64>,
    pub max_owners_per_run: Option<i64>,
    pub measuring: Vec<MeasureForm>,
}

/// How long each step after developing lasts, in seconds.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct StepsForm {
    pub stop_s: i64,
    pub fix_s: i64,
    pub rinse_s: i64,
    pub wash_aid_s: i64,
    pub wash_s: i64,
    pub wetting_s: i64,
    pub hang_s_per_roll: i64,
    pub sink_gap_s: i64,
    pub tank_gap_s: i64,
    pub ready_after_s: i64,
}

/// When a run needs its person's hands, in seconds around the pours.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct HandsForm {
    pub before_pour_s: i64,
    pub after_pour_s: i64,
    pub before_end_s: i64,
    pub after_fix_s: i64,
}

/// Loading in the dark.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct LoadingForm {
    pub places: i64,
    pub per_tank_s: i64,
    /// By reel kind.
    pub per_roll_s: BTreeMap<String, i64>,
    /// Hours in which so many of the places cannot be had, or not in the dark.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub busy: Vec<TakenHours>,
}

/// Somebody who pours and loads.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct PersonForm {
    pub id: String,
    pub hours: Vec<Hours>,
    pub tanks_at_once: i64,
}

/// A sink.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct SinkForm {
    pub id: String,
    pub places: i64,
    pub busy: Vec<Hours>,
}

/// Where films dry.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct HangingForm {
    pub places: i64,
    pub drying_s: i64,
    pub busy: Vec<TakenHours>,
}

/// Reels of one kind.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct ReelForm {
    pub kind: String,
    pub height_mm: Decimal,
    pub cover_ml: Decimal,
    pub owned: i64,
    pub drying_s: i64,
    pub busy: Vec<TakenHours>,
}

/// A format of film and the reel it goes on.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct FormatForm {
    pub id: String,
    pub reel: String,
    pub roll_equivalents: Decimal,
}

/// A tank.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct TankForm {
    pub id: String,
    pub stack_mm: Decimal,
    pub max_reels: i64,
    pub base_ml: Decimal,
    pub min_ml: Decimal,
    pub max_ml: Decimal,
    pub busy: Vec<Hours>,
    pub preloaded: Option<Vec<String>>,
}

/// A liquid with a volume and what is left of its capacity, in rolls' worth.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct BathForm {
    pub volume_ml: Decimal,
    pub remaining: Decimal,
}

/// A developer: one-shot at 1+n, or a shared bath.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct DeveloperForm {
    pub id: String,
    pub water_parts: Decimal,
    pub min_per_roll_ml: Decimal,
    pub cost_per_ml: Option<Decimal>,
    pub bath: Option<BathForm>,
}

/// A roll that waits.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct RollForm {
    pub id: String,
    pub owner: String,
    pub format: String,
    pub reels: i64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub roll_equivalents: Option<Decimal>,
    pub developer: String,
    pub temperature_c: Decimal,
    pub agitation: String,
    pub pre_soak_s: i64,
    pub time_s: i64,
    pub tolerance_percent: Option<ToleranceForm>,
    pub alone: bool,
    pub fixer_factor: Decimal,
    pub weight: i64,
    pub ready: Option<String>,
    pub due: Option<String>,
}

/// A whole day as it is written in a file.
#[derive(Debug, Clone, Serialize)]
#[expect(missing_docs, reason = "the fields are those of the file format")]
pub struct DayForm {
    /// Always 1.
    pub format: i64,
    /// `YYYY-MM-DD`.
    pub date: String,
    /// A name of the time zone database.
    pub time_zone: String,
    pub open: Vec<Hours>,
    pub rules: RulesForm,
    pub steps: StepsForm,
    pub hands: HandsForm,
    pub loading: LoadingForm,
    pub people: Vec<PersonForm>,
    pub sinks: Vec<SinkForm>,
    pub hanging: Option<HangingForm>,
    pub reels: Vec<ReelForm>,
    pub formats: Vec<FormatForm>,
    pub tanks: Vec<TankForm>,
    pub developers: Vec<DeveloperForm>,
    pub fixer: Option<BathForm>,
    pub rolls: Vec<RollForm>,
}

impl Day {
    /// Checks a day built in the program, by the same rules and with the same paths as a file.
    pub fn from_form(form: &DayForm) -> Result<Self, Vec<Fault>> {
        let text = serde_json::to_string(form)
            .map_err(|error| vec![Fault { path: "$".to_owned(), message: error.to_string() }])?;
        Self::from_json(&text)
    }
}

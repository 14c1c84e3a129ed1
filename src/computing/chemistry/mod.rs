//! Darkroom chemistry as pure computation: nothing here reads a clock, a file or
//! a database, and nothing panics for any input.
//!
//! Every formula names its source; every default stands in [`defaults`] with its
//! own. What the makers' sheets and the local rules decide has no default at all.

mod agitation;
mod alligation;
mod area;
pub mod caution;
pub mod defaults;
pub mod developing_time;
mod dilution;
mod finishing;
pub mod fixer;
mod measuring;
mod parts;
mod percent;
mod powder;
mod preparation;
mod refusal;
mod replenishment;
mod silver;
mod source;
mod standing;
mod stop_bath;
mod tank_volume;
mod temperature;
#[cfg(test)]
mod tests;
mod two_step;
mod warning;
mod wash;

pub use agitation::{Action, AgitationScheme, Cue, Timetable, timetable};
pub use alligation::{Alligation, AlligationVolumes, alligation};
pub use area::{Format, rolls_of, rolls_of_area};
pub use caution::Caution;
pub use developing_time::{
    AgitationChange, Band, Coefficient, DevelopingTime, Development, OneTime, Push, PushFactor,
    ReUse, RunTemperature, TableRow, TimeBasis, TimeTable, developing_time, needs_correction,
};
pub use dilution::{Split, from_concentrate, split};
pub use finishing::{DryingPlace, WettingBath, drying_time, wetting_bath};
pub use fixer::{
    ClipTest, FixerBath, FixerCapacity, FixerEvent, FixerState, FixerUse, TwoBaths,
    cold_fixing_time, fixing_time,
};
pub use measuring::{Friendly, Measuring, Tool, friendly, friendly_parts};
pub use parts::{NamedVolume, Part, Parts};
pub use percent::{percent_of, percent_to_percent};
pub use powder::{
    MakeUp, anhydrous_hypo, make_up, solid_for_percent, volume_from_packet, weigh_out,
};
pub use preparation::{Measured, Preparation};
pub use refusal::Refusal;
pub use replenishment::{Replenishment, replenish};
pub use silver::{SilverAssumptions, SilverEstimate, silver};
pub use source::{Setting, Source, Support};
pub use standing::{CapacityUse, Standing};
pub use stop_bath::{check_stop_time, stop_bath_use};
pub use tank_volume::{
    Decider, DeveloperUse, Fill, FillFigures, LoadedReels, LoadedTank, Method, Need, ReelVolumes,
    TankVolumes,
};
pub use temperature::{
    HotAndCold, Mixing, MixingWater, check_mixing_water, hot_and_cold, mixed_temperature,
    water_temperature,
};
pub use two_step::{TwoStep, TwoStepAmounts};
pub use warning::Warning;
pub use wash::{
    WashPlan, WashStep, WashStepKind, Washing, changes_in, check_flow, flow_needed,
    time_of_a_change, wash_plan,
};

//! Fixer: capacity, clearing tests, ledger, state, and two baths in rotation.

mod bath;
mod capacity;
mod clearing;
mod state;
mod two_bath;

pub use bath::{FixerBath, FixerEvent, FixerUse, Place, carry_over};
pub use capacity::FixerCapacity;
pub use clearing::{ClearingTimes, ClipTest, cold_fixing_time, fixing_time, time_in_each_of_two};
pub use state::{FixerState, Judge};
pub use two_bath::{Rotation, TwoBaths};

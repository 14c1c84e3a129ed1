//! Checks of the chemistry against published figures, each with its row and source.

mod agitation;
mod any_input;
mod film;
mod fixer;
mod mixing;
mod properties;
mod tank;
mod time;
mod wash;

use crate::units::*;

fn ml(volume: f64) -> Millilitres {
    Millilitres::new(volume).unwrap()
}

fn at(degrees: f64) -> Celsius {
    Celsius::new(degrees).unwrap()
}

fn fahrenheit(degrees: f64) -> Celsius {
    Celsius::from_fahrenheit(degrees).unwrap()
}

fn secs(seconds: u32) -> Seconds {
    Seconds::new(seconds).unwrap()
}

fn rolls(rolls: f64) -> RollEquivalents {
    RollEquivalents::new(rolls).unwrap()
}

fn percent(share: f64) -> Percent {
    Percent::new(share).unwrap()
}

fn near(ours: f64, wanted: f64, within: f64) {
    assert!((ours - wanted).abs() <= within, "{ours} is not {wanted} within {within}");
}

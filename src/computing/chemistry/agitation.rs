//! How the tank is moved, and the timetable of the hand.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::units::{OutOfRange, Seconds};

use super::defaults;

/// A way of moving the tank. Written `continuous`, `stand`, `30s+5s/60s` (30 s at
/// first, then 5 s each 60 s) or `5x/60s` (five inversions each 60 s).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum AgitationScheme {
    /// All the time, by hand or on rollers.
    Continuous,
    /// Only at first, then not at all.
    Stand(StandAgitation),
    /// For some seconds, again and again.
    Regular(RegularAgitation),
    /// A number of inversions, again and again.
    Inversions(InversionAgitation),
}

/// The first movement of a stand development.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct StandAgitation {
    first: Seconds,
}

/// So long at first, then so long in each period.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RegularAgitation {
    first: Seconds,
    then: Seconds,
    every: Seconds,
}

/// So many inversions at the start of each period.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct InversionAgitation {
    times: u8,
    every: Seconds,
}

impl AgitationScheme {
    /// Continuous for `first`, then `then` in each `every`.
    ///
    /// # Errors
    /// When `every` is under 10 s or over an hour, `then` is zero or longer than
    /// `every`, or `first` is over an hour.
    pub fn regular(first: Seconds, then: Seconds, every: Seconds) -> Result<Self, OutOfRange> {
        check_period(every)?;
        if then == Seconds::ZERO || then > every {
            let allowed = format!("1 s to {} s, the period", every.get());
            return Err(OutOfRange::new("seconds of movement", then.get(), allowed));
        }
        check_first(first)?;
        Ok(Self::Regular(RegularAgitation { first, then, every }))
    }

    /// `times` inversions each `every`.
    ///
    /// # Errors
    /// When `every` is under 10 s or over an hour, or `times` is zero or above 60.
    pub fn inversions(times: u8, every: Seconds) -> Result<Self, OutOfRange> {
        check_period(every)?;
        if !(1..=60).contains(&times) {
            return Err(OutOfRange::new("inversions", times, "1 to 60"));
        }
        Ok(Self::Inversions(InversionAgitation { times, every }))
    }

    /// Moved for `first` only.
    ///
    /// # Errors
    /// When `first` is over an hour.
    pub fn stand(first: Seconds) -> Result<Self, OutOfRange> {
        check_first(first)?;
        Ok(Self::Stand(StandAgitation { first }))
    }

    /// 30 s, then 5 s each minute (fact AGI-1, NAVEDTRA 14209 web pp. 258, 266).
    #[must_use]
    pub fn usual() -> Self {
        let (first, then, every) = defaults::AGITATION.value;
        Self::Regular(RegularAgitation { first, then, every })
    }

    /// Five inversions each minute (fact AGI-7, idigitalphoto.com dictionary).
    #[must_use]
    pub fn five_inversions() -> Self {
        let (times, every) = defaults::INVERSIONS.value;
        Self::Inversions(InversionAgitation { times, every })
    }

    /// In the fixer: 15 s, then 10 s a minute (fact FIX-12, Army SS0509 web p. Ss050980030).
    #[must_use]
    pub fn fixing() -> Self {
        let (first, then, every) = defaults::FIX_AGITATION.value;
        Self::Regular(RegularAgitation { first, then, every })
    }

    /// True when the tank rests between movements.
    #[must_use]
    pub fn is_intermittent(self) -> bool {
        matches!(self, Self::Regular(_) | Self::Inversions(_))
    }
}

fn check_period(every: Seconds) -> Result<(), OutOfRange> {
    if (10..=3600).contains(&every.get()) {
        return Ok(());
    }
    Err(OutOfRange::new("agitation period", format!("{} s", every.get()), "10 to 3,600 s"))
}

fn check_first(first: Seconds) -> Result<(), OutOfRange> {
    if first.get() <= 3600 {
        return Ok(());
    }
    Err(OutOfRange::new("first agitation", format!("{} s", first.get()), "0 to 3,600 s"))
}

impl fmt::Display for AgitationScheme {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Continuous => f.write_str("continuous"),
            Self::Stand(s) if s.first == Seconds::ZERO => f.write_str("stand"),
            Self::Stand(s) => write!(f, "{}s+stand", s.first.get()),
            Self::Regular(r) => {
                write!(f, "{}s+{}s/{}s", r.first.get(), r.then.get(), r.every.get())
            }
            Self::Inversions(i) => write!(f, "{}x/{}s", i.times, i.every.get()),
        }
    }
}

impl FromStr for AgitationScheme {
    type Err = OutOfRange;

    fn from_str(text: &str) -> Result<Self, OutOfRange> {
        let compact: String = text.chars().filter(|c| !c.is_whitespace()).take(60).collect();
        let wrong = || {
            let allowed = "continuous, stand, 30s+stand, 30s+5s/60s or 5x/60s";
            OutOfRange::new("agitation", format!("\"{compact}\""), allowed)
        };
        match compact.as_str() {
            "continuous" => return Ok(Self::Continuous),
            "stand" => return Self::stand(Seconds::ZERO),
            _ => {}
        }
        if let Some((first, rest)) = compact.split_once('+') {
            let first = seconds(first).ok_or_else(wrong)?;
            if rest == "stand" {
                return Self::stand(first);
            }
            let (then, every) = rest.split_once('/').ok_or_else(wrong)?;
            let (then, every) = (seconds(then), seconds(every));
            return Self::regular(first, then.ok_or_else(wrong)?, every.ok_or_else(wrong)?);
        }
        let (times, every) = compact.split_once('/').ok_or_else(wrong)?;
        let times = times.strip_suffix('x').and_then(|count| count.parse().ok());
        Self::inversions(times.ok_or_else(wrong)?, seconds(every).ok_or_else(wrong)?)
    }
}

fn seconds(text: &str) -> Option<Seconds> {
    Seconds::new(text.strip_suffix('s')?.parse().ok()?).ok()
}

impl TryFrom<String> for AgitationScheme {
    type Error = OutOfRange;

    fn try_from(text: String) -> Result<Self, OutOfRange> {
        text.parse()
    }
}

impl From<AgitationScheme> for String {
    fn from(scheme: AgitationScheme) -> Self {
        scheme.to_string()
    }
}

/// What the hand does at a cue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// Pour in, in at most this time.
    PourIn(Seconds),
    /// Move the tank for this long.
    Move(Seconds),
    /// Turn the tank over this many times.
    Invert(u8),
    /// Start pouring out.
    PourOut,
}

/// One moment of the timetable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cue {
    /// Counted from the start of pouring in.
    pub at: Seconds,
    /// What to do then.
    pub action: Action,
}

/// The cues of one bath, in order: pour in, movements, pour out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Timetable {
    /// How long the bath lasts.
    pub time: Seconds,
    /// The cues.
    pub cues: Vec<Cue>,
}

impl Timetable {
    /// How long the tank is moved by the clock, inversions not counted (fact AGI-8,
    /// arithmetic on AGI-1).
    #[must_use]
    pub fn moving(&self) -> Seconds {
        let moved = self.cues.iter().map(|cue| match cue.action {
            Action::Move(time) => time,
            _ => Seconds::ZERO,
        });
        moved.sum()
    }
}

/// The timetable of a bath of `time`: filled in at most 20 s, poured out from 10 s
/// before the end (fact AGI-3, NAVEDTRA 14209 web p. 266), and moved between by
/// `scheme`. A bath shorter than the pouring out is poured out at once.
#[must_use]
pub fn timetable(scheme: AgitationScheme, time: Seconds) -> Timetable {
    let out = time.less(defaults::POUR_OUT_EARLY.value);
    let filling = defaults::FILLING.value.min(time);
    let mut cues = vec![Cue { at: Seconds::ZERO, action: Action::PourIn(filling) }];
    let moved_until_out = |at: Seconds, wanted: Seconds| {
        let moving = wanted.min(out.less(at));
        (moving > Seconds::ZERO).then_some(Cue { at, action: Action::Move(moving) })
    };
    match scheme {
        AgitationScheme::Continuous => cues.extend(moved_until_out(Seconds::ZERO, out)),
        AgitationScheme::Stand(s) => cues.extend(moved_until_out(Seconds::ZERO, s.first)),
        AgitationScheme::Regular(r) => {
            cues.extend(moved_until_out(Seconds::ZERO, r.first));
            let after_first = marks(r.every, out).filter(|at| *at >= r.first);
            cues.extend(after_first.filter_map(|at| moved_until_out(at, r.then)));
        }
        AgitationScheme::Inversions(i) => {
            // two seconds an inversion (common practice, no source)
            let last = out.less(Seconds::of(2).times(u32::from(i.times)));
            let first = (out > Seconds::ZERO).then_some(Seconds::ZERO);
            let later = marks(i.every, out).filter(|at| *at <= last);
            cues.extend(
                first
                    .into_iter()
                    .chain(later)
                    .map(|at| Cue { at, action: Action::Invert(i.times) }),
            );
        }
    }
    cues.push(Cue { at: out, action: Action::PourOut });
    Timetable { time, cues }
}

/// The multiples of a period before `end`, zero left out. Counted in whole periods,
/// of which thirty days hold at most 259,200.
fn marks(every: Seconds, end: Seconds) -> impl Iterator<Item = Seconds> {
    (1..).map(move |n| every.times(n)).take_while(move |at| *at < end)
}

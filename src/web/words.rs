//! Dates and times in words, in the reader's zone and order.

use std::fmt::Display;

use chrono::{Datelike, NaiveDate, NaiveDateTime, Timelike};

use crate::clock::{Moment, Zone};
use crate::sessions::{DayOrder, Taste};

/// How one reader wants dates and times written.
#[derive(Clone, Debug)]
pub struct Words {
    zone: Zone,
    order: DayOrder,
    hours_24: bool,
    /// US units beside the metric ones.
    pub us_units: bool,
}

/// The months by their names.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
/// The days of the week by their names.
pub const DAYS: [&str; 7] =
    ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

impl Words {
    /// For a person with this taste, in the studio's zone unless they have their own.
    #[must_use]
    pub fn for_taste(studio: Zone, taste: &Taste) -> Words {
        Words {
            zone: taste.zone.unwrap_or(studio),
            order: taste.day_order,
            hours_24: taste.hours_24,
            us_units: taste.us_units,
        }
    }

    /// For the room itself: bookings and runs happen on the studio's wall clock, whatever the
    /// reader's own zone.
    #[must_use]
    pub fn in_studio(studio: Zone, taste: &Taste) -> Words {
        Words { zone: studio, ..Words::for_taste(studio, taste) }
    }

    /// `Tuesday 14 October 2026`, or the reader's own order of it.
    #[must_use]
    pub fn date(&self, date: NaiveDate) -> String {
        let day = name(&DAYS, date.weekday().num_days_from_monday());
        let month = name(&MONTHS, date.month0());
        match self.order {
            DayOrder::DayMonth => format!("{day} {} {month} {}", date.day(), date.year()),
            DayOrder::MonthDay => format!("{day}, {month} {}, {}", date.day(), date.year()),
            DayOrder::YearMonth => format!("{day} {date}"),
        }
    }

    /// `18:30`, or `6:30 p.m.`
    #[must_use]
    pub fn time(&self, at: Moment) -> String {
        self.wall_time(self.zone.wall(at))
    }

    /// The date and time of an instant.
    #[must_use]
    pub fn moment(&self, at: Moment) -> String {
        let wall = self.zone.wall(at);
        format!("{}, {}", self.date(wall.date()), self.wall_time(wall))
    }

    /// `Tuesday 14 October 2026, 18:30 to 20:00`.
    #[must_use]
    pub fn span(&self, from: Moment, to: Moment) -> String {
        let (a, b) = (self.zone.wall(from), self.zone.wall(to));
        if a.date() == b.date() {
            format!("{}, {} to {}", self.date(a.date()), self.wall_time(a), self.wall_time(b))
        } else {
            format!("{} to {}", self.moment(from), self.moment(to))
        }
    }

    fn wall_time(&self, wall: NaiveDateTime) -> String {
        if self.hours_24 {
            return format!("{:02}:{:02}", wall.hour(), wall.minute());
        }
        let (afternoon, hour) = wall.hour12();
        format!("{hour}:{:02} {}", wall.minute(), if afternoon { "p.m." } else { "a.m." })
    }
}

/// So many of something: `1 roll`, `3 rolls`.
#[must_use]
pub fn counted<N: Copy + Display + PartialEq + From<u8>>(n: N, one: &str, many: &str) -> String {
    format!("{n} {}", if n == N::from(1) { one } else { many })
}

/// A text, or the beginning of a longer one: at most so many characters.
#[must_use]
pub fn beginning(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        text.to_owned()
    } else {
        text.chars().take(most.saturating_sub(1)).chain(['…']).collect()
    }
}

fn name<'a>(of: &[&'a str], index: u32) -> &'a str {
    usize::try_from(index).ok().and_then(|i| of.get(i)).copied().unwrap_or_default()
}

/// A ticket in two groups, as it is read aloud and written on film.
#[must_use]
pub fn spoken(ticket: &str) -> String {
    match ticket.split_at_checked(3) {
        Some((first, last)) => format!("{first}-{last}"),
        None => ticket.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_reads_as_a_sentence_would_say_it() {
        let zone = Zone::named("Europe/Dublin").unwrap();
        let at = |h, m| {
            zone.instant("2026-10-14".parse::<NaiveDate>().unwrap().and_hms_opt(h, m, 0).unwrap())
                .unwrap()
        };
        let mut taste = Taste::default();
        let words = |t: &Taste| Words::in_studio(zone, t).span(at(18, 30), at(20, 0));
        assert_eq!(words(&taste), "Wednesday 14 October 2026, 18:30 to 20:00");
        taste.hours_24 = false;
        taste.day_order = DayOrder::MonthDay;
        assert_eq!(words(&taste), "Wednesday, October 14, 2026, 6:30 p.m. to 8:00 p.m.");
    }
}

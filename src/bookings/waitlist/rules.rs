//! Within which time a wish can be met.

use chrono::{Days, NaiveTime};

use super::NewWish;
use crate::clock::{Span, WallFault, Zone};
use crate::error::Error;

/// The stretch in which a wish can be met. A repeated hour belongs to it whole.
pub(super) fn window(zone: Zone, wish: &NewWish) -> Result<Span, Error> {
    let day_of_end = if wish.to == NaiveTime::MIN {
        wish.date.checked_add_days(Days::new(1)).unwrap_or(wish.date)
    } else {
        wish.date
    };
    let at = |field: &str, wall, late: bool| match zone.instant(wall) {
        Ok(m) => Ok(m),
        Err(WallFault::Twice(first, second)) => Ok(if late { second } else { first }),
        Err(WallFault::Missing) => Err(Error::field(
            field,
            "The clocks go forward that day and skip that time. Choose another.",
        )),
    };
    let from = at("from", wish.date.and_time(wish.from), false)?;
    let to = at("to", day_of_end.and_time(wish.to), true)?;
    let span = Span::new(from, to).ok_or_else(|| {
        Error::field("to", "The end must come after the beginning, the same day.")
    })?;
    if span.seconds() < wish.length_min * 60 {
        return Err(Error::field(
            "length",
            "That is longer than the time between the two hours. Make one of them fit.",
        ));
    }
    Ok(span)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish(date: &str, from: (u32, u32), to: (u32, u32), length_min: i64) -> NewWish {
        let at = |(h, m)| NaiveTime::from_hms_opt(h, m, 0).unwrap();
        let date = date.parse().unwrap();
        NewWish { date, from: at(from), to: at(to), length_min, sink_id: None }
    }

    #[test]
    fn the_window_is_as_long_as_the_clocks_make_it() {
        // EU summer time 2027 begins on 28 March and ends on 31 October (Directive 2000/84/EC).
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let long = |w: &NewWish| window(dublin, w).map(|s| s.seconds() / 60);
        assert_eq!(long(&wish("2027-03-16", (18, 0), (22, 0), 90)).unwrap(), 240);
        assert_eq!(long(&wish("2027-03-16", (18, 0), (0, 0), 90)).unwrap(), 360);
        assert_eq!(long(&wish("2027-03-28", (0, 0), (4, 0), 60)).unwrap(), 180);
        assert_eq!(long(&wish("2027-10-31", (1, 30), (1, 45), 60)).unwrap(), 75, "both 01:30s");
        let said = |w: &NewWish| window(dublin, w).unwrap_err().to_string();
        assert!(said(&wish("2027-03-28", (1, 30), (4, 0), 60)).contains("skip"));
        assert!(said(&wish("2027-03-16", (20, 0), (18, 0), 60)).contains("after the beginning"));
        assert!(said(&wish("2027-03-16", (18, 0), (19, 0), 61)).contains("longer than"));
    }
}

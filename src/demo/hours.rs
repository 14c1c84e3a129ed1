//! The invented hours: a duty rota, who was in and who signed, a waiting list for the full
//! evening, a recurring session, and how names stand on the wall.

use chrono::{Days, NaiveTime};

use super::evenings::FULL_EVENING;
use super::people::Ids;
use crate::bookings::waitlist::{self, NewWish};
use crate::bookings::{self, Place};
use crate::customs::{self, Customs};
use crate::db::Tx;
use crate::duty::{self, NewDuty};
use crate::error::Error;
use crate::presence::{self, Signing};
use crate::series::{self, Plan};
use crate::sessions::{Person, Role, Taste, Via};
use crate::sinks;
use crate::wall::{self, Shown};

const LAST_OUT: [&str; 7] =
    ["Loaded tanks", "Film in the cabinet", "Water", "Fan", "Heater", "Lights", "Doors"];

fn at(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or(NaiveTime::MIN)
}

fn ahead(place: &Place, days: u64) -> chrono::NaiveDate {
    place.zone.date(place.now) + Days::new(days)
}

fn person(id: i64, role: Role) -> Person {
    Person {
        id,
        name: String::new(),
        role,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    }
}

/// What was, before the bookings ahead are made.
pub(super) fn were(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let kept = customs::load(tx)?;
    customs::change(tx, &Customs { no_show_min: 20, ..kept })?;
    let lines: Vec<String> = LAST_OUT.map(str::to_owned).into();
    presence::set_items(tx, &lines)?;
    let (Some(ilse), Some(corin)) = (ids.members.first(), ids.members.get(1)) else {
        return Ok(());
    };
    wall::show_me(tx, *ilse, Shown::First)?;
    wall::show_me(tx, *corin, Shown::Initials)?;
    wall::show_me(tx, ids.lead, Shown::Whole)?;
    // Two evenings that were closed by the list, one of them not wholly.
    for (days, who, done, note) in [
        (4, *corin, 7, ""),
        (1, *ilse, 6, "The heater stays on low: Tobin's sheets are still drying."),
    ] {
        let came = place.now.plus(-days * 86_400 - 3 * 3600);
        presence::check_in(tx, came, who)?;
        let Some(visit) = presence::visit_of(tx, who)? else { continue };
        let done = (1..=7).filter(|n| done == 7 || *n != 5).collect();
        let signing = Signing { done, note: note.to_owned() };
        presence::check_out(tx, came.plus(9000), (visit, who), Some(&signing))?;
    }
    Ok(())
}

/// What is now and comes, when the bookings ahead are made.
pub(super) fn come(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    rota(tx, place, ids)?;
    for who in ids.members.first().into_iter().chain([&ids.lead]) {
        presence::check_in(tx, place.now.plus(-900), *who)?;
    }
    // Both wait for the evening that is full; whoever cancels there sends a letter.
    for (member, length_min) in [(2, 90), (1, 120)] {
        let Some(member) = ids.members.get(member) else { continue };
        let wish = NewWish {
            date: ahead(place, FULL_EVENING.unsigned_abs()),
            from: at(17, 0),
            to: at(22, 0),
            length_min,
            sink_id: None,
        };
        waitlist::join(tx, place, &person(*member, Role::Member), &wish)?;
    }
    let lead = person(ids.lead, Role::Lead);
    let Some(sink) = sinks::sinks(tx)?.into_iter().nth(1) else { return Ok(()) };
    let plan = Plan {
        title: "Induction evening".to_owned(),
        sink_id: sink.id,
        first: ahead(place, 2),
        from: at(19, 0),
        to: at(20, 30),
        rule: "FREQ=WEEKLY;COUNT=6".to_owned(),
        except: [ahead(place, 23)].into(),
    };
    let outcomes = series::foresee(tx, place, &lead, &plan)?;
    series::make(tx, place, &lead, (&plan, &series::print(&outcomes)))?;
    bookings::waitlist::turn(tx, place)
}

/// The two leads by turns, every evening, and one of them all through each third day.
fn rota(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let leads = [ids.lead, ids.second_lead];
    for (days, lead) in (0..14_u64).zip(leads.iter().cycle()) {
        let all_day = days % 3 == 0;
        let new = NewDuty {
            member_id: *lead,
            date: ahead(place, days),
            from: if all_day { at(9, 0) } else { at(17, 0) },
            to: NaiveTime::MIN,
            weeks: 1,
            note: if all_day { "Inductions by appointment".to_owned() } else { String::new() },
        };
        duty::add(tx, place.now, place.zone, &new)?;
    }
    Ok(())
}

//! The timetable of the hand.

use super::*;
use crate::chemistry::*;

#[test]
fn eight_minutes_the_usual_way() {
    // AGI-8, arithmetic on AGI-1 (NAVEDTRA 14209 pp. 258, 266): 30 s + 7 × 5 s = 65 s.
    let table = timetable(AgitationScheme::usual(), secs(480));
    assert_eq!(table.moving(), secs(65));
    let movements: Vec<u32> = table
        .cues
        .iter()
        .filter(|cue| matches!(cue.action, Action::Move(_)))
        .map(|cue| cue.at.get())
        .collect();
    assert_eq!(movements, [0, 60, 120, 180, 240, 300, 360, 420]);
    // AGI-3, NAVEDTRA 14209 p. 266: fill in 10-20 s, pour out when 10 s remain.
    assert_eq!(table.cues.first().unwrap().action, Action::PourIn(secs(20)));
    let last = table.cues.last().unwrap();
    assert_eq!((last.at, last.action), (secs(470), Action::PourOut));
}

#[test]
fn five_inversions_a_minute() {
    // AGI-7, idigitalphoto.com dictionary.
    let table = timetable(AgitationScheme::five_inversions(), secs(300));
    let turns: Vec<u32> = table
        .cues
        .iter()
        .filter(|cue| cue.action == Action::Invert(5))
        .map(|cue| cue.at.get())
        .collect();
    assert_eq!(turns, [0, 60, 120, 180, 240]);
}

#[test]
fn continuous_stand_and_fixing() {
    let moving = |scheme, time| timetable(scheme, secs(time)).moving().get();
    assert_eq!(moving(AgitationScheme::Continuous, 300), 290);
    assert_eq!(moving("60s+stand".parse().unwrap(), 3600), 60);
    // FIX-12, Army SS0509 p. Ss050980030: 15 s, then 10 s a minute.
    assert_eq!(moving(AgitationScheme::fixing(), 300), 15 + 4 * 10);
    // AGI-6, Army SS0509 p. Ss050980026, hangers: 10 s, then each minute (a lift of 5 s).
    assert_eq!(moving("10s+5s/60s".parse().unwrap(), 300), 10 + 4 * 5);
    assert_eq!(moving(AgitationScheme::usual(), 5), 0);
}

#[test]
fn schemes_are_written_as_in_a_day_file() {
    for text in ["continuous", "stand", "60s+stand", "30s+5s/60s", "5x/60s"] {
        let scheme: AgitationScheme = text.parse().unwrap();
        assert_eq!(scheme.to_string(), text);
        let json = serde_json::to_string(&scheme).unwrap();
        assert_eq!(serde_json::from_str::<AgitationScheme>(&json).unwrap(), scheme);
    }
    assert_eq!("30s+5s/60s".parse::<AgitationScheme>().unwrap(), AgitationScheme::usual());
    for wrong in ["", "30s", "5x/0s", "0x/60s", "30s+61s/60s", "30s+0s/60s", "often", "5/60s"] {
        assert!(wrong.parse::<AgitationScheme>().is_err(), "{wrong}");
    }
}

use super::*;

fn at(h: u32, m: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(h, m, 0).unwrap()
}

fn limits() -> Limits {
    Limits {
        grid_min: 15,
        longest_min: 360,
        per_week: None,
        minutes_per_week: None,
        ahead_days: 60,
        notice_min: 0,
        gap_min: 0,
        newcomers_per_lead: 2,
        peak_minutes_per_week: None,
        peak_opens_min: 1440,
        peak: Vec::new(),
        version: 1,
    }
}

fn s(from: i64, to: i64) -> Span {
    Span { from: Moment(from), to: Moment(to) }
}

/// Thursday 1 January 1970, open from 10:00 to 22:00.
fn facts() -> Facts {
    Facts {
        now: Moment(0),
        zone: Zone::UTC,
        limits: limits(),
        owner: Owner { role: Role::Member, paused: false, by_lead: false },
        open: vec![s(36_000, 79_200)],
        peak: Vec::new(),
        own: Vec::new(),
        duty: Vec::new(),
        newcomers: Vec::new(),
    }
}

#[test]
fn skipped_and_repeated_times_are_refused_in_words_or_told_apart() {
    // EU summer time 2027 begins on 28 March and ends on 31 October (Directive 2000/84/EC).
    let dublin = Zone::named("Europe/Dublin").unwrap();
    let read = |d: &str, second| span(dublin, d.parse().unwrap(), (at(1, 30), at(4, 0)), second);
    assert!(read("2027-03-28", (None, None)).unwrap_err().to_string().contains("skip 01:30"));
    assert!(read("2027-03-28", (Some(true), None)).is_err());
    assert!(read("2027-10-31", (None, None)).unwrap_err().to_string().contains("happens twice"));
    let first = read("2027-10-31", (Some(false), None)).unwrap();
    let second = read("2027-10-31", (Some(true), None)).unwrap();
    assert_eq!((first.seconds(), second.seconds()), (3 * 3600 + 1800, 2 * 3600 + 1800));
    let night = span(dublin, "2027-10-31".parse().unwrap(), (at(22, 0), at(0, 0)), (None, None));
    assert_eq!(night.unwrap().seconds(), 7200);
}

#[test]
fn each_rule_refuses_just_past_its_edge() {
    let check_at = |now, span| check(&Facts { now: Moment(now), ..facts() }, span);
    assert_eq!(check_at(0, s(36_000, 36_900)), Ok(()));
    assert_eq!(check_at(36_000, s(36_000, 57_600)), Ok(()));
    assert_eq!(check_at(36_001, s(36_000, 36_900)), Err(Refusal::Begun));
    assert_eq!(check_at(0, s(36_060, 36_960)), Err(Refusal::OffGrid(15)));
    let long = Refusal::Length { least_min: 15, most_min: 360 };
    assert_eq!(check_at(0, s(36_000, 58_500)), Err(long));
    assert_eq!(check_at(0, s(35_100, 37_800)), Err(Refusal::Closed));
    assert_eq!(check_at(0, s(78_300, 80_100)), Err(Refusal::Closed));
    let far = 36_000 - 60 * 86_400;
    assert_eq!(check_at(far, s(36_000, 36_900)), Ok(()));
    assert_eq!(check_at(far - 1, s(36_000, 36_900)), Err(Refusal::TooFarAhead(60)));
}

#[test]
fn a_lead_is_not_limited_but_keeps_to_the_hours() {
    let mut facts = facts();
    facts.now = Moment(-100 * 86_400);
    facts.owner = Owner { role: Role::Newcomer, paused: false, by_lead: true };
    facts.limits.per_week = Some(1);
    facts.own = vec![s(40_000, 43_600)];
    assert_eq!(check(&facts, s(36_000, 72_000)), Ok(()));
    assert_eq!(check(&facts, s(36_000, 80_100)), Err(Refusal::Closed));
}

#[test]
fn quotas_count_the_week_of_the_beginning() {
    let mut facts = facts();
    facts.limits.per_week = Some(1);
    // Sunday the 4th is in the same week, Monday the 5th in the next.
    facts.own = vec![s(3 * 86_400 + 40_000, 3 * 86_400 + 43_600)];
    assert_eq!(check(&facts, s(36_000, 39_600)), Err(Refusal::PerWeek(1)));
    facts.own = vec![s(4 * 86_400 + 40_000, 4 * 86_400 + 43_600)];
    assert_eq!(check(&facts, s(36_000, 39_600)), Ok(()));
    facts.limits.per_week = None;
    facts.limits.minutes_per_week = Some(120);
    facts.own = vec![s(40_500, 44_100)];
    assert_eq!(check(&facts, s(54_000, 57_600)), Ok(()));
    let over = Refusal::MinutesPerWeek { most_min: 120, have_min: 60 };
    assert_eq!(check(&facts, s(54_000, 58_500)), Err(over));
}

#[test]
fn the_quota_of_peak_hours_ends_shortly_before_they_begin() {
    let mut facts = facts();
    facts.limits.peak_minutes_per_week = Some(60);
    facts.limits.peak_opens_min = 120;
    facts.peak = vec![s(64_800, 79_200)];
    facts.own = vec![s(64_800, 68_400)];
    let refusal = Refusal::Peak { most_min: 60, opens_min: 120 };
    assert_eq!(check(&facts, s(72_000, 75_600)), Err(refusal.clone()));
    assert_eq!(check(&facts, s(61_200, 64_800)), Ok(()), "outside the peak");
    facts.now = Moment(72_000 - 7200);
    assert_eq!(check(&facts, s(72_000, 75_600)), Ok(()), "open to all");
    facts.now = Moment(72_000 - 7201);
    assert_eq!(check(&facts, s(72_000, 75_600)), Err(refusal));
}

#[test]
fn newcomers_work_while_a_lead_is_on_duty_and_so_many_for_each() {
    let mut facts = facts();
    facts.owner.role = Role::Newcomer;
    let wish = s(54_000, 61_200);
    assert_eq!(check(&facts, wish), Err(Refusal::NoLead));
    facts.duty = vec![Duty { lead: 1, span: s(54_000, 57_600) }];
    assert_eq!(check(&facts, wish), Err(Refusal::NoLead), "the lead leaves before the end");
    facts.duty.push(Duty { lead: 2, span: s(57_600, 61_200) });
    assert_eq!(check(&facts, wish), Ok(()));
    facts.newcomers = vec![s(50_400, 55_800), s(55_800, 57_600)];
    assert_eq!(check(&facts, wish), Ok(()), "one after the other");
    facts.newcomers = vec![s(50_400, 57_600), s(55_800, 57_600)];
    assert_eq!(check(&facts, wish), Err(Refusal::NewcomersFull(2)));
    facts.duty.push(Duty { lead: 3, span: s(54_000, 57_600) });
    assert_eq!(check(&facts, wish), Ok(()), "two leads look after four");
}

#[test]
fn notice_binds_members_until_the_last_second() {
    let mut limits = limits();
    limits.notice_min = 60;
    let span = s(36_000, 39_600);
    let may = |now, lead| may_give_back(Moment(now), span, &limits, lead);
    assert_eq!(may(32_400, false), Ok(()));
    assert_eq!(may(32_401, false), Err(Refusal::Notice(60)));
    assert_eq!(may(32_401, true), Ok(()));
    assert_eq!(may(39_600, true), Err(Refusal::Over));
}

#[test]
fn lasting_reads_as_people_say_it() {
    assert_eq!(lasting(90), "1 hour 30 minutes");
    assert_eq!(lasting(1440), "1 day");
    assert_eq!(lasting(0), "0 minutes");
}

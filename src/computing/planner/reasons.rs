//! Says in plain words why a run is what it is and why a roll is left over.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    clock::Seconds,
    day::Roll,
    decimal::Decimal,
    developer_volume::{need, parts},
    placing::{Attempt, Batch, Phases, Placed},
    problem::{Load, Problem},
    room::{Room, Supply},
    schedule::{Outcome, Taste, place},
};

/// Minutes and seconds as on a darkroom timer.
fn timer(seconds: Seconds) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// Millilitres of a fine volume, to a tenth.
fn ml(fine: i128) -> String {
    let tenths = (fine + 50_000_000_000_000_000) / 100_000_000_000_000_000;
    Decimal::from_millionths((tenths * 100_000) as i64).to_string()
}

fn dilution(problem: &Problem<'_>, family: usize) -> String {
    let developer = &problem.day.developers[problem.families[family].developer];
    match developer.bath {
        Some(_) => format!("{} (shared bath)", developer.id),
        // The name of a developer often says it already, part by part.
        None if developer.id.contains("1+") => developer.id.clone(),
        None => format!("{} 1+{}", developer.id, developer.water_parts),
    }
}

/// The sentences of a run.
pub(super) fn why(problem: &Problem<'_>, placed: &Placed, all: &[Placed]) -> Vec<String> {
    let mut why = vec![shared(problem, placed), developer_reason(problem, placed)];
    why.extend(waited(problem, placed));
    why.extend(nearest(problem, placed, all));
    why
}

fn shared(problem: &Problem<'_>, placed: &Placed) -> String {
    let (batch, day) = (&placed.batch, problem.day);
    let first = &day.rolls[batch.rolls[0]];
    let chemistry = format!(
        "{} at {} C, agitation {}",
        dilution(problem, batch.family),
        first.temperature_c,
        first.agitation
    );
    let time = timer(batch.time);
    let load = &batch.load;
    let tank = &day.tanks[placed.tank].id;
    match (batch.preloaded, batch.rolls.len()) {
        (Some(_), n) => {
            format!("Tank {tank} is already loaded with {}: {chemistry}, {time}.", rolls(n))
        }
        (None, 1) if first.alone => {
            format!("{} runs alone, as its owner asks: {chemistry}, {time}.", first.id)
        }
        (None, 1) => format!("{} by itself: {chemistry}, {time}.", first.id),
        (None, n) if load.shortest == load.longest => {
            format!("{} of the same time share {chemistry}, {time}.", rolls(n))
        }
        (None, n) => format!(
            "{} that ask for {} to {} share {chemistry}: all of them allow {}.",
            rolls(n),
            timer(load.shortest),
            timer(load.longest),
            time
        ),
    }
}

fn rolls(n: usize) -> String {
    if n == 1 { "1 roll".to_owned() } else { format!("{n} rolls") }
}

/// Which of the three needs decided the volume.
fn developer_reason(problem: &Problem<'_>, placed: &Placed) -> String {
    const FINE: i128 = 1_000_000_000_000;
    let family = placed.batch.family;
    let developer = &problem.day.developers[problem.families[family].developer];
    let tank = &problem.day.tanks[placed.tank];
    let asked = placed.batch.load.asked;
    let need = need(developer, tank, asked);
    let poured = problem.poured(family, &placed.batch.load, placed.tank);
    let Some(poured) = poured else { return String::new() };
    let cover = (tank.base_ml.wide() + asked.cover) * FINE;
    let decided = if need > cover && need > tank.min_ml.wide() * FINE {
        let least = developer.min_per_roll_ml;
        let worth = Decimal::from_millionths(asked.equivalents as i64);
        format!("{worth} rolls' worth need at least {least} ml of concentrate each")
    } else if need == cover {
        "that covers the reels".to_owned()
    } else {
        format!("tank {} takes no less", tank.id)
    };
    let measured = match (developer.bath, poured.friendly) {
        (Some(_), _) => ", rounded up to 5 ml",
        (None, true) if poured.fine_ml > need => ", rounded up to a mark of the measuring tool",
        (None, true) => "",
        (None, false) => "; measure it exactly, the next mark would overfill the tank",
    };
    format!("{} ml of developer: {decided}{measured}.", ml(poured.fine_ml))
}

/// What it had to wait for, where that is a roll's own readiness.
fn waited(problem: &Problem<'_>, placed: &Placed) -> Option<String> {
    let (span, day) = (placed.loading.map_or(placed.start, |(_, span)| span.from), problem.day);
    let latest = placed.batch.rolls.iter().max_by_key(|roll| problem.items[**roll].ready)?;
    let ready = problem.items[*latest].ready;
    let opening = day.open.first().map_or(0, |open| open.from);
    (ready > opening && span - ready < 900).then(|| {
        format!(
            "It waits for {}, which comes in at {}.",
            day.rolls[*latest].id,
            day.clock.time(ready)
        )
    })
}

/// What stopped the run from taking the nearest roll of its chemistry.
fn nearest(problem: &Problem<'_>, placed: &Placed, all: &[Placed]) -> Option<String> {
    let batch = &placed.batch;
    let others = problem.families[batch.family].rolls.iter();
    let other = others
        .filter(|roll| !batch.rolls.contains(roll))
        .min_by_key(|roll| ((problem.items[**roll].time - batch.time).abs(), **roll))?;
    let roll = &problem.day.rolls[*other];
    Some(format!("{} is not in it: {}.", roll.id, obstacle(problem, placed, *other, roll, all)))
}

fn obstacle(
    problem: &Problem<'_>,
    placed: &Placed,
    other: usize,
    roll: &Roll,
    all: &[Placed],
) -> String {
    let (batch, day) = (&placed.batch, problem.day);
    let (item, tank) = (&problem.items[other], &day.tanks[placed.tank]);
    if batch.preloaded.is_some() {
        return "the tank was loaded before".to_owned();
    }
    if let Some(loaded) = item.preloaded {
        return format!("it is already loaded in tank {}", day.tanks[loaded].id);
    }
    if item.alone || batch.load.alone {
        return format!(
            "{} runs alone",
            if item.alone { &roll.id } else { &day.rolls[batch.rolls[0]].id }
        );
    }
    if item.least > batch.load.most || item.most < batch.load.least {
        return format!(
            "it allows {} to {}, these rolls {} to {}",
            timer(item.least),
            timer(item.most),
            timer(batch.load.least),
            timer(batch.load.most)
        );
    }
    let Some(load) = problem.joined(&batch.load, other) else {
        return "the studio's rule on rolls or owners in one run forbids it".to_owned();
    };
    if let Some(reason) = overfull(problem, batch.family, &load, placed.tank) {
        return format!("tank {} {reason}", tank.id);
    }
    if item.ready > placed.loading.map_or(placed.start, |(_, span)| span.from) {
        return format!("it comes in only at {}", day.clock.time(item.ready));
    }
    match all.iter().find(|run| run.batch.rolls.contains(&other)) {
        Some(run) => format!(
            "it goes in tank {} at {}, and the day needs no more runs or concentrate that way",
            day.tanks[run.tank].id,
            day.clock.time(run.start)
        ),
        None => "it is left over for its own reason".to_owned(),
    }
}

/// Why a tank cannot hold a load.
fn overfull(problem: &Problem<'_>, family: usize, load: &Load, at: usize) -> Option<String> {
    if problem.poured(family, load, at).is_some() {
        return None;
    }
    let (day, tank) = (problem.day, &problem.day.tanks[at]);
    if load.height > tank.stack_mm.wide() {
        let height = Decimal::from_millionths(load.height as i64);
        return Some(format!("has {} mm for reels and they need {height} mm", tank.stack_mm));
    }
    if load.reels > tank.max_reels {
        return Some(format!("holds {} reels and they need {}", tank.max_reels, load.reels));
    }
    let fixer = tank.base_ml.wide() + load.asked.cover;
    if let Some(bottle) = day.fixer.filter(|bottle| fixer > bottle.volume_ml.wide()) {
        let fixer = Decimal::from_millionths(fixer as i64);
        return Some(format!(
            "takes {fixer} ml of fixer and the bottle has {} ml",
            bottle.volume_ml
        ));
    }
    let developer = &day.developers[problem.families[family].developer];
    let volume = need(developer, tank, load.asked);
    let concentrate = ml(volume * 1_000_000 / parts(developer));
    Some(match developer.bath {
        Some(bath) => format!(
            "needs {} ml of {}; it holds {} ml and the bath has {} ml",
            ml(volume),
            developer.id,
            tank.max_ml,
            bath.volume_ml
        ),
        None => format!(
            "holds {} ml and they need {} ml, {concentrate} ml of concentrate at 1+{}",
            tank.max_ml,
            ml(volume),
            developer.water_parts
        ),
    })
}

/// Why a roll is left over.
pub(super) fn why_left(problem: &Problem<'_>, roll: usize, outcome: &Outcome) -> String {
    let item = &problem.items[roll];
    let rolls = match item.preloaded {
        Some(tank) => problem.day.tanks[tank].preloaded.clone(),
        None => vec![roll],
    };
    match Batch::of(problem, rolls) {
        Some(batch) => no_time(problem, roll, &batch, outcome),
        None => no_tank(problem, roll),
    }
}

fn no_tank(problem: &Problem<'_>, roll: usize) -> String {
    let (day, item) = (problem.day, &problem.items[roll]);
    if let Some(tank) = item.preloaded {
        let id = &day.tanks[tank].id;
        return format!(
            "the rolls loaded in tank {id} cannot share one run there; unload it in the dark and plan again"
        );
    }
    if day.tanks.is_empty() {
        return "the studio has no tank today; add one".to_owned();
    }
    let Some(load) = problem.load(&[roll]) else {
        return "the studio's rules for a run forbid even this roll alone; change them".to_owned();
    };
    let developer = &day.developers[problem.families[item.family].developer];
    let held = |tank: &usize| {
        load.height <= day.tanks[*tank].stack_mm.wide() && load.reels <= day.tanks[*tank].max_reels
    };
    let fitting: Vec<usize> = (0..day.tanks.len()).filter(held).collect();
    match fitting.iter().max_by_key(|tank| (day.tanks[**tank].max_ml, std::cmp::Reverse(**tank))) {
        Some(largest) if developer.bath.is_none() => {
            let tank = &day.tanks[*largest];
            let concentrate = ml(need(developer, tank, load.asked) * 1_000_000 / parts(developer));
            let most = overfull(problem, item.family, &load, *largest).unwrap_or_default();
            format!(
                "no tank holds the {concentrate} ml of concentrate it needs at 1+{}: tank {} {most}",
                developer.water_parts, tank.id
            )
        }
        Some(largest) => {
            let most = overfull(problem, item.family, &load, *largest).unwrap_or_default();
            format!("no tank can take it: tank {} {most}", day.tanks[*largest].id)
        }
        None => format!(
            "no tank has room for its {} of {} mm; the largest has {} mm",
            if item.reels == 1 { "reel".to_owned() } else { format!("{} reels", item.reels) },
            Decimal::from_millionths(item.height as i64),
            day.tanks.iter().map(|tank| tank.stack_mm).max().unwrap_or_default()
        ),
    }
}

/// It could run alone, but not today beside the others: what would have to give way.
fn no_time(problem: &Problem<'_>, roll: usize, batch: &Batch, outcome: &Outcome) -> String {
    let (day, item) = (problem.day, &problem.items[roll]);
    if let Some(reason) = used_up(problem, roll, outcome) {
        return reason;
    }
    let phases = Phases::of(problem, batch);
    let attempt = Attempt {
        problem,
        room: &outcome.room,
        batch,
        phases: &phases,
        tank: batch.tanks[0].1,
        person: 0,
    };
    let minutes = (attempt.loading_s() + phases.end + 59) / 60;
    if day.people.is_empty() || day.sinks.is_empty() || day.open.is_empty() {
        return "nobody is there, no sink is set up or the studio is closed; change the day's hours".to_owned();
    }
    if place(problem, &Room::empty(problem), batch, Taste::Prompt).is_none() {
        let ready = day.clock.time(item.ready);
        return format!(
            "even alone it does not fit into the day: it is here from {ready} and needs {minutes} min of loading and work with reels, tank, sink and a person free together; open longer or bring it earlier"
        );
    }
    type Ease<'a> = &'a dyn Fn(&mut Room);
    let ways: [(Ease<'_>, String); 6] = [
        (&|room| room.reels[item.reel].plenty(), dry_reels(problem, roll, &outcome.room)),
        (&|room| plenty(&mut room.tanks), "every tank that can take it is in use; another tank would do".to_owned()),
        (&|room| plenty(&mut room.sinks), "every sink place is taken when it could run; another sink place would do".to_owned()),
        (&|room| room.loading.plenty(), "the loading place is taken whenever it could be loaded; load a tank before the day begins".to_owned()),
        (&|room| room.hanging.iter_mut().for_each(Supply::plenty), "every hanging place is taken when it would be wet; clear dry films earlier".to_owned()),
        (&|room| { plenty(&mut room.hands); plenty(&mut room.developing); }, "nobody has a free pair of hands for it; another person would do".to_owned()),
    ];
    for (give, reason) in ways {
        let mut room = outcome.room.clone();
        give(&mut room);
        if place(problem, &room, batch, Taste::Prompt).is_some() {
            return reason;
        }
    }
    if place(problem, &outcome.room, batch, Taste::Prompt).is_some() {
        return "it would need a run of its own, and the search found no better day with it; plan it by hand".to_owned();
    }
    format!(
        "the day is full: no start is left that gives it {minutes} min before closing; open longer or plan it for another day"
    )
}

fn plenty(supplies: &mut [Supply]) {
    supplies.iter_mut().for_each(Supply::plenty);
}

fn dry_reels(problem: &Problem<'_>, roll: usize, room: &Room) -> String {
    let item = &problem.items[roll];
    let kind = &problem.day.reels[item.reel].kind;
    match room.reels[item.reel].last_end() {
        Some(dry) => {
            format!("needs dry {kind} reels: the last is dry at {}", problem.day.clock.time(dry))
        }
        None => format!("needs {} {kind} reels and the studio owns too few", item.reels),
    }
}

/// Fixer or bath that cannot serve it any more.
fn used_up(problem: &Problem<'_>, roll: usize, outcome: &Outcome) -> Option<String> {
    let (day, item) = (problem.day, &problem.items[roll]);
    let served = || outcome.placed.iter().flat_map(|run| run.batch.rolls.iter());
    if let Some(fixer) = day.fixer {
        let used: i128 = served().map(|roll| problem.items[*roll].fixer).sum();
        let left = fixer.remaining.wide() * 1_000_000 - used;
        if item.fixer > left {
            let left = Decimal::from_millionths((left / 1_000_000) as i64);
            return Some(format!(
                "the fixer has {left} rolls' worth left after the other runs and this takes {}; mix fresh fixer",
                Decimal::from_millionths((item.fixer / 1_000_000) as i64)
            ));
        }
    }
    let at = problem.families[item.family].developer;
    let bath = day.developers[at].bath?;
    let used: i128 = served()
        .filter(|roll| problem.families[problem.items[**roll].family].developer == at)
        .map(|roll| problem.items[*roll].equivalents)
        .sum();
    let left = bath.remaining.wide() - used;
    (item.equivalents > left).then(|| {
        format!(
            "the bath of {} has {} rolls' worth left and this takes {}; mix a fresh one",
            day.developers[at].id,
            Decimal::from_millionths(left as i64),
            Decimal::from_millionths(item.equivalents as i64)
        )
    })
}

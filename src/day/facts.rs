//! What of the room, its people and its rolls a day is planned from.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::figures::Figures;
use super::liquids::{self, Fixer, SharedDeveloper};
use super::rules::{Job, LeftOver, Wish};
use super::standing::Standing;
use super::store;
use crate::clock::{Moment, Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::recipes::{self, Handling, Recipe, TimeWish};
use crate::rolls::{self, Format, Roll};
use crate::sinks::{self, Held, Kind, LoadingPlaces, ReelKind, Sink, Tank};
use crate::units::{Celsius, FilmSpeed, Millilitres, RollEquivalents, Seconds};
use crate::{duty, members};

/// What of the room a plan needs to know.
#[derive(Clone, Debug)]
pub(super) struct Facts {
    /// Nothing begins before this.
    pub(super) now: Moment,
    pub(super) zone: Zone,
    pub(super) date: NaiveDate,
    /// When the studio is open that day.
    pub(super) open: Vec<Span>,
    pub(super) sinks: Vec<Sink>,
    pub(super) tanks: Vec<Tank>,
    pub(super) reels: Vec<ReelKind>,
    pub(super) sinks_held: Vec<Held>,
    pub(super) tanks_held: Vec<Held>,
    pub(super) reels_held: Vec<Held>,
    /// How many films the studio's own hanging places take, where it has named any.
    pub(super) hanging: Option<i64>,
    pub(super) hanging_held: Vec<Held>,
    /// The studio's own loading places and when they are not to be had dark, where it has named any.
    pub(super) loading: Option<LoadingPlaces>,
    pub(super) fixer: Option<Fixer>,
    /// Developer that is poured back, by the chart's developer.
    pub(super) developers: BTreeMap<i64, SharedDeveloper>,
    /// Developer is somebody's own: nothing of the studio's is drawn or poured back.
    pub(super) own_developer: bool,
    /// Who pours, and when they are there; without times, whenever the studio is open.
    pub(super) people: Vec<Pourer>,
    /// Published runs of that day.
    pub(super) standing: Vec<Standing>,
    pub(super) figures: Figures,
    /// How long film waits in this studio.
    pub(super) customs: rolls::Customs,
}

/// Somebody who pours.
#[derive(Clone, Debug)]
pub(super) struct Pourer {
    pub(super) name: String,
    pub(super) hours: Option<Vec<Span>>,
}

/// More than any number of rolls that could take its place on a day.
const OVERDUE: i64 = 1000;

impl Facts {
    /// A plan for today begins ten minutes from now at the earliest, so that there is time to look
    /// at it (common practice, no source).
    pub(super) fn earliest(&self) -> Moment {
        let (at, grid) = (self.now.0.saturating_add(600), self.figures.grid_s.max(1));
        Moment(at.div_euclid(grid) * grid + if at.rem_euclid(grid) == 0 { 0 } else { grid })
    }

    /// What it weighs when a roll is left over. Who has waited longest is served first: a roll gains
    /// weight with every week, and outweighs all others once it has waited for as long as the
    /// studio lets film wait.
    pub(super) fn weight(&self, roll: &Roll) -> i64 {
        if roll.waits_until(&self.customs) <= self.now {
            return OVERDUE;
        }
        1 + (self.now.since(roll.handed_in).max(0) / (7 * 86_400)).min(9)
    }

    pub(super) fn fix_s(&self) -> i64 {
        self.fixer.as_ref().map_or(300, |f| f.fix_s)
    }
}

/// The pool that a format's reel comes from, and what such a reel is when it is set to it.
pub(super) fn reel_for<'a>(
    pools: &'a [ReelKind],
    wanted: &str,
) -> Option<(&'a ReelKind, i64, i64)> {
    let set = pools.iter().find_map(|r| Some((r, r.set_to(wanted)?)));
    if let Some((pool, set)) = set {
        return Some((pool, set.height_mm, set.cover_ml));
    }
    let named = pools.iter().find(|r| r.kind == wanted)?;
    Some((named, named.height_mm, named.cover_ml))
}

/// Reads the facts of a date.
///
/// # Errors
/// A refusal when the studio is closed that day, has no fixer fit for use, or nobody to pour.
pub(super) fn load(
    conn: &mut Conn,
    (now, zone, date): (Moment, Zone, NaiveDate),
    (people, by): (&[i64], i64),
) -> Result<Facts, Error> {
    let open = sinks::opening(conn, zone, date)?;
    if open.is_empty() {
        return Err(Error::field("date", "The studio is closed that day. Choose another."));
    }
    if open.iter().all(|s| s.to <= now) {
        return Err(Error::field("date", "That day is over. Choose today or a day to come."));
    }
    let day = zone.day(date);
    let wide = around(zone, date);
    let figures = figures(conn)?;
    let fixer = liquids::fixer(conn, now)?;
    let standing = store::published_runs(conn, date)?;
    let all = sinks::sinks(conn)?;
    Ok(Facts {
        now,
        zone,
        date,
        open,
        sinks_held: sinks::closed_to_runs(conn, &all, (wide, None))?,
        sinks: all,
        tanks: sinks::tanks(conn)?,
        reels: sinks::reel_kinds(conn)?,
        hanging: sinks::hanging_places(conn)?,
        hanging_held: sinks::held(conn, Kind::Hanging, wide)?,
        loading: sinks::closed_to_loading(conn, (wide, None))?,
        tanks_held: sinks::held(conn, Kind::Tank, wide)?,
        reels_held: sinks::held(conn, Kind::Reel, wide)?,
        fixer: Some(fixer),
        developers: liquids::developers(conn, now)?,
        own_developer: false,
        people: pourers(conn, day, people, by)?,
        standing: standing.iter().map(super::store::Run::standing).collect(),
        figures,
        customs: rolls::customs(conn)?,
    })
}

/// A day and the next: what is held somewhat later counts too.
pub(super) fn around(zone: Zone, date: NaiveDate) -> Span {
    let day = zone.day(date);
    Span { from: day.from, to: day.to.plus(86_400) }
}

/// The studio's figures.
pub(super) fn figures(conn: &mut Conn) -> Result<Figures, Error> {
    Ok(Figures::of(&store::figures(conn)?))
}

/// Those a lead chose, or else the leads on the rota that day in their hours, or else the one who
/// plans.
fn pourers(conn: &mut Conn, day: Span, chosen: &[i64], by: i64) -> Result<Vec<Pourer>, Error> {
    let mut hours: BTreeMap<i64, Vec<Span>> = BTreeMap::new();
    for duty in duty::during(conn, day)? {
        hours.entry(duty.member_id).or_default().push(duty.span);
    }
    let rota: Vec<i64> = hours.keys().copied().collect();
    let ids = match (chosen, rota.as_slice()) {
        ([], []) => vec![by],
        ([], rota) => rota.to_vec(),
        (chosen, _) => chosen.to_vec(),
    };
    let known = members::names(conn, &ids)?;
    let one = |id: &i64| {
        let hours = if chosen.is_empty() { hours.get(id).cloned() } else { None };
        Some(Pourer { name: known.get(id)?.clone(), hours })
    };
    let people: Vec<Pourer> = ids.iter().filter_map(one).collect();
    if people.is_empty() {
        return Err(Error::field("people", "Nobody pours that day. Choose at least one person."));
    }
    Ok(people)
}

/// The rolls that wait, each with its recipe at the day's temperature, and those that have none.
///
/// # Errors
/// As the database's.
pub(super) fn jobs(
    conn: &mut Conn,
    facts: &Facts,
    wish: &Wish,
    more: &[i64],
) -> Result<(Vec<Job>, Vec<LeftOver>), Error> {
    let mut waiting = rolls::waiting(conn)?;
    for id in more {
        if !waiting.iter().any(|r| r.id == *id) {
            waiting.push(rolls::one(conn, *id)?);
        }
    }
    let (mut jobs, mut left) = (Vec::new(), Vec::new());
    for roll in waiting {
        if wish.held_back.contains(&roll.id) {
            let reason = "Held back by a lead. Let it go again under “Change this day”.".to_owned();
            left.push(LeftOver { ticket: roll.ticket, reason });
            continue;
        }
        match job(conn, facts, wish, roll)? {
            Ok(job) => jobs.push(job),
            Err(reason) => left.push(reason),
        }
    }
    Ok((jobs, left))
}

/// A roll with the recipe it will be developed by, or why it has none.
pub(super) fn job(
    conn: &mut Conn,
    facts: &Facts,
    wish: &Wish,
    roll: Roll,
) -> Result<Result<Job, LeftOver>, Error> {
    let wanted = wish.recipes.get(&roll.id).copied().or(roll.recipe_id);
    let recipe = match wanted {
        Some(id) => Some(recipes::today_of(conn, id)?),
        None => recipes::for_film(conn, roll.film_id, roll.ei)?.into_iter().next(),
    };
    let left = |reason: String| Ok(Err(LeftOver { ticket: roll.ticket.clone(), reason }));
    let Some(recipe) = recipe else {
        return left(format!(
            "No recipe for {} at EI {} stands on the time chart. Enter one.",
            roll.film, roll.ei
        ));
    };
    if roll.waits_for_test() {
        return left(
            "Its owner wants a test roll first. When that came out well, say so on this roll's page."
                .to_owned(),
        );
    }
    if roll.ready.is_some_and(|at| at >= facts.zone.day(facts.date).to) {
        return left("Its owner asks for a later day.".to_owned());
    }
    let known = Format::named(&roll.format).map(|f| f.of_sheets(roll.sheets));
    let Some(format) = known else {
        return left(format!("The format {} is not known here.", roll.format));
    };
    let handling = recipe.developer.handling();
    let stands = facts.own_developer || facts.developers.contains_key(&recipe.developer.id);
    if handling != Handling::OneShot && !stands {
        return left(format!(
            "{} is poured back after each run, and no working bottle of it is fit for use. Mix one \
             under Baths, or choose another recipe.",
            recipe.developer.name
        ));
    }
    if reel_for(&facts.reels, format.reel).is_none() {
        return left(format!(
            "The room owns no {} reel. Add one under Room, or send it elsewhere.",
            format.reel
        ));
    }
    let temperature_mc =
        wish.temperatures.get(&recipe.developer.id).copied().unwrap_or(recipe.temperature_mc);
    match at_temperature(&recipe, temperature_mc, Millilitres::ZERO) {
        Ok((time_s, working)) => {
            Ok(Ok(Job { roll, recipe, format, temperature_mc, time_s, working }))
        }
        Err(reason) => left(format!("{reason} Choose another temperature or recipe.")),
    }
}

/// A recipe's time at another temperature, in seconds, with its working; the sentence that refuses
/// it outside its band.
pub(super) fn at_temperature(
    recipe: &Recipe,
    temperature_mc: i64,
    volume: Millilitres,
) -> Result<(i64, Vec<String>), String> {
    if temperature_mc == recipe.temperature_mc {
        return Ok((recipe.time_s, Vec::new()));
    }
    let wanted =
        Celsius::new(crate::web::thousandths(temperature_mc)).map_err(|e| e.to_string())?;
    let ei = u32::try_from(recipe.ei).ok().and_then(|ei| FilmSpeed::new(ei).ok());
    let wish = TimeWish {
        temperature: wanted,
        end: None,
        ei: ei.ok_or_else(|| format!("EI {} is not a film speed.", recipe.ei))?,
        push_factor: None,
        agitation: None,
        used: RollEquivalents::ZERO,
        this_run: RollEquivalents::ZERO,
        volume,
        step: Seconds::ZERO,
    };
    let found = recipes::time_for(recipe, &wish)
        .map_err(|refusal| format!("{} at {wanted}: {refusal}.", recipe.film.name))?;
    let name = format!("{} at EI {}", recipe.film.name, recipe.ei);
    let mut lines: Vec<String> = found.steps.iter().map(|step| format!("{name}, {step}")).collect();
    lines.extend(found.warnings.iter().map(|w| format!("{name}: {w}")));
    Ok((i64::from(found.time.get()), lines))
}

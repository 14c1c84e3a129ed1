//! Whether the bottle in somebody's hand is the one for the step at hand.

use super::at_sink::Seen;
use super::process::{Step, StepKind};
use crate::baths::{self, Bath, Kind, State, Way};
use crate::clock::Moment;
use crate::db::Conn;
use crate::error::Error;
use crate::recipes;
use crate::shelf::{self, Product, Purpose};

/// What a label or a code turned out to be.
enum Found {
    Bath(Box<Bath>, State),
    Bottle(Box<Product>),
}

/// The answer: `good`, `bad` or `note`, and its sentence.
pub(super) type Verdict = (&'static str, String);

/// Looks a bottle up by its label or by what its code holds, and judges it for the present step or,
/// since it is fetched before it is needed, for the next.
///
/// # Errors
/// As the database's.
pub(super) fn judge(
    conn: &mut Conn,
    now: Moment,
    seen: &Seen,
    typed: &str,
) -> Result<Verdict, Error> {
    let typed = typed.trim();
    let found = look_up(conn, now, typed)?;
    let steps = [seen.live.current(), seen.live.next()];
    for (step, what) in steps.into_iter().flatten().zip(["this step", "the next step"]) {
        let Some(found) = &found else { break };
        if !fits(conn, seen, step, found)? {
            continue;
        }
        let name = found.name();
        return Ok(match found.fault() {
            Some(fault) => {
                ("bad", format!("No. This is {name}, and it is not fit for use: {fault}"))
            }
            None => ("good", format!("Yes: this is {name}, the one for {what}, {}.", step.name)),
        });
    }
    let first = steps.into_iter().flatten().find_map(|s| wanted(conn, seen, s).transpose());
    let Some(wanted) = first.transpose()? else {
        return Ok(("note", "No bottle belongs to this step or the next.".to_owned()));
    };
    let shown: String = typed.chars().take(60).collect();
    let what = match &found {
        Some(found) => format!("That is {}: put it back.", found.name()),
        None => format!("No bottle of the studio is called “{shown}”: put it back."),
    };
    Ok(("bad", format!("No. This step wants {wanted}. {what}")))
}

impl Found {
    fn name(&self) -> String {
        match self {
            Found::Bath(bath, _) => bath.label.clone(),
            Found::Bottle(product) => product.of.name.clone(),
        }
    }

    fn fault(&self) -> Option<&'static str> {
        match self {
            Found::Bath(_, state) if !state.is_usable() => {
                Some(state.cannot_take(0).unwrap_or("it is spent."))
            }
            _ => None,
        }
    }
}

fn look_up(conn: &mut Conn, now: Moment, typed: &str) -> Result<Option<Found>, Error> {
    let after = |mark: &str| -> Option<i64> {
        let rest = typed.split_once(mark)?.1;
        rest.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
    };
    if let Some(id) = after("/shelf/bottles/") {
        return match shelf::bottle(conn, id) {
            Ok((_, product)) => Ok(Some(Found::Bottle(Box::new(product)))),
            Err(Error::NotFound) => Ok(None),
            Err(e) => Err(e),
        };
    }
    let (id, number) = (after("/baths/"), typed.parse::<i64>().ok());
    let all = baths::on_the_shelf(conn, now)?;
    let is_it = |bath: &Bath| {
        Some(bath.id) == id || Some(bath.number) == number || bath.label.eq_ignore_ascii_case(typed)
    };
    if let Some((bath, state)) = all.into_iter().find(|(bath, _)| is_it(bath)) {
        return Ok(Some(Found::Bath(Box::new(bath), state)));
    }
    let mut products = shelf::products(conn)?.into_iter();
    let named = products.find(|p| p.of.name.eq_ignore_ascii_case(typed));
    Ok(named.map(|p| Found::Bottle(Box::new(p))))
}

/// The kind of liquid of a step, if it takes one.
fn liquid(kind: StepKind) -> Option<(Kind, Purpose)> {
    match kind {
        StepKind::Develop => Some((Kind::Developer, Purpose::Developer)),
        StepKind::Stop => Some((Kind::Stop, Purpose::Stop)),
        StepKind::Fix | StepKind::SecondFix => Some((Kind::Fixer, Purpose::Fixer)),
        StepKind::WashAid => Some((Kind::WashAid, Purpose::WashAid)),
        StepKind::Wet => Some((Kind::WettingAgent, Purpose::WettingAgent)),
        StepKind::PreSoak | StepKind::Rinse | StepKind::Wash | StepKind::Hang => None,
    }
}

/// The one bath a step must have, where it is a certain one.
fn certain(seen: &Seen, kind: StepKind) -> Option<i64> {
    match kind {
        StepKind::Develop => seen.run.developer_bath,
        StepKind::Fix => seen.run.fixer_id,
        StepKind::SecondFix => seen.run.steps.second_fixer,
        _ => None,
    }
}

/// What a step wants, by name.
fn wanted(conn: &mut Conn, seen: &Seen, step: &Step) -> Result<Option<String>, Error> {
    if let Some(id) = certain(seen, step.kind) {
        return Ok(Some(baths::one(conn, id)?.of.label));
    }
    Ok(match step.kind {
        StepKind::Develop => Some(seen.run.developer.clone()),
        kind => liquid(kind).map(|(of, _)| format!("a bottle of {}", of.name().to_lowercase())),
    })
}

fn fits(conn: &mut Conn, seen: &Seen, step: &Step, found: &Found) -> Result<bool, Error> {
    let Some((kind, purpose)) = liquid(step.kind) else { return Ok(false) };
    if let Some(id) = certain(seen, step.kind) {
        return Ok(matches!(found, Found::Bath(bath, _) if bath.id == id));
    }
    if step.kind == StepKind::Fix || step.kind == StepKind::SecondFix {
        // A member's own fixer: none of the studio's is right.
        return Ok(false);
    }
    match found {
        Found::Bottle(product) if step.kind == StepKind::Develop => is_of(conn, seen, product),
        Found::Bottle(product) => Ok(product.of.purpose == purpose),
        Found::Bath(bath, _) if bath.kind != kind => Ok(false),
        Found::Bath(bath, _) if step.kind != StepKind::Develop => {
            Ok(bath.material == baths::Material::Film)
        }
        Found::Bath(bath, _) => match bath.product_id.filter(|_| bath.way == Way::Stock) {
            Some(product) => {
                let product = shelf::product(conn, product)?;
                is_of(conn, seen, &product)
            }
            None => Ok(false),
        },
    }
}

/// Whether a product is what the run's developer is poured from.
fn is_of(conn: &mut Conn, seen: &Seen, product: &Product) -> Result<bool, Error> {
    let Some(made_as) = product.of.developer_id.filter(|_| !seen.run.steps.own_developer) else {
        return Ok(false);
    };
    let chart = recipes::developers(conn)?;
    let bottle = |id: i64| chart.iter().find(|d| d.id == id).map(|d| d.product.as_str());
    let same =
        bottle(made_as).is_some_and(|b| !b.is_empty() && Some(b) == bottle(seen.run.developer_id));
    Ok(made_as == seen.run.developer_id || same)
}

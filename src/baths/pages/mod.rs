//! The pages of the baths.

mod acts;
mod call;
mod end;
mod label;
mod list;
mod mix;
mod one;
mod using;

use serde::Serialize;

use super::rules::Bath;
use super::state::State;
use super::timing::timing;
use crate::web::{Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/baths", Who::Member, list::list);
    open.post("/baths", Who::Lead, mix::mix);
    open.get("/baths/new", Who::Lead, mix::new);
    open.get("/baths/retired", Who::Member, list::retired);
    open.get("/baths/{id}", Who::Member, one::one);
    open.get("/baths/{id}/label", Who::Member, label::label);
    open.get("/baths/{id}/use", Who::Member, using::ask);
    open.post("/baths/{id}/uses", Who::Member, using::record);
    open.post("/baths/{id}/clip-tests", Who::Member, acts::clip_test);
    open.post("/baths/{id}/scrap-tests", Who::Member, acts::scrap_test);
    open.post("/baths/{id}/top-ups", Who::Lead, acts::top_up);
    open.post("/baths/{id}/replenishments", Who::Lead, acts::replenish);
    open.post("/baths/{id}/place", Who::Lead, acts::move_to);
    open.get("/baths/{id}/corrections/{entry}", Who::Lead, acts::correction);
    open.post("/baths/{id}/corrections/{entry}", Who::Lead, acts::correct);
    open.get("/baths/{id}/retire", Who::Lead, end::retire_page);
    open.post("/baths/{id}/retire", Who::Lead, end::retire);
    open.get("/baths/{id}/rotate", Who::Lead, end::rotate_page);
    open.post("/baths/{id}/rotate", Who::Lead, end::rotate);
    open.get("/baths/{id}/recall", Who::Lead, call::of_bath);
    open.post("/baths/{id}/recall", Who::Lead, call::call_bath);
    open.get("/recall/bottles/{id}", Who::Lead, call::of_bottle);
    open.post("/recall/bottles/{id}", Who::Lead, call::call_bottle);
}

/// A short line of what a page is about.
#[derive(Debug, Serialize)]
struct Fact {
    term: &'static str,
    text: String,
}

impl Fact {
    fn new(term: &'static str, text: impl Into<String>) -> Fact {
        Fact { term, text: text.into() }
    }
}

/// One thing to choose.
#[derive(Debug, Serialize)]
struct Choice {
    value: String,
    text: String,
}

impl Choice {
    fn new(value: &impl ToString, text: impl Into<String>) -> Choice {
        Choice { value: value.to_string(), text: text.into() }
    }
}

/// What to do about a bath that is not simply good.
fn advice(bath: &Bath, state: &State) -> Option<String> {
    use super::Condition;
    let again =
        if bath.is_fixer() { " Fix again in fresh fixer whatever went through since." } else { "" };
    let said = match state.condition {
        Condition::Good | Condition::Retired => return None,
        Condition::NearLimit => "Mix the next one soon, and label it.".to_owned(),
        Condition::TooOld => "Do not put film in it. Mix a fresh one.".to_owned(),
        Condition::TooLittle => {
            "It no longer covers the film. Top it up (that restores no capacity) or mix a fresh \
             one."
                .to_owned()
        }
        Condition::AtLimit | Condition::FailedTest => {
            format!("Do not put film in it. Mix a fresh one.{again}")
        }
    };
    Some(said)
}

/// By how much film a bath is over its capacity, in rolls' worth; nothing while it is not.
fn over(state: &State) -> Option<String> {
    let over = state.remaining_milli.saturating_neg();
    (over > 0).then(|| super::rules::rolls_in_words(over))
}

/// Where a fresh one like it is mixed.
fn mix_href(bath: &Bath) -> String {
    match bath.product_id {
        Some(product) => format!("/baths/new?product={product}"),
        None => "/baths/new".to_owned(),
    }
}

//! The pages of the day.

mod cards;
mod draft;
mod edits;
mod figures;
mod joining;
mod keeper;
mod list;
mod own;
mod planning;
mod sheet;
mod sink;
mod tanks;
mod tell;
mod what_if;

use chrono::NaiveDate;

use crate::error::Error;
use crate::web::{Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/days", Who::Newcomer, list::list);
    open.post("/days", Who::Lead, list::plan);
    open.get("/days/figures", Who::Lead, figures::figures);
    open.post("/days/figures", Who::Lead, figures::set);
    open.get("/days/planning/{id}", Who::Lead, planning::planning);
    open.get("/days/planning/{id}/state", Who::Lead, planning::state);
    open.post("/days/planning/{id}", Who::Lead, planning::stop);
    open.get("/days/{date}", Who::Newcomer, sheet::sheet);
    open.get("/days/{date}/cards", Who::Newcomer, cards::cards);
    open.get("/tank-cards/{id}", Who::Member, cards::tank_card);
    open.get("/days/{date}/plan", Who::Lead, draft::draft);
    open.get("/days/{date}/what-if", Who::Lead, what_if::what_if);
    open.post("/days/{date}/publish", Who::Lead, draft::publish);
    open.post("/days/{date}/again", Who::Lead, edits::again);
    open.post("/days/{date}/undo", Who::Lead, edits::undo);
    open.post("/days/{date}/conditions", Who::Lead, edits::conditions);
    open.post("/days/{date}/rolls", Who::Lead, edits::roll);
    open.post("/days/{date}/runs/{id}/pin", Who::Lead, edits::pin);
    open.post("/days/{date}/runs/{id}/unpin", Who::Lead, edits::unpin);
    open.post("/days/{date}/slide", Who::Lead, sheet::slide);
    open.post("/days/{date}/runs/{id}/take-back", Who::Lead, sheet::take_back);
    open.get("/rolls/runs", Who::Member, joining::list);
    open.post("/rolls/runs", Who::Member, joining::join);
    open.get("/own-runs", Who::Member, own::form);
    open.post("/own-runs", Who::Member, own::make);
    open.get("/sink", Who::Member, tanks::all);
    open.get("/sink/states", Who::Member, tanks::all_states);
    open.get("/runs/keeper.js", Who::Anyone, keeper::keeper);
    open.get("/runs/{id}", Who::Member, sink::run);
    open.get("/runs/{id}/state", Who::Member, sink::run_state);
    open.post("/runs/{id}/tell", Who::Member, tell::tell);
    open.post("/runs/{id}/bottle", Who::Member, sink::check_bottle);
    open.post("/runs/{id}/end", Who::Member, sink::end);
    open.post("/runs/{id}/fix-again", Who::Member, sink::fix_again);
    open.post("/runs/{id}/abort", Who::Member, sink::abort);
}

/// A date in an address.
fn day_of(path: &str) -> Result<NaiveDate, Error> {
    path.parse().map_err(|_e| Error::NotFound)
}

//! The pages of bookings.

mod board;
mod book;
mod closing;
mod find;
mod form;
mod limits;
mod own;
mod week;

use crate::web::{Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/board", Who::Newcomer, board::show_board);
    open.get("/bookings/new", Who::Newcomer, book::new);
    open.get("/bookings", Who::Newcomer, own::list);
    open.post("/bookings", Who::Newcomer, book::book);
    open.get("/bookings/find", Who::Newcomer, find::find);
    open.get("/bookings/{id}", Who::Newcomer, book::one);
    open.post("/bookings/{id}", Who::Newcomer, book::change);
    open.post("/bookings/{id}/cancel", Who::Newcomer, book::cancel);
    open.get("/room/limits", Who::Lead, limits::show_limits);
    open.post("/room/limits", Who::Lead, limits::change);
    open.get("/room/hours", Who::Lead, closing::hours);
    open.post("/room/hours", Who::Lead, closing::set_hours);
    open.post("/room/days", Who::Lead, closing::add_day);
    open.post("/room/days/{id}/end", Who::Lead, closing::end_day);
    open.get("/room/outages", Who::Lead, closing::outages);
    open.post("/room/outages", Who::Lead, closing::add_outage);
    open.post("/room/outages/{id}/end", Who::Lead, closing::end_outage);
}

/// A published run that a change would hit, and its day.
#[derive(serde::Serialize)]
struct InTheWay {
    text: String,
    href: String,
}

//! The pages of the shelf.

mod bottle;
mod figures;
mod list;
mod product;
mod sheet;

use serde::Serialize;

use crate::web::{Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/shelf", Who::Member, list::list);
    open.get("/shelf/shopping.csv", Who::Member, list::shopping);
    open.get("/shelf/figures", Who::Lead, figures::show);
    open.post("/shelf/figures", Who::Lead, figures::change);
    open.get("/shelf/products/new", Who::Lead, product::new);
    open.post("/shelf/products/new", Who::Lead, product::add);
    open.get("/shelf/products/{id}", Who::Member, product::one);
    open.get("/shelf/products/{id}/change", Who::Lead, product::edit);
    open.post("/shelf/products/{id}/change", Who::Lead, product::change);
    open.post("/shelf/products/{id}/bottles", Who::Lead, product::take_in);
    open.get("/shelf/bottles/{id}", Who::Member, bottle::one);
    open.post("/shelf/bottles/{id}/open", Who::Lead, bottle::open);
    open.post("/shelf/bottles/{id}/count", Who::Lead, bottle::count);
    open.post("/shelf/bottles/{id}/scrap-tests", Who::Lead, bottle::scrap_test);
    open.post("/shelf/bottles/{id}/set-aside", Who::Lead, bottle::set_aside);
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

/// A short line of what a page is about.
#[derive(Debug, Serialize)]
struct Fact {
    term: &'static str,
    text: String,
}

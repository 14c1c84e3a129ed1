use serde::Serialize;

use super::Recipe;
use crate::clock::Moment;
use crate::error::Error;
use crate::outbox::{Letter, Recipient, write};

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    film: &'a str,
    ei: i64,
    developer: &'a str,
    approved: bool,
    why: &'a str,
}

pub(super) fn decided(
    now: Moment,
    to: &Recipient,
    recipe: &Recipe,
    approved: bool,
    why: &str,
) -> Result<Letter, Error> {
    let about = About {
        name: &to.name,
        film: &recipe.film.name,
        ei: recipe.ei,
        developer: &recipe.developer.name,
        approved,
        why,
    };
    let (subject, body) = write("recipe_decided", &about)?;
    Ok(Letter {
        kind: "recipe_decided",
        to: to.clone(),
        subject,
        body,
        optional: true,
        link: None,
        dedupe_key: format!("recipe_decided {}", recipe.id),
        send_after: now,
    })
}

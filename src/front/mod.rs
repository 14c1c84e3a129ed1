//! The front page: open or not, the notes, the baths, one's own day.

mod first_steps;
mod pages;
mod store;
mod waits;

use crate::web::Routes;

/// The door of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

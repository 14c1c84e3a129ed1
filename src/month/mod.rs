//! The month in pictures: how much of the room was used, what came in and was developed, what was
//! used up. Nobody is named in it.

mod drawing;
mod pages;
mod rules;

use crate::web::Routes;

/// The door of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

//! The front page: open or not, the notes, the baths, one's own day.

mod pages;

use crate::web::Routes;

/// The door of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

//! Looking for anything, from any page. Each room looks among its own things, by its own rules of who
//! may see what; here only a few of each kind are gathered, behind the doors open to whoever asks.

mod kinds;
mod pages;
mod rules;

use crate::web::Routes;

/// The door of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}

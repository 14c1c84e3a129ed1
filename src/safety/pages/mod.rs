//! The pages of this room.

mod blanks;
mod edit;
mod induction;
mod poster;
mod questions;
mod read;
mod record;
mod versions;
mod way_in;

use crate::web::Routes;

/// What stands for the shelf's hazard lines where a text is shown that does not hold now.
const SHELF_PLACE: &str = "<p>(The hazard lines of the shelf stand here.)</p>";

pub(super) fn routes(open: &mut Routes) {
    read::routes(open);
    versions::routes(open);
    poster::routes(open);
    edit::routes(open);
    blanks::routes(open);
    questions::routes(open);
    way_in::routes(open);
    induction::routes(open);
    record::routes(open);
}

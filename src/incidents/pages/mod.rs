//! The pages of this room.

mod eyewash;
mod incident;
mod settings;

use super::Here;
use crate::app::App;
use crate::web::Routes;

pub(super) fn routes(open: &mut Routes) {
    incident::routes(open);
    eyewash::routes(open);
    settings::routes(open);
}

/// Where a change of this request happens.
fn here(app: &App) -> Here {
    Here { now: app.clock.now(), address: app.config.base_url.clone() }
}

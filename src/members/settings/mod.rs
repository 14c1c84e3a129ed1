//! The studio's own settings, as leads change them.

mod pages;

use crate::web::Routes;

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}

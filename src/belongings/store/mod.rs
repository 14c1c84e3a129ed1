//! Questions to the other rooms' tables; nothing is written here.

pub(super) mod room;
pub(super) mod work;

//! What the makers' data sheets say of the products, concentrate and working strength apart, typed
//! in once: labels, mix sheets, sinks, notes and the time chart all find their hazard lines here.

mod store;

pub use store::{all, keep, of_developer, of_developers, of_product};

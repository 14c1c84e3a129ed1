//! The hall: who is asking, which doors there are, how a page and an error look.

mod address;
mod assets;
pub mod cell;
mod csv_file;
mod drawing;
mod explain;
mod fields;
mod figures;
mod filled;
mod form;
mod headers;
mod health;
mod kept;
mod look;
mod metrics;
mod origin;
mod page;
mod problem;
mod qr;
mod recognise;
mod routes;
mod upload;
mod words;

pub use address::client_address;
pub use assets::Assets;
pub use csv_file::{csv_file, csv_text};
pub use drawing::{Mark, in_proportion};
pub use explain::explain;
pub use fields::Fields;
pub use figures::thousandths;
pub use filled::{Asked, Body, Filled, read_json};
pub use form::Form;
pub use headers::guard_headers;
pub use kept::{KeptPages, page_key, show_and_keep, show_kept};
pub use metrics::{Metrics, measure};
pub use origin::refuse_foreign;
pub use page::{Flash, Pages, go, show, show_form};
pub use problem::{Problem, Problems};
pub use qr::{Qr, qr};
pub use recognise::{
    Lead, Member, Newcomer, Visitor, beat, recognise, session_cookie, sign_out_cookie,
};
pub use routes::{Door, Routes, Who, may_look};
pub use upload::Upload;
pub use words::{DAYS, MONTHS, Words, beginning, counted, spoken};

/// The doors of the hall itself.
pub fn routes(open: &mut Routes) {
    health::routes(open);
    metrics::routes(open);
    assets::routes(open);
    look::routes(open);
}

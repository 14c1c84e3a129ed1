//! What there is and what of it is taken, as values: so that a whole week of wishes can be tried
//! without asking the database again.

use std::collections::BTreeMap;

use super::seating::most_at_once;
use super::{Held, Kind, Light};
use crate::clock::Span;

/// What of the room is promised within a stretch of time.
#[derive(Clone, Debug, Default)]
pub struct Supply {
    pub(super) seats: BTreeMap<(Kind, i64), i64>,
    pub(super) taken: BTreeMap<(Kind, i64), Vec<Held>>,
    pub(super) lights: Vec<Lit>,
}

/// A light that somebody needs in a room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lit {
    /// The room.
    pub room_id: i64,
    /// The light.
    pub light: Light,
    /// When.
    pub span: Span,
    /// The booking that needs it, where it is one.
    pub booking: Option<i64>,
}

impl Supply {
    /// How many there are.
    #[must_use]
    pub fn owned(&self, kind: Kind, of_id: i64) -> i64 {
        self.seats.get(&(kind, of_id)).copied().unwrap_or(0)
    }

    /// What is promised of it, by time.
    #[must_use]
    pub fn held(&self, kind: Kind, of_id: i64) -> &[Held] {
        self.taken.get(&(kind, of_id)).map_or(&[], Vec::as_slice)
    }

    /// How many are free all through the span; counted things are dealt out anew where it helps.
    #[must_use]
    pub fn free(&self, kind: Kind, of_id: i64, span: Span) -> i64 {
        let spans: Vec<Span> = self.held(kind, of_id).iter().map(|h| h.span).collect();
        let most = i64::try_from(most_at_once(&spans, span)).unwrap_or(i64::MAX);
        (self.owned(kind, of_id) - most).max(0)
    }

    /// Another light that is promised in the room within the span, if any.
    #[must_use]
    pub fn other_light(&self, room_id: i64, light: Light, span: Span) -> Option<&Lit> {
        self.lights.iter().find(|l| l.room_id == room_id && l.light != light && l.span.meets(&span))
    }

    /// The same supply without what one booking holds.
    #[must_use]
    pub fn without(mut self, booking: i64) -> Supply {
        for held in self.taken.values_mut() {
            held.retain(|h| h.why != super::Why::Booking(booking));
        }
        self.lights.retain(|l| l.booking != Some(booking));
        self
    }
}

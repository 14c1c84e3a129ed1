//! The text of a feed (RFC 5545): instants in UTC, so that no zone needs describing. Pure.

use icalendar::{Calendar, Component, Event, EventLike, EventStatus, Property};

use crate::clock::{Moment, Span};

/// One entry of a feed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The same for the whole life of the booking, and nobody else's.
    pub uid: String,
    /// How often it changed since it was made: 0 when new.
    pub sequence: u32,
    /// When it was made.
    pub created: Moment,
    /// When it last changed.
    pub changed: Moment,
    /// When it is.
    pub span: Span,
    /// What it is called.
    pub summary: String,
    /// What else to know; may be empty.
    pub description: String,
    /// Where.
    pub location: String,
    /// Whether it was called off.
    pub is_cancelled: bool,
}

fn event(e: &Entry) -> Event {
    let mut event = Event::with_uid(&e.uid);
    event
        .timestamp(e.changed.utc())
        .created(e.created.utc())
        .last_modified(e.changed.utc())
        .starts(e.span.from.utc())
        .ends(e.span.to.utc())
        .sequence(e.sequence)
        .summary(&e.summary)
        .location(&e.location)
        .status(if e.is_cancelled { EventStatus::Cancelled } else { EventStatus::Confirmed });
    if !e.description.is_empty() {
        event.description(&e.description);
    }
    if e.is_cancelled {
        // The time is free again.
        event.add_property("TRANSP", "TRANSPARENT");
    }
    event.done()
}

/// The whole feed. Its name and how often to look again are as RFC 7986 has them.
#[must_use]
pub fn text(name: &str, entries: &[Entry]) -> String {
    let mut calendar = Calendar::empty();
    let mut hourly = Property::new("REFRESH-INTERVAL", "PT1H");
    hourly.add_parameter("VALUE", "DURATION");
    calendar
        .append_property(Property::new("VERSION", "2.0"))
        .append_property(Property::new("PRODID", "-//Wetside//Feed//EN"))
        .append_property(Property::new("CALSCALE", "GREGORIAN"))
        .append_property(Property::new("NAME", name))
        .append_property(hourly.done());
    for entry in entries {
        calendar.push(event(entry));
    }
    folded(&calendar.to_string())
}

/// The most octets of a line, its break not counted (RFC 5545, 3.1).
const LINE: usize = 75;

/// The same text with lines of the standard's length: the crate's continued lines are one octet
/// longer, the space they begin with.
fn folded(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + text.len() / 32);
    for line in text.replace("\r\n ", "").split_terminator("\r\n") {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > LINE {
                out.push_str("\r\n ");
                octets = 1;
            }
            out.push(c);
            octets += c.len_utf8();
        }
        out.push_str("\r\n");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn entry(summary: &str) -> Entry {
        Entry {
            uid: "booking-7-abc".to_owned(),
            sequence: 2,
            created: Moment(1_805_104_800),
            changed: Moment(1_805_108_400),
            span: Span { from: Moment(1_805_220_000), to: Moment(1_805_227_200) },
            summary: summary.to_owned(),
            description: String::new(),
            location: "Quillhaven Commons Darkroom".to_owned(),
            is_cancelled: false,
        }
    }

    /// The logical lines of a feed: folds undone (RFC 5545, 3.1).
    fn unfolded(text: &str) -> Vec<String> {
        text.replace("\r\n ", "").split("\r\n").map(ToOwned::to_owned).collect()
    }

    #[test]
    fn a_booking_is_written_in_utc_with_its_number_of_changes() {
        let lines = unfolded(&text("Mine", &[entry("North sink; the cold one, left")]));
        for wanted in [
            "DTSTART:20270316T180000Z",
            "DTEND:20270316T200000Z",
            "DTSTAMP:20270315T110000Z",
            "UID:booking-7-abc",
            "SEQUENCE:2",
            "STATUS:CONFIRMED",
            "SUMMARY:North sink\\; the cold one\\, left",
        ] {
            assert!(lines.iter().any(|l| l == wanted), "{wanted} is missing in {lines:#?}");
        }
        let gone = Entry { is_cancelled: true, ..entry("North sink") };
        assert!(text("Mine", &[gone]).contains("STATUS:CANCELLED\r\n"));
    }

    proptest! {
        #[test]
        fn no_name_or_note_breaks_a_line(summary in "\\PC{0,200}", note in "(\\PC|\n){0,300}") {
            let e = Entry { description: note, ..entry(&summary) };
            let text = text(&summary, &[e]);
            prop_assert!(text.ends_with("END:VCALENDAR\r\n"));
            for line in text.split("\r\n") {
                prop_assert!(line.len() <= 75, "{} octets in {line}", line.len());
                prop_assert!(!line.contains(['\r', '\n']));
            }
            let begun = unfolded(&text).iter().filter(|l| l.starts_with("BEGIN:")).count();
            prop_assert_eq!(begun, 2, "nothing typed opens a component");
        }
    }
}

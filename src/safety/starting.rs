//! The notes the program comes with, written for it from published sources named in each.

/// A note as it is shipped.
pub(super) struct Starting {
    pub(super) slug: &'static str,
    pub(super) title: &'static str,
    pub(super) summary: &'static str,
    pub(super) body: &'static str,
    pub(super) essential: bool,
}

/// In their posted order.
pub(super) const NOTES: [Starting; 3] = [
    Starting {
        slug: "before-you-begin",
        title: "Before you begin",
        summary: "Eyes, hands, air, and what to do when something goes wrong.",
        body: include_str!("starting/before-you-begin.md"),
        essential: true,
    },
    Starting {
        slug: "mixing",
        title: "Mixing chemicals",
        summary: "Water first, chemical into water, and what must never meet.",
        body: include_str!("starting/mixing.md"),
        essential: true,
    },
    Starting {
        slug: "where-it-goes",
        title: "What goes where afterwards",
        summary: "Used developer, stop bath, fixer and its silver: collect, do not pour.",
        body: include_str!("starting/where-it-goes.md"),
        essential: true,
    },
];

#[cfg(test)]
mod tests {
    use super::NOTES;

    #[test]
    fn every_shipped_note_names_its_sources_and_defers() {
        for note in &NOTES {
            assert!(note.body.contains("## Sources"), "{}", note.slug);
            for word in ["safety data sheet", "local", "licensed"] {
                assert!(note.body.contains(word), "{} does not defer to: {word}", note.slug);
            }
        }
    }
}

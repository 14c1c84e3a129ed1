//! The notes the program comes with, written for it. In their files every statement ends in the
//! row of its source, `{EYE-2}`, or in `{practice}`; posted, a note has numbers, a list of sources
//! at its foot, and the sentence that says who decides.

use super::sources;

/// A note as it is shipped.
pub(super) struct Starting {
    pub(super) slug: &'static str,
    pub(super) title: &'static str,
    pub(super) summary: &'static str,
    text: &'static str,
    pub(super) essential: bool,
    pub(super) questions: &'static [Asked],
}

/// A question of understanding as it is shipped: the question, the right answer, wrong ones, why.
pub(super) struct Asked(
    pub(super) &'static str,
    pub(super) &'static str,
    pub(super) [&'static str; 2],
    pub(super) &'static str,
);

/// Who decides: at the foot of every shipped note.
pub(super) const DEFERRAL: &str = "This note only reminds you of the usual cautions. The maker's \
    safety data sheet, your local codes and licensed practice decide; where they say otherwise, \
    they are right.";

impl Starting {
    /// The note in Markdown as it is posted.
    pub(super) fn body(&self) -> String {
        let mut rows: Vec<&str> = Vec::new();
        let mut body = String::with_capacity(self.text.len() + 2000);
        let mut has_practice = false;
        let mut rest = self.text;
        while let Some((before, mark, after)) = next_mark(rest) {
            body.push_str(before);
            rest = after;
            if mark == PRACTICE {
                has_practice = true;
                body.push_str("(practice)");
                continue;
            }
            let known = rows.iter().position(|r| *r == mark);
            let place = known.unwrap_or_else(|| {
                rows.push(mark);
                rows.len() - 1
            });
            body.push_str(&format!("({})", place + 1));
        }
        body.push_str(rest);
        body.push_str("\n## Sources\n\n");
        for (row, number) in rows.iter().zip(1..) {
            let line = sources::of(row).map(sources::Source::line).unwrap_or_default();
            body.push_str(&format!("{number}. {line}\n"));
        }
        if has_practice {
            body.push_str("\nPractice: common practice, no source.\n");
        }
        body.push_str(&format!("\n{DEFERRAL}\n"));
        body
    }
}

/// How a statement without a source is marked.
pub(super) const PRACTICE: &str = "practice";

/// The text before the next `{mark}`, the mark, and the text after it.
fn next_mark(text: &str) -> Option<(&str, &str, &str)> {
    let (before, rest) = text.split_once('{')?;
    let (mark, after) = rest.split_once('}')?;
    Some((before, mark, after))
}

macro_rules! note {
    ($slug:literal, $title:literal, $summary:literal, $essential:literal, $questions:expr) => {
        Starting {
            slug: $slug,
            title: $title,
            summary: $summary,
            text: include_str!(concat!("starting/", $slug, ".md")),
            essential: $essential,
            questions: $questions,
        }
    };
}

/// In their posted order.
pub(super) const NOTES: &[Starting] = &[
    note!(
        "before-you-begin",
        "Before you begin",
        "The short form: what to wear, where help is, what to do when something goes wrong.",
        true,
        &[
            Asked(
                "You open a bottle of concentrate for the first time. What comes before?",
                "Reading its safety data sheet, and gloves, apron and eye protection on",
                ["Smelling at it, to see whether it is still good", "Asking who bought it"],
                "The sheet says what it can do to you; gloves, apron and eyes come before the bottle.",
            ),
            Asked(
                "May you mix concentrates while you are alone in the building?",
                "No, never",
                ["Yes, if the fan runs", "Yes, after the induction"],
                "Nobody is alone in the building with concentrates or in total darkness.",
            ),
        ]
    ),
    note!(
        "eyes-and-hands",
        "Eyes and hands",
        "Goggles, gloves, and how the eyewash must work.",
        false,
        &[]
    ),
    note!(
        "mixing",
        "Mixing chemicals",
        "Water first, chemical into water, label at once.",
        true,
        &[Asked(
            "You dilute an acid. What goes into what?",
            "The acid into the water",
            ["The water into the acid", "Both at once into an empty jug"],
            "Chemical into water, and above all acid into water, never the reverse: it would boil \
             up and spit.",
        )]
    ),
    note!(
        "never-meet",
        "What must never meet",
        "Pairs that give off poisonous gas, and how to tell one bleach from the other.",
        true,
        &[Asked(
            "Somebody has poured stop bath into household bleach. What do you do?",
            "Everybody out, door shut, call for help from outside",
            ["Pour in plenty of water", "Open the lid of the fixer to neutralise it"],
            "Chlorine is given off. Nothing you could pour makes it safe; air and distance do.",
        )]
    ),
    note!(
        "breathing",
        "Breathing and ventilation",
        "The fan, fresh air, and the gases there can be.",
        false,
        &[]
    ),
    note!(
        "skin",
        "Skin that becomes allergic",
        "Developers can make the skin sensitive for life.",
        false,
        &[]
    ),
    note!(
        "your-own-body",
        "Pregnancy, asthma, allergies: ask a doctor",
        "Nobody asks about your health here; a doctor can answer what we cannot.",
        false,
        &[]
    ),
    note!(
        "food-children-vessels",
        "Food, children, kitchen vessels",
        "What never comes in, and what never goes back.",
        false,
        &[]
    ),
    note!("spills", "Spills", "Small ones, large ones, and splashes on skin.", false, &[]),
    note!(
        "splash-in-the-eye",
        "A splash in the eye",
        "Rinse at once, call while you rinse, at least 15 minutes.",
        true,
        &[Asked(
            "Developer has splashed into somebody's eye. For how long is it rinsed?",
            "At least 15 minutes, longer because it is alkaline, until help takes over",
            ["Until it stops hurting", "Two minutes, then a doctor"],
            "At once, at least 15 minutes; alkali goes on burning when it has stopped hurting.",
        )]
    ),
    note!(
        "swallowed",
        "Something was swallowed",
        "Call the poison centre; do not make them vomit.",
        false,
        &[]
    ),
    note!("electricity", "Electricity near water", "Sockets, leads, wet hands.", false, &[]),
    note!("phones-and-chargers", "Phones and chargers", "In the wet and in the dark.", false, &[]),
    note!(
        "total-darkness",
        "Working in total darkness",
        "Before the light goes out, and when to put it on whatever it costs.",
        false,
        &[]
    ),
    note!(
        "never-alone",
        "Nobody alone",
        "With concentrates, in the dark, and the last one out.",
        false,
        &[]
    ),
    note!(
        "labels",
        "Labels",
        "What every shared bottle says.",
        true,
        &[Asked(
            "A bottle stands on the shelf without a label. What do you do with it?",
            "I leave it alone and tell a lead",
            ["I smell at it to find out", "I pour it into the used fixer"],
            "What has no label is not used, smelt or poured into anything.",
        )]
    ),
    note!(
        "chemicals",
        "The chemicals on our shelf",
        "Each product with its hazard lines, and what its kind often holds.",
        false,
        &[]
    ),
    note!(
        "where-it-goes",
        "What goes where afterwards",
        "Used developer, stop bath, fixer and its silver: collect, do not pour.",
        true,
        &[Asked(
            "Used fixer: what do you do with it while no local rule is written in the note?",
            "I collect it in its own labelled container",
            ["I pour it away with plenty of water", "I pour it into the used developer"],
            "It holds silver. Until a lead has written the local rule down: collect, do not pour.",
        )]
    ),
    note!("who-to-call", "Who to call", "Numbers, places, and what to say.", false, &[]),
];

/// A first induction list; a lead makes it their own.
pub(super) const INDUCTION: [&str; 8] = [
    "Has shown where eyewash, first-aid kit, spill kit, extinguisher, mains switch and way out are",
    "Has run the eyewash and found it with eyes shut",
    "Has put on gloves, apron and goggles that fit, and knows when gloves are changed",
    "Has mixed a working bath under a lead's eyes: water first, label at once",
    "Has read a label and found the safety data sheet that goes with it",
    "Has loaded a reel in daylight, then in the dark, and got out of the dark room alone",
    "Has put used developer, stop bath and fixer where each belongs",
    "Knows check-in, check-out and the list of the last one out",
];

#[cfg(test)]
mod tests;

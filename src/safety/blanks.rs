//! Blanks in notes: places and numbers of this very studio, and local rules, which a lead fills in.
//! In Markdown a blank is written `[[eyewash-place]]`.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::hazards::{Lines, Sheet, Strength};

/// What a blank is filled with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A few words: a place, a number.
    Words,
    /// A local rule about what may be poured away: its words, its authority, its date.
    Rule,
}

/// A blank there is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Blank {
    pub(super) key: &'static str,
    pub(super) label: &'static str,
    pub(super) kind: Kind,
}

const fn words(key: &'static str, label: &'static str) -> Blank {
    Blank { key, label, kind: Kind::Words }
}

const fn rule(key: &'static str, label: &'static str) -> Blank {
    Blank { key, label, kind: Kind::Rule }
}

/// All of them, in the order of their form.
pub(super) const BLANKS: &[Blank] = &[
    words("emergency-number", "Emergency number"),
    words("poison-centre", "Poison centre: number and hours"),
    words("street-address", "Address to give to those who come to help"),
    words("safety-lead-contact", "How the safety lead is reached"),
    words("eyewash-place", "Where the eyewash is"),
    words("first-aid-place", "Where the first-aid kit is"),
    words("spill-kit-place", "Where the spill kit is"),
    words("extinguisher-place", "Where the fire extinguisher is"),
    words("mains-switch-place", "Where the mains switch is"),
    words("data-sheets-place", "Where the safety data sheets are"),
    words("developer-container", "Container for used developer"),
    words("fixer-container", "Container for used fixer"),
    words("other-container", "Container for bleaches and toners"),
    words("waste-collector", "Who collects the waste"),
    rule("rule-developer", "Local rule for used developer"),
    rule("rule-stop-bath", "Local rule for used stop bath"),
    rule("rule-fixer", "Local rule for used fixer"),
    rule("rule-wash-water", "Local rule for later wash water"),
    rule("rule-bleach", "Local rule for bleaches and toners"),
    rule("rule-old-chemicals", "Local rule for concentrates and powders past their date"),
    rule("rule-empty-bottles", "Local rule for empty bottles"),
];

/// The place in a note where the shelf's hazard lines stand.
pub(super) const SHELF: &str = "shelf-hazards";

/// The blank of that key.
pub(super) fn of(key: &str) -> Option<&'static Blank> {
    BLANKS.iter().find(|b| b.key == key)
}

/// Whether a note may use this key.
pub(super) fn known(key: &str) -> bool {
    key == SHELF || of(key).is_some()
}

/// The keys a text uses, in order, each once.
pub(super) fn keys_in(text: &str) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    let mut rest = text;
    while let Some((_, key, after)) = next_key(rest) {
        if !keys.iter().any(|k| k == key) {
            keys.push(key.to_owned());
        }
        rest = after;
    }
    keys
}

/// The text before the next `[[key]]`, the key, and the text after it.
pub(super) fn next_key(text: &str) -> Option<(&str, &str, &str)> {
    let mut from = 0;
    loop {
        let open = from + text.get(from..)?.find("[[")?;
        let inside = text.get(open + 2..)?;
        let is_part = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        let length = inside.find(|c| !is_part(c)).unwrap_or(inside.len());
        let (key, after) = inside.split_at_checked(length)?;
        if length > 0
            && let Some(after) = after.strip_prefix("]]")
        {
            return Some((text.get(..open)?, key, after));
        }
        from = open + 2;
    }
}

/// What a blank is filled with now.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filling {
    /// The words.
    pub value: String,
    /// Who made the rule; empty where it is no rule.
    pub authority: String,
    /// The rule's date.
    pub ruled_on: Option<NaiveDate>,
}

/// All fillings by key.
pub(super) type Fillings = BTreeMap<String, Filling>;

/// What stands on the page in the place of a blank, as harmless HTML.
pub(super) fn shown(key: &str, fillings: &Fillings) -> Option<String> {
    let blank = of(key)?;
    let filled = fillings.get(key).filter(|f| !f.value.trim().is_empty());
    Some(match (blank.kind, filled) {
        (Kind::Words, Some(f)) => format!("<strong class=\"filled\">{}</strong>", escape(&f.value)),
        (Kind::Words, None) => {
            format!("<strong class=\"blank\">Not filled in yet: {}</strong>", escape(blank.label))
        }
        (Kind::Rule, Some(f)) => {
            let on = f.ruled_on.map(|d| format!(", {d}")).unwrap_or_default();
            format!(
                "<strong class=\"filled\">{}</strong> (rule of {}{on})",
                escape(&f.value),
                escape(&f.authority)
            )
        }
        (Kind::Rule, None) => "<strong class=\"blank\">Collect, do not pour: no local rule is \
                               filled in yet.</strong>"
            .to_owned(),
    })
}

/// The shelf's hazard lines as a table of harmless HTML; says so where there are none.
pub(super) fn shelf_table(lines: &[(String, Sheet)]) -> String {
    if lines.is_empty() {
        return "<p><strong class=\"blank\">Nothing is entered on the shelf yet.</strong></p>"
            .to_owned();
    }
    let mut html =
        "<table><thead><tr><th>product</th><th>strength</th><th>its hazard lines</th></tr></thead>\
         <tbody>"
            .to_owned();
    for (name, sheet) in lines {
        let (name, same) = (escape(name), sheet.concentrate == sheet.working);
        let rows = if same { &Strength::ALL[..1] } else { &Strength::ALL[..] };
        for strength in rows {
            let of = if same { "both" } else { strength.shown() };
            let said = said_of(sheet.at(*strength));
            html.push_str(&format!("<tr><td>{name}</td><td>{of}</td><td>{said}</td></tr>"));
        }
    }
    html.push_str("</tbody></table>");
    super::markdown::framed(&html)
}

/// The lines of one strength as harmless HTML, with what its symbols say.
fn said_of(lines: &Lines) -> String {
    if lines.is_empty() {
        return "<strong class=\"blank\">Not yet typed in from its data sheet</strong>".to_owned();
    }
    let symbols = lines.symbols();
    let symbols =
        if symbols.is_empty() { symbols } else { format!(" Symbols: {}.", escape(&symbols)) };
    format!("{}{symbols}", escape(&lines.told()))
}

fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn blanks_are_found_between_double_brackets() {
        assert_eq!(keys_in("a [[x-1]] b [[y]] [[x-1]] [[Not]] [[ no ]] [[open"), ["x-1", "y"]);
        assert_eq!(keys_in("[[[[a]]"), ["a"]);
    }

    #[test]
    fn a_rule_says_whose_it_is_and_an_empty_one_says_collect() {
        let mut fillings = Fillings::new();
        assert!(shown("rule-fixer", &fillings).unwrap().contains("Collect, do not pour"));
        fillings.insert(
            "rule-fixer".to_owned(),
            Filling {
                value: "Licensed <b>collector</b> only".to_owned(),
                authority: "Quillhaven Harbour Board".to_owned(),
                ruled_on: "2026-03-01".parse().ok(),
            },
        );
        let said = shown("rule-fixer", &fillings).unwrap();
        assert!(said.contains("Quillhaven Harbour Board"));
        assert!(said.contains("2026-03-01") && !said.contains("<b>"), "{said}");
        assert!(shown("eyewash-place", &fillings).unwrap().contains("Not filled in yet"));
        assert_eq!(shown("nothing", &fillings), None);
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "\\PC{0,80}(\\[\\[)?\\PC{0,20}") {
            let _ = keys_in(&text);
        }
    }
}

//! Markdown to harmless HTML: no raw HTML, no pictures, bounded depth and size; the result is
//! cleaned once more by a sanitiser.

use std::collections::HashSet;

use ammonia::Builder;
use pulldown_cmark::{
    CowStr, Event, HeadingLevel, Options, Parser, Tag, TagEnd, TextMergeStream, html,
};

use super::blanks::{self, Fillings};

/// The most characters a note may have.
pub(super) const LONGEST: usize = 40_000;
/// The deepest nesting of lists, quotes and tables.
const DEEPEST: usize = 10;
/// The most pieces (words between marks, cells, items) a note may have.
const MOST_PIECES: usize = 8_000;

fn parser(text: &str) -> TextMergeStream<'_, Parser<'_>> {
    TextMergeStream::new(Parser::new_ext(text, Options::ENABLE_TABLES))
}

/// Why a text cannot be posted, if it cannot.
pub(super) fn fault(text: &str) -> Option<String> {
    let count = text.chars().count();
    if count > LONGEST {
        return Some(format!("A note may have {LONGEST} characters; this has {count}."));
    }
    let (mut depth, mut pieces) = (0_usize, 0_usize);
    for event in parser(text) {
        pieces += 1;
        match event {
            Event::Start(_) => depth += 1,
            Event::End(_) => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > DEEPEST {
            return Some(format!(
                "Lists and quotes stand more than {DEEPEST} deep in one another. Bring them nearer \
                 to the margin."
            ));
        }
        if pieces > MOST_PIECES {
            return Some(
                "This note has too many pieces (table cells, items, links). Make two notes of it."
                    .to_owned(),
            );
        }
    }
    let unknown = blanks::keys_in(text).into_iter().find(|k| !blanks::known(k))?;
    Some(format!(
        "There is no blank called [[{unknown}]]. The blanks there are stand under “Blanks”; write \
         anything else without the double brackets."
    ))
}

/// The text as HTML. Blanks are filled in. Headings begin at the second level, because the page's
/// title is the first. What is too deep or too long is left out.
pub(super) fn to_html(text: &str, fillings: &Fillings) -> String {
    let text =
        text.char_indices().nth(LONGEST).map_or(text, |(end, _)| text.get(..end).unwrap_or(""));
    let mut raw = String::with_capacity(text.len() * 2);
    html::push_html(&mut raw, tamed(text, fillings).into_iter());
    framed(&clean(&raw))
}

/// Tables in a frame of their own that can be moved sideways, also by keyboard; each is called by
/// the heads of its columns, and so is every cell, for where a row is shown as a block.
pub(super) fn framed(html: &str) -> String {
    let mut out = String::with_capacity(html.len() * 2);
    let mut parts = html.split("<table>");
    out.push_str(parts.next().unwrap_or_default());
    for part in parts {
        let (table, rest) = part.split_once("</table>").unwrap_or((part, ""));
        let heads = heads(table);
        let name = if heads.is_empty() { "without heads".to_owned() } else { heads.join(", ") };
        out.push_str(&format!(
            "<div class=\"table-room blocks\" role=\"group\" tabindex=\"0\" \
             aria-label=\"Table: {name}\"><table aria-label=\"{name}\">"
        ));
        let mut rows = table.split("<tr>");
        out.push_str(rows.next().unwrap_or_default());
        for row in rows {
            out.push_str("<tr>");
            let mut cells = row.split("<td>");
            out.push_str(cells.next().unwrap_or_default());
            for (place, cell) in cells.enumerate() {
                let head = heads.get(place).map_or("", String::as_str);
                out.push_str(&format!("<td data-label=\"{head}\">{cell}"));
            }
        }
        out.push_str("</table></div>");
        out.push_str(rest);
    }
    out
}

/// The heads of the columns of a table of harmless HTML, fit for an attribute.
fn heads(table: &str) -> Vec<String> {
    let Some((head, _)) = table.split_once("</thead>") else { return Vec::new() };
    let cells = head.split("<th>").skip(1);
    cells
        .map(|cell| {
            let texts = cell.split('<').enumerate().map(|(n, piece)| match piece.split_once('>') {
                Some((_, text)) if n > 0 => text,
                _ => piece,
            });
            // Plain words only: what could be read as an attribute or an address stays out.
            texts.collect::<String>().trim().replace(['"', '=', ':', '`'], "")
        })
        .collect()
}

/// The page with the shelf's hazard lines in their place; `lines` is harmless HTML.
pub(super) fn with_shelf(html: String, lines: &str) -> String {
    let place = format!("<p>[[{}]]</p>", blanks::SHELF);
    if html.contains(&place) { html.replace(&place, lines) } else { html }
}

/// The events without pictures and raw HTML, within the bounds.
fn tamed<'a>(text: &'a str, fillings: &Fillings) -> Vec<Event<'a>> {
    let mut out = Vec::new();
    let (mut depth, mut dropped) = (0_usize, 0_usize);
    for event in parser(text).take(MOST_PIECES) {
        match event {
            Event::Start(tag) => {
                depth += 1;
                if depth > DEEPEST || matches!(tag, Tag::Image { .. }) {
                    dropped += 1;
                } else if dropped == 0 {
                    out.push(Event::Start(lowered(tag)));
                }
            }
            Event::End(tag) => {
                if dropped == 0 {
                    out.push(Event::End(lowered_end(tag)));
                } else if depth > DEEPEST || matches!(tag, TagEnd::Image) {
                    dropped -= 1;
                }
                depth = depth.saturating_sub(1);
            }
            _ if dropped > 0 => {}
            Event::Html(raw) | Event::InlineHtml(raw) => out.push(Event::Text(raw)),
            Event::Text(words) => fill(&words, fillings, &mut out),
            other => out.push(other),
        }
    }
    out
}

/// The words with their blanks filled in.
fn fill<'a>(words: &CowStr<'a>, fillings: &Fillings, out: &mut Vec<Event<'a>>) {
    let mut rest: &str = words;
    while let Some((before, key, after)) = blanks::next_key(rest) {
        out.push(Event::Text(before.to_owned().into()));
        out.push(match blanks::shown(key, fillings) {
            Some(html) => Event::InlineHtml(html.into()),
            None => Event::Text(format!("[[{key}]]").into()),
        });
        rest = after;
    }
    out.push(Event::Text(rest.to_owned().into()));
}

fn lowered(tag: Tag<'_>) -> Tag<'_> {
    match tag {
        Tag::Heading { level: HeadingLevel::H1, id, classes, attrs } => {
            Tag::Heading { level: HeadingLevel::H2, id, classes, attrs }
        }
        other => other,
    }
}

fn lowered_end(tag: TagEnd) -> TagEnd {
    match tag {
        TagEnd::Heading(HeadingLevel::H1) => TagEnd::Heading(HeadingLevel::H2),
        other => other,
    }
}

fn clean(raw: &str) -> String {
    const TAGS: [&str; 25] = [
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "p",
        "ul",
        "ol",
        "li",
        "strong",
        "em",
        "a",
        "blockquote",
        "code",
        "pre",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "hr",
        "br",
        "sup",
        "sub",
    ];
    Builder::empty()
        .add_tags(TAGS)
        .add_tag_attributes("a", ["href"])
        .add_tag_attributes("ol", ["start"])
        .add_allowed_classes("strong", ["blank", "filled"])
        .url_schemes(HashSet::from(["http", "https", "mailto", "tel"]))
        .link_rel(Some("noopener noreferrer"))
        .clean(raw)
        .to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn html(text: &str) -> String {
        to_html(text, &Fillings::new())
    }

    /// Words that would let a page act, were they in it as markup.
    fn acts(html: &str) -> bool {
        // What stands between angle brackets is markup; all else is only shown.
        html.split('<').skip(1).any(|piece| {
            let tag = piece.split('>').next().unwrap_or_default().to_lowercase();
            let name: String = tag
                .trim_start_matches('/')
                .chars()
                .take_while(char::is_ascii_alphanumeric)
                .collect();
            let bad_name = [
                "script", "style", "img", "iframe", "object", "svg", "math", "form", "input",
                "link", "meta", "base", "video", "audio", "template",
            ]
            .contains(&name.as_str());
            // Between quotes stand values, of which only an address that begins with a scheme
            // acts; outside stand the names of attributes.
            let mut parts = tag.split('"');
            let mut bad_word = false;
            while let Some(names) = parts.next() {
                let value = parts.next().unwrap_or_default();
                let value = value.trim_start_matches(|c: char| c <= ' ');
                bad_word |= [" on", "style=", "srcdoc"].iter().any(|w| names.contains(w))
                    || ["javascript:", "vbscript:", "data:"].iter().any(|w| value.starts_with(w));
            }
            bad_name || bad_word
        })
    }

    #[test]
    fn nothing_in_a_note_can_act() {
        for bad in [
            "<script>alert(1)</script>",
            "<ScRiPt src=//x></sCrIpT>",
            "[x](javascript:alert(1))",
            "[x](JaVaScRiPt:alert(1))",
            "[x](java\nscript:alert(1))",
            "[x](&#106;avascript:alert(1))",
            "[x](vbscript:x)",
            "[x](data:text/html;base64,PHNjcmlwdD4=)",
            "<a href=\"data:text/html,x\" onclick=\"y()\">x</a>",
            "<img src=x onerror=y()>",
            "![x](javascript:y())",
            "![x](https://elsewhere.example/pixel.gif)",
            "<style>p{}</style>",
            "<svg onload=x()><math><mi>",
            "<iframe srcdoc='<script>x()</script>'>",
            "<details open ontoggle=x()>",
            "<form action=/members><input name=role>",
            "<base href=//elsewhere.example>",
            "</article></main><script>x()</script>",
            "<!--><script>x()</script-->",
            "`<script>`",
            "| <img src=x onerror=y()> |\n|---|\n| <script>x</script> |",
            "[[eyewash-place\"><script>x()</script>]]",
        ] {
            let html = html(bad);
            assert!(!acts(&html), "{bad} gave {html}");
        }
    }

    #[test]
    fn what_was_typed_as_markup_is_shown_as_words() {
        assert!(html("a <b>bold</b> word").contains("&lt;b&gt;bold&lt;/b&gt;"));
        assert_eq!(html("# Eyes\n\n- rinse"), "<h2>Eyes</h2>\n<ul>\n<li>rinse</li>\n</ul>\n");
        assert!(html("| a | b |\n|---|--:|\n| 1 | 2 |").contains("<td data-label=\"b\">2</td>"));
        assert!(html("[ours](/notes) [theirs](https://x.example)").contains("href=\"/notes\""));
    }

    #[test]
    fn depth_and_size_are_bounded() {
        let deep = ">".repeat(5_000) + " x";
        assert!(fault(&deep).unwrap().contains("deep"));
        assert!(html(&deep).matches("<blockquote>").count() <= 10);
        let list: String = (0..400).map(|n| format!("{}- x\n", " ".repeat(n * 2))).collect();
        assert!(html(&list).matches("<ul>").count() <= 10);
        let wide =
            format!("|{}\n|{}\n{}", "a|".repeat(2_000), "-|".repeat(2_000), "|\n".repeat(8_000));
        assert!(fault(&wide).unwrap().contains("too many pieces"));
        assert!(html(&wide).len() < 400_000);
        let links = "[a](b) ".repeat(5_000);
        assert!(fault(&links).is_some());
        for open in ["[", "*a ", "_a ", "`", "<", "![", "[a](", "\\", "~~~\n", "&"] {
            let _ = html(&open.repeat(LONGEST / open.len()));
        }
        assert!(fault(&"x".repeat(LONGEST + 1)).unwrap().contains("40000"));
    }

    #[test]
    fn an_unknown_blank_is_named() {
        assert!(fault("at [[eye-wash]]").unwrap().contains("[[eye-wash]]"));
        assert_eq!(fault("at [[eyewash-place]] and [[shelf-hazards]]"), None);
    }

    #[test]
    fn a_blank_in_a_note_is_marked_while_it_is_empty() {
        let mut fillings = Fillings::new();
        let text = "- The eyewash is at: [[eyewash-place]].";
        assert!(to_html(text, &fillings).contains("<strong class=\"blank\">Not filled in yet"));
        let value = "left of the door".to_owned();
        fillings.insert(
            "eyewash-place".to_owned(),
            blanks::Filling { value, ..blanks::Filling::default() },
        );
        assert!(
            to_html(text, &fillings).contains("<strong class=\"filled\">left of the door</strong>"),
            "{}",
            to_html(text, &fillings)
        );
    }

    const PIECES: [&str; 16] = [
        "<script>",
        "</script>",
        "<img src=x onerror=y()>",
        "[x](",
        "javascript:y()",
        ")",
        "\n\n",
        "> ",
        "- ",
        "| a | b |\n|---|---|\n| ",
        "`",
        "[[eyewash-place]]",
        "<!--",
        "\"><svg onload=z()>",
        "&#x3c;script&#x3e;",
        "data:text/html,<b>",
    ];

    #[test]
    fn pieces_that_once_acted_stay_words() {
        let text: String = [1, 3, 10, 15, 5].map(|n: usize| PIECES[n]).concat();
        assert!(!acts(&html(&text)), "{}", html(&text));
    }

    proptest! {
        #[test]
        fn nothing_typed_acts_or_panics(text in "[\\PC\n]{0,400}") {
            prop_assert!(!acts(&html(&text)));
            let _ = fault(&text);
        }

        #[test]
        fn attack_pieces_in_any_order_stay_words(
            picks in proptest::collection::vec(0usize..16, 1..30)
        ) {
            let text: String = picks.iter().map(|n| PIECES[*n]).collect();
            prop_assert!(!acts(&html(&text)), "{}", html(&text));
        }
    }
}

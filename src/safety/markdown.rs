//! Markdown to harmless HTML.

use pulldown_cmark::{Options, Parser, html};

/// The text as HTML without scripts, handlers, images or foreign styles. Headings begin at the
/// second level, because the page's title is the first.
pub(super) fn to_html(text: &str) -> String {
    let mut raw = String::new();
    html::push_html(&mut raw, Parser::new_ext(text, Options::ENABLE_TABLES));
    ammonia::Builder::default().rm_tags(["img"]).clean(&raw).to_string()
}

#[cfg(test)]
mod tests {
    use super::to_html;

    #[test]
    fn nothing_in_a_note_can_act() {
        for bad in [
            "<script>alert(1)</script>",
            "[x](javascript:alert(1))",
            "<a href=\"data:text/html,x\" onclick=\"y()\">x</a>",
            "<img src=x onerror=y()>",
            "<style>p{}</style>",
        ] {
            let html = to_html(bad);
            for word in ["<script", "javascript:", "data:", "onclick", "onerror", "<style", "<img"]
            {
                assert!(!html.contains(word), "{bad} gave {html}");
            }
        }
        assert_eq!(to_html("## Eyes\n\n- rinse"), "<h2>Eyes</h2>\n<ul>\n<li>rinse</li>\n</ul>\n");
    }
}

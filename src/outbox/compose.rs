//! From a row to a message: the secret address put in, a plain and an HTML part, the headers.

use lettre::Message;
use lettre::message::header::{Header, HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart};

use super::{LINK, LetterRow, SITE};
use crate::app::App;
use crate::db::Conn;
use crate::error::Error;
use crate::links;

/// The text with its secret address, made afresh from the key file.
pub(super) fn text(app: &App, conn: &mut Conn, row: &LetterRow) -> Result<String, Error> {
    let body = match row.link_id {
        None => row.body.clone(),
        Some(id) => {
            let link = links::by_id(conn, id)?;
            row.body.replace(LINK, &link.url(&app.key, &app.config.base_url))
        }
    };
    let body = body.replace(SITE, app.config.base_url.trim_end_matches('/'));
    let foot = if row.optional {
        format!("\nYou can do without letters like this one: {}\n", unwanted_url(app, row))
    } else {
        String::new()
    };
    Ok(format!("{body}\n-- \n{}\n{}\n{foot}", app.studio().name, app.config.base_url))
}

/// The address at which this kind of letter is turned off without signing in.
pub(super) fn unwanted_url(app: &App, row: &LetterRow) -> String {
    let member = row.member_id.unwrap_or_default();
    let seal = app.key.seal(&unwanted_text(member, &row.kind));
    format!("{}/letters/unwanted/{member}/{}/{seal}", app.config.base_url, row.kind)
}

/// What the seal in that address covers.
pub(super) fn unwanted_text(member: i64, kind: &str) -> String {
    format!("unwanted {member} {kind}")
}

/// The whole message.
pub(super) fn message(app: &App, row: &LetterRow, text: &str) -> Result<Message, Error> {
    let bad = |what: &str, e: &dyn std::fmt::Display| Error::broken(what, e);
    let from: Mailbox = app.config.mail_from.parse().map_err(|e| bad("sender", &e))?;
    let address = row.to_address.parse().map_err(|e| bad("recipient", &e))?;
    let to = Mailbox::new(Some(row.to_name.clone()), address);
    let mut builder = Message::builder()
        .from(from)
        .to(to)
        .subject(row.subject.clone())
        .message_id(Some(format!("<{}@{}>", row.message_id, app.host())))
        .date(std::time::SystemTime::from(crate::clock::Moment(row.created_s).utc()))
        .header(AutoSubmitted);
    if row.optional {
        builder = builder
            .header(ListUnsubscribe(format!("<{}>", unwanted_url(app, row))))
            .header(ListUnsubscribePost);
    }
    builder
        .multipart(MultiPart::alternative_plain_html(text.to_owned(), html(&row.subject, text)))
        .map_err(|e| bad("letter", &e))
}

/// The same text as plain HTML: paragraphs, lists and addresses that can be pressed.
fn html(subject: &str, text: &str) -> String {
    let mut out = format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>{}</title></head><body>",
        escape(subject)
    );
    for paragraph in text.split("\n\n").filter(|p| !p.trim().is_empty()) {
        let lines: Vec<&str> = paragraph.trim_matches('\n').lines().collect();
        if lines.iter().all(|l| l.starts_with("- ")) {
            out.push_str("<ul>");
            for line in lines {
                out.push_str(&format!("<li>{}</li>", linked(line.trim_start_matches("- "))));
            }
            out.push_str("</ul>");
        } else {
            let lines: Vec<String> = lines.into_iter().map(linked).collect();
            out.push_str(&format!("<p>{}</p>", lines.join("<br>")));
        }
    }
    out.push_str("</body></html>");
    out
}

fn linked(line: &str) -> String {
    line.split(' ')
        .map(|word| {
            let safe = escape(word);
            if word.starts_with("https://") || word.starts_with("http://") {
                format!("<a href=\"{safe}\">{safe}</a>")
            } else {
                safe
            }
        })
        .collect::<Vec<_>>()
        .join(" ")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

macro_rules! plain_header {
    ($type:ident, $name:literal, $self:ident => $value:expr) => {
        impl Header for $type {
            fn name() -> HeaderName {
                HeaderName::new_from_ascii_str($name)
            }
            fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
                Err("only written, never read".into())
            }
            fn display(&$self) -> HeaderValue {
                HeaderValue::new(Self::name(), $value)
            }
        }
    };
}

/// RFC 3834: no holiday notices in answer, please.
#[derive(Clone)]
struct AutoSubmitted;
plain_header!(AutoSubmitted, "Auto-Submitted", self => "auto-generated".to_owned());

/// RFC 2369.
#[derive(Clone)]
struct ListUnsubscribe(String);
plain_header!(ListUnsubscribe, "List-Unsubscribe", self => self.0.clone());

/// RFC 8058.
#[derive(Clone)]
struct ListUnsubscribePost;
plain_header!(ListUnsubscribePost, "List-Unsubscribe-Post", self => "List-Unsubscribe=One-Click".to_owned());

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_keeps_names_harmless_and_addresses_pressable() {
        let page = html("<x>", "Dear <b>Ana</b>,\n\n- one\n- two\n\nhttps://a.example/x?y=1&z=2\n");
        assert!(page.contains("<title>&lt;x&gt;</title>"));
        assert!(page.contains("<p>Dear &lt;b&gt;Ana&lt;/b&gt;,</p>"));
        assert!(page.contains("<ul><li>one</li><li>two</li></ul>"));
        assert!(page.contains("<a href=\"https://a.example/x?y=1&amp;z=2\">"));
    }
}

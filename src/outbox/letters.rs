//! The texts of letters: one template a kind, its subject on the first line.

use std::sync::LazyLock;

use rust_embed::RustEmbed;
use serde::Serialize;

use crate::error::Error;

#[derive(RustEmbed)]
#[folder = "templates/mail/"]
#[include = "*.txt"]
struct Texts;

/// Read once; a pure function of the binary.
static TEXTS: LazyLock<Result<tera::Tera, String>> = LazyLock::new(|| {
    let mut tera = tera::Tera::new();
    tera.autoescape_on(Vec::<&str>::new());
    let files: Vec<(String, String)> = Texts::iter()
        .filter_map(|name| {
            let text = String::from_utf8_lossy(&Texts::get(&name)?.data).into_owned();
            Some((name.to_string(), text))
        })
        .collect();
    tera.add_raw_templates(files)
        .map_err(|e| format!("{e}: {:?}", std::error::Error::source(&e)))?;
    Ok(tera)
});

/// Writes the subject and the text of a letter of this kind.
///
/// # Errors
/// When there is no such kind, or its text asks for what it was not given.
pub fn write(kind: &str, about: &impl Serialize) -> Result<(String, String), Error> {
    let tera = TEXTS.as_ref().map_err(|e| Error::broken("letters", e))?;
    let mut context = tera::Context::new();
    context.insert("about", about);
    context.insert("site", super::SITE);
    let text = tera.render(&format!("{kind}.txt"), &context)?;
    let (subject, body) = text.split_once('\n').unwrap_or((&text, ""));
    // A subject is one line, whatever names it holds.
    let subject: String = subject.chars().filter(|c| !c.is_control()).take(200).collect();
    Ok((subject.trim().to_owned(), format!("{}\n", body.trim())))
}

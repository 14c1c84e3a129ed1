//! Pages: a template, the frame around it, and the word carried to the next page.

use actix_web::cookie::{Cookie, SameSite, time::Duration};
use actix_web::http::{StatusCode, header};
use actix_web::{HttpMessage, HttpRequest, HttpResponse};
use percent_encoding::{NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};
use rust_embed::RustEmbed;
use serde::Serialize;

use super::{Assets, Form};
use crate::app::App;
use crate::error::Error;
use crate::sessions::{Person, Role};

#[derive(RustEmbed)]
#[folder = "templates/"]
#[include = "*.html"]
struct Templates;

/// The templates, ready to be filled.
pub struct Pages(tera::Tera);

impl Pages {
    /// Reads the embedded templates.
    ///
    /// # Errors
    /// When one of them is not well formed.
    pub fn load(assets: &std::sync::Arc<Assets>) -> Result<Pages, Error> {
        let mut tera = tera::Tera::new();
        let assets = assets.clone();
        tera.register_function("asset", move |kwargs: tera::Kwargs, _: &tera::State| {
            let path: &str = kwargs.must_get("path")?;
            assets.url(path).ok_or_else(|| tera::Error::message(format!("no static file {path}")))
        });
        let files: Vec<(String, String)> = Templates::iter()
            .filter_map(|name| {
                let file = Templates::get(&name)?;
                Some((name.to_string(), String::from_utf8_lossy(&file.data).into_owned()))
            })
            .collect();
        tera.add_raw_templates(files)?;
        Ok(Pages(tera))
    }

    /// Fills a template.
    ///
    /// # Errors
    /// When the template asks for what it was not given.
    pub fn fill(&self, name: &str, frame: &Frame, page: tera::Value) -> Result<String, Error> {
        let mut context = tera::Context::new();
        context.insert_value("frame", tera::Value::try_from_serializable(frame)?);
        context.insert_value("page", page);
        // Most pages are shorter, so that hardly one is moved while it grows.
        let mut text = Vec::with_capacity(32 * 1024);
        self.0.render_to(name, &context, &mut text)?;
        String::from_utf8(text).map_err(|e| Error::broken("a page", e))
    }

    /// The names of all templates.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        self.0.get_template_names().map(ToOwned::to_owned).collect()
    }
}

/// A word to the person on the next page.
#[derive(Clone, Debug, Serialize)]
pub struct Flash {
    tone: String,
    text: String,
}

impl Flash {
    /// Something was done.
    pub fn good(text: impl Into<String>) -> Flash {
        Flash { tone: "good".to_owned(), text: text.into() }
    }

    /// Something to know.
    pub fn note(text: impl Into<String>) -> Flash {
        Flash { tone: "note".to_owned(), text: text.into() }
    }

    /// Something went wrong.
    pub fn bad(text: impl Into<String>) -> Flash {
        Flash { tone: "bad".to_owned(), text: text.into() }
    }
}

/// What stands around every page.
#[derive(Debug, Serialize)]
pub struct Frame {
    title: String,
    studio: String,
    lang: &'static str,
    look: &'static str,
    person: Option<Holder>,
    nav: Vec<Nav>,
    flash: Vec<Flash>,
    demo: bool,
    path: String,
    version: &'static str,
    printed: String,
}

#[derive(Debug, Serialize)]
struct Holder {
    name: String,
    role: Role,
}

#[derive(Debug, Serialize)]
struct Nav {
    href: &'static str,
    text: &'static str,
    here: bool,
}

pub(super) const FLASH: &str = "wetside_word";
/// The cookie that remembers the chosen look.
pub(super) const LOOK: &str = "wetside_look";
/// The looks there are.
pub(super) const LOOKS: [&str; 5] = ["auto", "light", "dark", "contrast", "red"];

impl Frame {
    /// The frame for this request; taking it uses up the word from the page before.
    pub(super) fn of(app: &App, req: &HttpRequest, title: &str) -> Frame {
        let person = req.extensions().get::<Person>().cloned();
        let printed = app.words(person.as_ref()).moment(app.clock.now());
        let path = req.path().to_owned();
        let asked = req.cookie(LOOK).map(|c| c.value().to_owned()).unwrap_or_default();
        let look = LOOKS.iter().find(|l| **l == asked).copied().unwrap_or("auto");
        Frame {
            title: title.to_owned(),
            studio: app.studio().name.clone(),
            lang: "en",
            look,
            nav: nav(person.as_ref(), &path, app.config.demo),
            person: person.map(|p| Holder { name: p.name, role: p.role }),
            flash: read_flash(req).into_iter().collect(),
            demo: app.config.demo,
            path,
            version: env!("CARGO_PKG_VERSION"),
            printed,
        }
    }
}

fn nav(person: Option<&Person>, path: &str, demo: bool) -> Vec<Nav> {
    let role = person.map(|p| p.role);
    let mut doors = vec![("/", "Today")];
    if role.is_some() {
        doors.extend([("/board", "Sinks"), ("/presence", "In the building")]);
    }
    if role >= Some(Role::Member) {
        doors.extend([("/rolls", "Rolls"), ("/chart", "Time chart"), ("/baths", "Baths")]);
        doors.push(("/shelf", "Shelf"));
    }
    if role.is_some() {
        doors.push(("/days", "Mix sheets"));
    }
    doors.push(("/notes", "Safety notes"));
    if role == Some(Role::Lead) {
        doors.extend([("/members", "People"), ("/room", "Room"), ("/letters", "Letters")]);
    }
    if demo {
        doors.push(("/demo/letters", "Demo post"));
    }
    let here = |href: &str| if href == "/" { path == "/" } else { path.starts_with(href) };
    doors.into_iter().map(|(href, text)| Nav { href, text, here: here(href) }).collect()
}

fn read_flash(req: &HttpRequest) -> Option<Flash> {
    let cookie = req.cookie(FLASH)?;
    let (tone, text) = cookie.value().split_once('.')?;
    let text = percent_decode_str(text).decode_utf8().ok()?.into_owned();
    let tone = ["good", "note", "bad"].into_iter().find(|t| *t == tone)?;
    Some(Flash { tone: tone.to_owned(), text })
}

fn flash_cookie(value: String) -> Cookie<'static> {
    Cookie::build(FLASH, value)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .max_age(Duration::seconds(60))
        .finish()
}

/// Answers with a page.
///
/// # Errors
/// When the template cannot be filled.
pub fn show(
    app: &App,
    req: &HttpRequest,
    title: &str,
    template: &str,
    page: &impl Serialize,
) -> Result<HttpResponse, Error> {
    respond(app, req, title, template, tera::Value::try_from_serializable(page)?, StatusCode::OK)
}

/// Answers with a page that holds a form, under the form's own status.
///
/// # Errors
/// When the template cannot be filled.
pub fn show_form(
    app: &App,
    req: &HttpRequest,
    (title, template): (&str, &str),
    form: &Form,
    page: &impl Serialize,
) -> Result<HttpResponse, Error> {
    let status = StatusCode::from_u16(form.status).unwrap_or(StatusCode::OK);
    respond(app, req, title, template, tera::Value::try_from_serializable(page)?, status)
}

#[expect(clippy::too_many_arguments, reason = "one place where a page's six parts meet")]
fn respond(
    app: &App,
    req: &HttpRequest,
    title: &str,
    template: &str,
    page: tera::Value,
    status: StatusCode,
) -> Result<HttpResponse, Error> {
    let frame = Frame::of(app, req, title);
    let spent = !frame.flash.is_empty();
    let html = app.pages.fill(template, &frame, page)?;
    let mut res = HttpResponse::build(status);
    res.content_type("text/html; charset=utf-8");
    if spent {
        let mut gone = flash_cookie(String::new());
        gone.make_removal();
        res.cookie(gone);
    }
    Ok(res.body(html))
}

/// Sends the person on to another page of ours, with a word for them.
#[must_use]
pub fn go(to: &str, word: Option<Flash>) -> HttpResponse {
    let mut res = HttpResponse::SeeOther();
    res.insert_header((header::LOCATION, to.to_owned()));
    if let Some(word) = word {
        let text: String = word.text.chars().take(600).collect();
        let text = utf8_percent_encode(&text, NON_ALPHANUMERIC);
        res.cookie(flash_cookie(format!("{}.{text}", word.tone)));
    }
    res.finish()
}

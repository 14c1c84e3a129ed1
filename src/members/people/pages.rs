use actix_web::{HttpRequest, HttpResponse, web};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;

use crate::app::App;
use crate::db::Tx;
use crate::error::Error;
use crate::members::{Member, NewMember, State, mail, read_name, store};
use crate::sessions::Role;
use crate::web::{Asked, Fields, Filled, Flash, Form, Lead, Routes, Who, Words, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/members", Who::Lead, list);
    open.post("/members", Who::Lead, invite);
    open.get("/members/{id}", Who::Lead, one);
    open.post("/members/{id}/{act}", Who::Lead, act);
}

const ROLES: [&str; 3] = ["newcomer", "member", "lead"];

#[derive(Serialize)]
struct Choice {
    value: &'static str,
    text: &'static str,
}

fn roles() -> Vec<Choice> {
    let texts = ["Newcomer: learning the room", "Member: books alone", "Lead: runs the studio"];
    ROLES.into_iter().zip(texts).map(|(value, text)| Choice { value, text }).collect()
}

#[derive(Serialize)]
struct Line {
    id: i64,
    name: String,
    email: String,
    role: &'static str,
    state: &'static str,
    tone: &'static str,
    since: String,
    note: String,
}

impl Line {
    fn of(member: Member, words: &Words) -> Line {
        let (state, tone) = match member.state {
            State::Applied => ("has applied", "note"),
            State::Invited => ("invited", "wait"),
            State::Active => ("active", "good"),
            State::Paused => ("on a break", "off"),
            State::Left => ("has left", "off"),
        };
        Line {
            id: member.id,
            since: words.moment(member.created),
            name: member.name,
            email: member.email.unwrap_or_default(),
            role: member.role.word(),
            state,
            tone,
            note: member.note,
        }
    }
}

#[derive(Serialize)]
struct ListPage {
    form: Form,
    roles: Vec<Choice>,
    q: String,
    applications: Vec<Line>,
    people: Vec<Line>,
    number: usize,
    earlier: Option<String>,
    later: Option<String>,
}

/// The most people one page shows.
const ON_A_PAGE: usize = 100;

/// Who is looked for, and which page of those found.
#[derive(Default)]
struct Sought {
    q: String,
    page: usize,
}

impl Sought {
    fn read(asked: &Asked) -> Sought {
        let page = asked.0.raw("page").parse().unwrap_or(1);
        let q = asked.0.raw("q").trim().chars().take(100).collect();
        Sought { q, page: usize::clamp(page, 1, 10_000) }
    }

    fn words(&self) -> Vec<String> {
        self.q.split_whitespace().map(ToOwned::to_owned).collect()
    }

    fn at(&self, page: usize) -> String {
        let q = utf8_percent_encode(&self.q, NON_ALPHANUMERIC);
        format!("/members?q={q}&page={page}")
    }
}

async fn listed(
    app: &web::Data<App>,
    req: &HttpRequest,
    (lead, sought): (&Lead, Sought),
    form: &Form,
) -> Result<HttpResponse, Error> {
    let looked = sought.words();
    let found = app.db.read(move |conn| crate::members::found(conn, &looked)).await?;
    let words = app.words(Some(lead));
    let (applied, others): (Vec<Member>, Vec<Member>) =
        found.into_iter().partition(|m| m.state == State::Applied);
    let number = sought.page.min(others.len().div_ceil(ON_A_PAGE)).max(1);
    let (before, more) = ((number - 1) * ON_A_PAGE, others.len() > number * ON_A_PAGE);
    let shown = others.into_iter().skip(before).take(ON_A_PAGE);
    let page = ListPage {
        form: form.clone(),
        roles: roles(),
        applications: applied.into_iter().map(|m| Line::of(m, &words)).collect(),
        people: shown.map(|m| Line::of(m, &words)).collect(),
        number,
        earlier: (number > 1).then(|| sought.at(number - 1)),
        later: more.then(|| sought.at(number + 1)),
        q: sought.q,
    };
    show_form(app, req, ("People", "members/list.html"), form, &page)
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let form = Form::new("/members").with("role", "newcomer");
    listed(&app, &req, (&lead, Sought::read(&asked)), &form).await
}

fn invited(fields: &mut Fields) -> Result<NewMember, Error> {
    let role = fields.choice("role", "a role", &ROLES).and_then(|w| Role::from_word(&w));
    let (name, email) = (fields.raw("name").to_owned(), fields.raw("email").to_owned());
    crate::members::all_faults(vec![
        fields.done(),
        read_name(&name).map(|_| ()),
        crate::members::Email::read(&email).map(|_| ()),
    ])?;
    Ok(NewMember {
        name: name.trim().to_owned(),
        email,
        role: role.unwrap_or(Role::Newcomer),
        password_hash: None,
        verified: false,
    })
}

async fn invite(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match invited(&mut filled.fields) {
        Err(e) => Err(e),
        Ok(new) => {
            let about = about(&app, &lead);
            let now = app.clock.now();
            let once = filled.once(&app, Some(&lead))?;
            app.db
                .write_once(once, move |tx| super::invite(tx, now, &new, &about).map(|(id, _)| id))
                .await
        }
    };
    match done {
        Ok(_) => Ok(go("/members", Some(Flash::good("The invitation is on its way by letter.")))),
        Err(e) => listed(&app, &req, (&lead, Sought::default()), &filled.again(e)?).await,
    }
}

fn about(app: &App, lead: &Lead) -> mail::About {
    mail::About {
        studio: app.studio().name.clone(),
        who: lead.name.clone(),
        ..mail::About::default()
    }
}

#[derive(Serialize)]
struct OnePage {
    form: Form,
    roles: Vec<Choice>,
    line: Line,
    state: State,
    base: String,
    version: i64,
}

async fn shown(
    app: &web::Data<App>,
    req: &HttpRequest,
    (lead, id): (&Lead, i64),
    failed: Option<Form>,
) -> Result<HttpResponse, Error> {
    let member = app.db.read(move |conn| store::by_id(conn, id)).await?;
    let base = format!("/members/{id}");
    let form = failed.unwrap_or_else(|| {
        Form::new(&format!("{base}/role"))
            .with("role", member.role.word())
            .of_version(member.version)
    });
    let (state, version) = (member.state, member.version);
    let line = Line::of(member, &app.words(Some(lead)));
    let title = line.name.clone();
    let page = OnePage { form: form.clone(), roles: roles(), line, state, base, version };
    show_form(app, req, (&title, "members/one.html"), &form, &page)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, (&lead, id.into_inner()), None).await
}

/// What a lead does about one member, and the word for it.
#[derive(Clone, Copy)]
enum Act {
    Role(Role),
    Pause,
    Unpause,
    Approve,
    Decline,
    Invite,
}

impl Act {
    fn read(word: &str, fields: &mut Fields) -> Result<Act, Error> {
        Ok(match word {
            "role" => {
                let role = fields.choice("role", "a role", &ROLES);
                Act::Role(role.and_then(|w| Role::from_word(&w)).ok_or_else(|| fields.faults())?)
            }
            "pause" => Act::Pause,
            "unpause" => Act::Unpause,
            "approve" => Act::Approve,
            "decline" => Act::Decline,
            "invite" => Act::Invite,
            _ => return Err(Error::NotFound),
        })
    }

    fn done(self) -> &'static str {
        match self {
            Act::Role(_) => "The role is changed.",
            Act::Pause => "The member is on a break and is told so by letter.",
            Act::Unpause => "The break is over; the member is told so by letter.",
            Act::Approve => "Approved. The letter that lets them in is on its way.",
            Act::Decline => "What was known of this person is erased.",
            Act::Invite => "A new invitation is on its way; the earlier one no longer works.",
        }
    }

    fn happen(
        self,
        tx: &mut Tx<'_>,
        now: crate::clock::Moment,
        which: (i64, i64),
        about: &mail::About,
    ) -> Result<(), Error> {
        match self {
            Act::Role(role) => super::set_role(tx, which, role),
            Act::Pause => super::pause(tx, now, which, about),
            Act::Unpause => super::unpause(tx, now, which, about),
            Act::Approve => super::approve(tx, now, which.0, about),
            Act::Decline => super::decline(tx, now, which.0, about),
            Act::Invite => super::invite_again(tx, now, which.0, about),
        }
    }
}

async fn act(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    (path, mut filled): (web::Path<(i64, String)>, Filled),
) -> Result<HttpResponse, Error> {
    let (id, word) = path.into_inner();
    let done = match Act::read(&word, &mut filled.fields) {
        Err(e) => Err(e),
        Ok(act) => {
            let (now, about, which) = (app.clock.now(), about(&app, &lead), (id, filled.version()));
            let once = filled.once(&app, Some(&lead))?;
            app.db
                .write_once(once, move |tx| act.happen(tx, now, which, &about))
                .await
                .map(|()| act)
        }
    };
    match done {
        Ok(act) => {
            let to = match act {
                Act::Decline => "/members".to_owned(),
                _ => format!("/members/{id}"),
            };
            Ok(go(&to, Some(Flash::good(act.done()))))
        }
        Err(e) => {
            let mut form = filled.again(e)?;
            form.action = format!("/members/{id}/role");
            shown(&app, &req, (&lead, id), Some(form)).await
        }
    }
}

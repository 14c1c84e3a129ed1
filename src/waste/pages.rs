use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::rules::{Contents, Rule, Waste, disposal, silver_range};
use super::{Container, LogLine, NewContainer, Pour, store};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::sessions::Role;
use crate::shelf::figure;
use crate::web::{
    Fields, Filled, Flash, Form, Lead, Member, Routes, Who, Words, csv_file, go, show_form,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/waste", Who::Member, list);
    open.get("/waste/log.csv", Who::Lead, log_csv);
    open.post("/waste/containers", Who::Lead, add);
    open.post("/waste/rules", Who::Lead, set_rule);
    open.get("/waste/containers/{id}", Who::Member, one);
    open.post("/waste/containers/{id}/pours", Who::Member, pour);
    open.post("/waste/containers/{id}/pick-ups", Who::Lead, pick_up);
}

#[derive(Serialize)]
struct Choice {
    value: &'static str,
    text: &'static str,
}

fn kinds() -> Vec<Choice> {
    Waste::ALL.iter().map(|w| Choice { value: w.1, text: w.2 }).collect()
}

#[derive(Serialize)]
struct Line {
    id: i64,
    name: String,
    takes: &'static str,
    level: String,
    percent: i64,
    since: String,
    silver: Option<String>,
    word: &'static str,
    tone: &'static str,
    disposal: String,
}

/// Silver as the range it is, never as one figure.
fn silver(waste: Waste, (least, most): (i64, i64)) -> Option<String> {
    (waste.has_silver() && most > 0)
        .then(|| format!("about {} of silver, an estimate", silver_range((least, most))))
}

fn line(c: &Container, contents: &Contents, rules: &[Rule], words: &Words) -> Line {
    let percent = contents.volume_ul.saturating_mul(100) / c.of.holds_ul.max(1);
    let (word, tone) = match percent {
        0 if contents.volume_ul == 0 => ("Empty", "off"),
        0..80 => ("Has room", "good"),
        80..100 => ("Nearly full", "note"),
        _ => ("Full: have it picked up", "bad"),
    };
    Line {
        id: c.id,
        name: c.of.name.clone(),
        takes: c.of.accepts.name(),
        level: format!("{} of {} ml", figure(contents.volume_ul), figure(c.of.holds_ul)),
        percent,
        since: contents.since_s.map_or_else(|| "not begun".to_owned(), |s| words.moment(Moment(s))),
        silver: silver(c.of.accepts, (contents.silver_least_mg, contents.silver_most_mg)),
        word,
        tone,
        disposal: disposal(rules.iter().find(|r| r.waste == c.of.accepts)),
    }
}

#[derive(Serialize)]
struct RuleLine {
    waste: &'static str,
    text: String,
    typed: bool,
}

#[derive(Serialize)]
struct ListPage {
    containers: Vec<Line>,
    rules: Vec<RuleLine>,
    kinds: Vec<Choice>,
    form: Form,
    rule_form: Form,
    lead: bool,
}

async fn list_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    shown: Option<Form>,
) -> Result<HttpResponse, Error> {
    let (containers, rules) =
        app.db.read(|conn| Ok((super::containers(conn)?, super::rules(conn)?))).await?;
    let words = app.words(Some(member));
    let form = |action: &str| match &shown {
        Some(f) if f.action == action => f.clone(),
        _ => Form::new(action),
    };
    let page = ListPage {
        containers: containers.iter().map(|(c, k)| line(c, k, &rules, &words)).collect(),
        rules: Waste::ALL
            .iter()
            .map(|(waste, _, name)| {
                let rule = rules.iter().find(|r| r.waste == *waste);
                RuleLine { waste: name, text: disposal(rule), typed: rule.is_some() }
            })
            .collect(),
        kinds: kinds(),
        form: form("/waste/containers"),
        rule_form: form("/waste/rules"),
        lead: member.role == Role::Lead,
    };
    let status = shown.unwrap_or_else(|| Form::new(""));
    show_form(app, req, ("Waste", "waste/list.html"), &status, &page)
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    list_page(&app, &req, &member, None).await
}

fn waste(f: &mut Fields) -> Option<Waste> {
    let words: Vec<&str> = Waste::ALL.iter().map(|w| w.1).collect();
    f.choice("waste", "a kind of waste", &words).and_then(|w| Waste::from_word(&w))
}

fn read_container(f: &mut Fields) -> Result<NewContainer, Error> {
    let name = f.text("name", "a name", 1..=60);
    let accepts = waste(f);
    let holds = f.decimal("holds_ml", "what it holds in ml", 100_000..=200_000_000);
    let contact = f.text("contact", "whom to ask", 1..=120);
    let note = f.text("note", "a note", 0..=300);
    f.done()?;
    match (name, accepts, holds, contact, note) {
        (Some(name), Some(accepts), Some(holds_ul), Some(contact), Some(note)) => {
            Ok(NewContainer { name, accepts, holds_ul, contact, note })
        }
        _ => Err(f.faults()),
    }
}

async fn add(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let new = read_container(&mut filled.fields);
    let done = filled.keep(&app, &lead, new, super::add_container).await;
    match done {
        Ok(id) => Ok(go(
            &format!("/waste/containers/{id}"),
            Some(Flash::good("The container is ready. Print its label and stick it on.")),
        )),
        Err(e) => {
            let form = filled.again(e)?;
            list_page(&app, &req, &Member(lead.0.clone()), Some(form)).await
        }
    }
}

async fn set_rule(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let f = &mut filled.fields;
    let waste = waste(f);
    let rule = f.text("rule", "the local rule", 1..=600);
    let authority = f.text("authority", "the authority", 1..=120);
    let dated = f.date("dated", "its date");
    let at = (app.clock.now(), lead.id);
    let typed = f.whole(waste.zip(rule).zip(authority).zip(dated));
    let rule =
        typed.map(|(((waste, rule), authority), dated)| Rule { waste, rule, authority, dated });
    let done = filled.keep(&app, &lead, rule, move |tx, rule| super::set_rule(tx, at, rule)).await;
    match done {
        Ok(()) => Ok(go("/waste", Some(Flash::good("The local rule is kept.")))),
        Err(e) => {
            let form = filled.again(e)?;
            list_page(&app, &req, &Member(lead.0.clone()), Some(form)).await
        }
    }
}

#[derive(Serialize)]
struct LogRow {
    at: String,
    what: String,
    volume: String,
    silver: Option<String>,
    assumed: String,
    who: String,
    note: String,
}

fn row(l: LogLine, words: &Words) -> LogRow {
    LogRow {
        at: words.moment(l.at),
        volume: figure(l.volume_ul),
        silver: l.waste.and_then(|w| silver(w, l.silver_mg)),
        what: l.what,
        assumed: l.assumed,
        who: l.by.unwrap_or_default(),
        note: l.note,
    }
}

#[derive(Serialize)]
struct OnePage {
    container: Line,
    contact: String,
    note: String,
    accepts: &'static str,
    log: Vec<LogRow>,
    kinds: Vec<Choice>,
    pour_form: Form,
    pick_form: Form,
    lead: bool,
}

async fn one_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    (id, shown): (i64, Option<Form>),
) -> Result<HttpResponse, Error> {
    let (container, poured, rules, log) = app
        .db
        .read(move |conn| {
            Ok((
                store::one(conn, id)?,
                store::poured(conn, id)?,
                super::rules(conn)?,
                store::log(conn, Some(id), 100)?,
            ))
        })
        .await?;
    let words = app.words(Some(member));
    let form = |action: String| match &shown {
        Some(f) if f.action == action => f.clone(),
        _ => Form::new(&action),
    };
    let contents = super::rules::contents(&poured);
    let pour = form(format!("/waste/containers/{id}/pours"));
    let pour =
        if pour.values.is_empty() { pour.with("waste", container.of.accepts.word()) } else { pour };
    let page = OnePage {
        container: line(&container, &contents, &rules, &words),
        accepts: container.of.accepts.word(),
        contact: container.of.contact,
        note: container.of.note,
        log: log.into_iter().map(|l| row(l, &words)).collect(),
        kinds: kinds(),
        pour_form: pour,
        pick_form: form(format!("/waste/containers/{id}/pick-ups")),
        lead: member.role == Role::Lead,
    };
    let status = shown.unwrap_or_else(|| Form::new(""));
    let title = page.container.name.clone();
    show_form(app, req, (&title, "waste/container.html"), &status, &page)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    one_page(&app, &req, &member, (id.into_inner(), None)).await
}

async fn pour(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let f = &mut filled.fields;
    let poured = waste(f);
    let volume = f.decimal("volume_ml", "how much, in ml", 1..=100_000_000);
    let what = f.text("what", "where it comes from", 1..=120);
    let at = (app.clock.now(), Some(member.id));
    let wish = f.whole(poured.zip(volume).zip(what)).map(|((waste, volume_ul), what)| {
        (waste, Pour { container: id, what, volume_ul, ..Pour::default() })
    });
    let done = filled
        .keep(&app, &member, wish, move |tx, (waste, wish)| super::pour(tx, at, *waste, wish))
        .await;
    match done {
        Ok(()) => Ok(go(
            &format!("/waste/containers/{id}"),
            Some(Flash::good("It is in the log. Close the container.")),
        )),
        Err(Error::Invalid(mut faults)) => {
            // The container is this page itself: its refusal stands beside the kind.
            if let Some(sentence) = faults.remove("container") {
                faults.insert("waste".to_owned(), sentence);
            }
            let form = filled.again(Error::Invalid(faults))?;
            one_page(&app, &req, &member, (id, Some(form))).await
        }
        Err(e) => one_page(&app, &req, &member, (id, Some(filled.again(e)?))).await,
    }
}

async fn pick_up(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let who = filled.fields.text("who", "who picked it up", 1..=120);
    let note = filled.fields.text("note", "a note", 0..=300);
    let said = filled.fields.whole(who.zip(note));
    let done = filled
        .keep(&app, &lead, said, move |tx, (who, note)| super::pick_up(tx, at, id, (who, note)))
        .await;
    match done {
        Ok(()) => Ok(go(
            &format!("/waste/containers/{id}"),
            Some(Flash::good("The pick-up is in the log; the container is empty.")),
        )),
        Err(e) => {
            let form = filled.again(e)?;
            one_page(&app, &req, &Member(lead.0.clone()), (id, Some(form))).await
        }
    }
}

async fn log_csv(app: web::Data<App>, _lead: Lead) -> Result<HttpResponse, Error> {
    let log = app.db.read(|conn| store::log(conn, None, 1_000_000)).await?;
    let zone = app.zone();
    let mut rows = vec![
        [
            "when",
            "container",
            "kind",
            "what",
            "bath",
            "volume ml",
            "silver at least g",
            "silver at most g",
            "assumed",
            "who",
            "note",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for l in log {
        let has_silver = l.waste.is_none_or(Waste::has_silver) && l.silver_mg.1 > 0;
        let grams = |mg| if has_silver { figure(mg) } else { String::new() };
        rows.push(vec![
            zone.rfc3339(l.at),
            l.container,
            l.waste.map_or("Picked up", Waste::name).to_owned(),
            l.what,
            l.bath.map(|b| b.to_string()).unwrap_or_default(),
            figure(l.volume_ul),
            grams(l.silver_mg.0),
            grams(l.silver_mg.1),
            l.assumed,
            l.by.unwrap_or_default(),
            l.note,
        ]);
    }
    csv_file("waste-log.csv", &rows)
}

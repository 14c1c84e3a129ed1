//! What an owner says of a roll on its page: taken back, its test came out well, how it looks.

use actix_web::{HttpRequest, HttpResponse, web};

use super::one::page;
use super::{known, whose};
use crate::app::App;
use crate::error::Error;
use crate::rolls::rules::Look;
use crate::rolls::store;
use crate::web::{Filled, Flash, Member, Routes, Who, go};

pub(super) fn routes(open: &mut Routes) {
    open.post("/rolls/{ticket}/withdraw", Who::Member, withdraw);
    open.post("/rolls/{ticket}/tested", Who::Member, tested);
    open.post("/rolls/{ticket}/result", Who::Member, result);
}

async fn withdraw(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let (now, by) = (app.clock.now(), member.id);
    let back = format!("/rolls/{ticket}");
    let once = filled.once(&app, Some(&member))?;
    let done = app
        .db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &ticket, Some(by))?;
            crate::rolls::withdraw(tx, now, roll.id, by)
        })
        .await;
    match done {
        Ok(()) => Ok(go(&back, Some(Flash::good("Withdrawn. Take it out of the drop box.")))),
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}

async fn tested(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let note = filled.fields.text("note", "a note", 0..=200).ok_or_else(|| filled.fields.faults());
    let (now, by, of, found) = (app.clock.now(), member.id, whose(&member), ticket.clone());
    let done = filled
        .keep(&app, &member, note, move |tx, note| {
            let roll = store::by_ticket(tx, &found, of)?;
            crate::rolls::test_came_out_well(tx, now, (roll.id, by), note)
        })
        .await;
    match done {
        Ok(()) => {
            let word = "Noted. It is planned with the next day now.";
            Ok(go(&format!("/rolls/{ticket}"), Some(Flash::good(word))))
        }
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &member, ticket, Some(form)).await
        }
    }
}

async fn result(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let look = Look::from_word(filled.fields.raw("look"));
    if look.is_none() {
        filled.fields.fault("look", "Choose how the negatives look.");
    }
    let note = filled.fields.text("note", "a note", 0..=500);
    let done = match (look, note) {
        (Some(look), Some(note)) => {
            let (now, by, of) = (app.clock.now(), member.id, whose(&member));
            let once = filled.once(&app, Some(&member))?;
            let found = ticket.clone();
            app.db
                .write_once(once, move |tx| {
                    let roll = store::by_ticket(tx, &found, of)?;
                    crate::rolls::note_result(tx, now, (roll.id, by), look, &note)
                })
                .await
        }
        _ => Err(filled.fields.faults()),
    };
    match done {
        Ok(()) => {
            let word = "Noted. Whoever shoots this film next finds it under Results.";
            Ok(go(&format!("/rolls/{ticket}"), Some(Flash::good(word))))
        }
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &member, ticket, Some(form)).await
        }
    }
}

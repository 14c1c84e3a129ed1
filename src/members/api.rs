use actix_web::{HttpRequest, HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::app::{App, Missing};
use crate::db;
use crate::error::Error;
use crate::members::{second_factor, sign_in, store};
use crate::sessions::{self, Role};
use crate::web::{Body, Newcomer, Problem, Routes, Who, client_address};

pub(super) fn routes(open: &mut Routes) {
    open.post("/api/v1/tokens", Who::Anyone, issue);
    open.get("/api/v1/me", Who::Newcomer, me);
}

/// Who asks for a token, and what for.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TokenWish {
    /// The member's address.
    email: String,
    /// The member's password.
    password: String,
    /// What the token is for, 1 to 60 characters; shown in the member's own list.
    label: String,
    /// The present code of the member's device, or a recovery code, where they have a second factor.
    code: Option<String>,
}

/// A token, shown this once.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct Token {
    /// Send it as `Authorization: Bearer ...`.
    token: String,
}

/// Issues an API token. It is shown this once, so no `Idempotency-Key` is taken: a repetition
/// gives another token.
#[utoipa::path(
    post, path = "/api/v1/tokens", tag = "people", security(()),
    request_body = TokenWish,
    responses(
        (status = 201, description = "The token", body = Token),
        (status = 422, description = "Address and password do not go together, or a field is wrong; \
            `code` is named where a second factor is asked for",
            body = Problem, content_type = "application/problem+json"),
        (status = 429, description = "Too many tries; wait `Retry-After` seconds",
            body = Problem, content_type = "application/problem+json"),
    )
)]
pub(crate) async fn issue(
    app: web::Data<App>,
    req: HttpRequest,
    body: Body<TokenWish>,
) -> Result<HttpResponse, Error> {
    let (wish, address) = (body.value, client_address(&app, &req));
    let label = wish.label.trim().to_owned();
    if !(1..=60).contains(&label.chars().count()) {
        return Err(Error::field("label", "Give the token a name of 1 to 60 characters."));
    }
    let shared = app.clone();
    let token = db::block(move || {
        let proven = sign_in::prove(&shared, &wish.email, &wish.password, &address)?;
        let now = shared.clock.now();
        let member = proven.member;
        let asked = shared.db.write_now(|tx| {
            proven.settle(tx)?;
            tx.leaves_no_line();
            second_factor::is_on(tx, member)
        })?;
        if !asked {
            return shared.db.write_now(|tx| {
                tx.acts(member);
                sessions::issue_token(tx, now, member, &label)
            });
        }
        let Some(code) = wish.code.as_deref() else {
            let word = "This account has a second factor. Send the code its device shows now.";
            return Err(Error::field("code", word));
        };
        second_factor::with_code(&shared, member, |tx| {
            tx.acts(member);
            second_factor::take(tx, now, (&shared.key, member), code)?;
            let token = sessions::issue_token(tx, now, member, &label)?;
            sessions::raise(tx, &token)?;
            Ok(token)
        })
    })
    .await??;
    Ok(HttpResponse::Created().json(Token { token }))
}

/// The owner of the token.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct Me {
    /// Member id.
    id: i64,
    /// Name as they gave it.
    name: String,
    /// Their address.
    email: String,
    /// `newcomer`, `member` or `lead`.
    #[schema(value_type = String)]
    role: Role,
    /// What must still happen before they can book by themselves: `safety_notes` (essential notes not
    /// acknowledged in their present version), `induction`, `end_of_break`.
    missing_before_first_booking: Vec<&'static str>,
}

/// Who the token's owner is.
#[utoipa::path(
    get, path = "/api/v1/me", tag = "people",
    responses(
        (status = 200, description = "The owner of the token", body = Me),
        (status = 401, description = "No token, or one that is over",
            body = Problem, content_type = "application/problem+json"),
    )
)]
pub(crate) async fn me(app: web::Data<App>, person: Newcomer) -> Result<HttpResponse, Error> {
    let (id, asked) = (person.id, person.0.clone());
    let (member, missing) = app
        .db
        .read(move |conn| {
            let missing = crate::app::missing_before_booking(conn, &asked)?;
            Ok((store::by_id(conn, id)?, missing))
        })
        .await?;
    Ok(HttpResponse::Ok().json(Me {
        id,
        name: member.name,
        email: member.email.unwrap_or_default(),
        role: member.role,
        missing_before_first_booking: missing.iter().map(Missing::word).collect(),
    }))
}

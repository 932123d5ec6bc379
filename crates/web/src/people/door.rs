//! The door: signing in, and coming in by an invitation.

use app::App;
use app::people::Tried;
use axum::extract::{Path, Query};
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Extension, Form, Router};
use serde::Deserialize;
use store::{SignedIn, StoreError};

use super::address::Peer;
use super::gate::retry_after;
use super::{Shared, cookie, views};
use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::settings::is_path;

pub fn routes() -> Router<App> {
    Router::new()
        .route("/sign-in", get(show).post(sign_in))
        .route("/invitation/{token}", get(invited).post(enter))
}

#[derive(Debug, Default, Deserialize)]
struct Where {
    to: Option<String>,
}

async fn show(who: Option<Extension<SignedIn>>, Query(to): Query<Where>) -> Response {
    if who.is_some() {
        return Redirect::to(own(to.to.as_deref())).into_response();
    }
    views::door::sign_in("", own(to.to.as_deref()), None).into_response()
}

#[derive(Deserialize)]
struct Credentials {
    name: String,
    password: String,
    to: Option<String>,
}

async fn sign_in(
    Extension(shared): Extension<Shared>,
    peer: Option<Extension<Peer>>,
    headers: HeaderMap,
    Form(given): Form<Credentials>,
) -> Result<Response, PageError> {
    let to = own(given.to.as_deref());
    let from = shared.comes_from(&headers, peer.map(|Extension(Peer(ip))| ip));
    let tried = shared
        .door
        .sign_in(&given.name, &given.password, from.as_deref());
    Ok(match tried.await? {
        Tried::In(token) => lead(&headers, &token, to)?,
        Tried::Out => {
            tracing::warn!("a sign-in was refused");
            let wrong = "There is no such name with that password. Look at both and try again.";
            let page = views::door::sign_in(&given.name, to, Some(wrong));
            (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
        }
        Tried::TooOften { wait_s } => {
            tracing::warn!("a sign-in was tried too often");
            let wrong = format!(
                "This was tried too often. Try again in {} minutes.",
                wait_s.div_ceil(60)
            );
            let page = views::door::sign_in(&given.name, to, Some(&wrong));
            retry_after(
                (StatusCode::TOO_MANY_REQUESTS, page).into_response(),
                wait_s,
            )
        }
    })
}

async fn invited(
    Extension(shared): Extension<Shared>,
    who: Option<Extension<SignedIn>>,
    Path(token): Path<String>,
) -> Result<Response, PageError> {
    let Some(invited) = shared.door.invitation(&token).await? else {
        return Ok(no_invitation());
    };
    let who = who.map(|Extension(who)| who);
    let typed = views::door::NewPerson::default();
    Ok(views::door::invited(&token, &invited, who.as_ref(), &typed, None).into_response())
}

#[derive(Default, Deserialize)]
struct NewPerson {
    #[serde(default)]
    name: String,
    #[serde(default)]
    shown: String,
    #[serde(default)]
    password: String,
    #[serde(default)]
    again: String,
}

async fn enter(
    Extension(shared): Extension<Shared>,
    Acting(app): Acting,
    who: Option<Extension<SignedIn>>,
    headers: HeaderMap,
    Path(token): Path<String>,
    Form(new): Form<NewPerson>,
) -> Result<Response, PageError> {
    if who.is_some() {
        return match app.join(&token).await {
            Ok(_) => Ok(Redirect::to("/group").into_response()),
            Err(app::AppError::Store(StoreError::NoInvitation)) => Ok(no_invitation()),
            Err(other) => Err(other.into()),
        };
    }
    let Some(invited) = shared.door.invitation(&token).await? else {
        return Ok(no_invitation());
    };
    let refused = |why: String| {
        let typed = views::door::NewPerson {
            name: &new.name,
            shown: &new.shown,
        };
        let page = views::door::invited(&token, &invited, None, &typed, Some(&why));
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    };
    if new.password != new.again {
        return Ok(refused(
            "The two passwords differ: type both again.".to_owned(),
        ));
    }
    let entered = shared
        .door
        .enter(&token, &new.name, &new.shown, &new.password);
    match entered.await {
        Ok(session) => lead(&headers, &session, "/"),
        Err(app::AppError::Store(StoreError::NoInvitation)) => Ok(no_invitation()),
        Err(
            error @ (app::AppError::Password(_)
            | app::AppError::Store(
                StoreError::NameTaken { .. } | StoreError::Impossible { .. },
            )),
        ) => Ok(refused(error.to_string())),
        Err(other) => Err(other.into()),
    }
}

/// Used, withdrawn, too old and invented ones are told in the same words.
fn no_invitation() -> Response {
    PageError::new(
        StatusCode::NOT_FOUND,
        "This invitation does not hold",
        "It was used already, withdrawn, or is too old. Ask whoever sent it for a new one.",
    )
    .into_response()
}

/// Leads on with a new session: the one of before, if there was one, is not carried over.
fn lead(headers: &HeaderMap, token: &str, to: &str) -> Result<Response, PageError> {
    let cookie = cookie::set(headers, token).ok_or_else(|| {
        PageError::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "A defect of the program",
            "The session cannot be kept. Please report what you did.",
        )
    })?;
    Ok(([(SET_COOKIE, cookie)], Redirect::to(to)).into_response())
}

/// A path of this server, or its first page.
fn own(to: Option<&str>) -> &str {
    to.filter(|to| is_path(to) && !to.starts_with("/sign-in"))
        .unwrap_or("/")
}

//! The page of a person: password, sessions, tokens, the own data, closing the account.

use app::people::data_json;
use app::{App, AppError};
use axum::extract::Path;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE, SET_COOKIE};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use serde::Deserialize;
use store::{Role, SignedIn, StoreError, TokenId};

use super::{cookie, views};
use crate::acting::Acting;
use crate::error::PageError;

pub fn routes() -> Router<App> {
    Router::new()
        .route("/you", get(show))
        .route("/you/password", post(password))
        .route("/you/sign-out", post(sign_out))
        .route("/you/sign-out-everywhere", post(sign_out_everywhere))
        .route("/you/tokens", post(make_token))
        .route("/you/tokens/{id}/revoke", post(revoke_token))
        .route("/you/data.json", get(data))
        .route("/you/close", post(close))
}

/// What happened, for the page that tells it.
#[derive(Debug, Default)]
pub struct Told<'t> {
    /// A form and what is wrong in it.
    pub wrong: Option<(&'static str, String)>,
    /// A token that was just made.
    pub token: Option<&'t str>,
}

async fn show(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
) -> Result<Response, PageError> {
    answer(&app, &who, &Told::default()).await
}

async fn answer(app: &App, who: &SignedIn, told: &Told<'_>) -> Result<Response, PageError> {
    let sessions = app.my_sessions().await?;
    let tokens = app.my_tokens().await?;
    let status = if told.wrong.is_some() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    Ok((status, views::account::page(who, &sessions, &tokens, told)).into_response())
}

/// The same page, with what is wrong in a form.
async fn refused(
    app: &App,
    who: &SignedIn,
    form: &'static str,
    why: impl ToString,
) -> Result<Response, PageError> {
    let told = Told {
        wrong: Some((form, why.to_string())),
        token: None,
    };
    answer(app, who, &told).await
}

#[derive(Deserialize)]
struct Passwords {
    old: String,
    new: String,
    again: String,
}

async fn password(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    headers: HeaderMap,
    Form(given): Form<Passwords>,
) -> Result<Response, PageError> {
    if given.new != given.again {
        let why = "the two new passwords differ: type both again";
        return refused(&app, &who, "password", why).await;
    }
    match app.change_password(&given.old, &given.new).await {
        Ok(()) => Ok(out(&headers)),
        Err(error @ (AppError::WrongPassword | AppError::Password(_))) => {
            refused(&app, &who, "password", error).await
        }
        Err(other) => Err(other.into()),
    }
}

async fn sign_out(Acting(app): Acting, headers: HeaderMap) -> Result<Response, PageError> {
    app.sign_out().await?;
    Ok(out(&headers))
}

async fn sign_out_everywhere(
    Acting(app): Acting,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    app.sign_out_everywhere().await?;
    Ok(out(&headers))
}

/// Back at the door; what the browser kept of typed texts goes too.
fn out(headers: &HeaderMap) -> Response {
    let mut response = Redirect::to("/sign-in").into_response();
    let answer = response.headers_mut();
    if let Some(cookie) = cookie::clear(headers) {
        answer.insert(SET_COOKIE, cookie);
    }
    let clear = HeaderName::from_static("clear-site-data");
    answer.insert(clear, HeaderValue::from_static("\"storage\""));
    response
}

#[derive(Deserialize)]
struct NewToken {
    name: String,
    role: String,
}

async fn make_token(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Form(new): Form<NewToken>,
) -> Result<Response, PageError> {
    let made = match new.role.parse::<Role>() {
        Ok(role) => app.make_token(&new.name, role).await,
        Err(error) => Err(error.into()),
    };
    match made {
        Ok(token) => {
            let told = Told {
                wrong: None,
                token: Some(&token),
            };
            answer(&app, &who, &told).await
        }
        Err(AppError::Store(
            error @ (StoreError::Impossible { .. } | StoreError::NotAllowed { .. }),
        )) => refused(&app, &who, "token", error).await,
        Err(other) => Err(other.into()),
    }
}

async fn revoke_token(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let id: TokenId = super::group::named(&id)?;
    app.revoke_token(id).await?;
    Ok(Redirect::to("/you").into_response())
}

async fn data(Acting(app): Acting) -> Result<Response, PageError> {
    let data = app.my_data().await?;
    let text = format!("{:#}\n", data_json(&data));
    let headers = [
        (CONTENT_TYPE, "application/json"),
        (CONTENT_DISPOSITION, "attachment; filename=\"my-data.json\""),
    ];
    Ok((headers, text).into_response())
}

#[derive(Deserialize)]
struct Closing {
    password: String,
    sure: Option<String>,
}

async fn close(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    headers: HeaderMap,
    Form(given): Form<Closing>,
) -> Result<Response, PageError> {
    if given.sure.is_none() {
        let why = "tick that you know what goes: it cannot be brought back";
        return refused(&app, &who, "close", why).await;
    }
    match app.close_account(&given.password).await {
        Ok(()) => Ok(out(&headers)),
        Err(error @ (AppError::WrongPassword | AppError::Store(StoreError::LastKeeper))) => {
            refused(&app, &who, "close", error).await
        }
        Err(other) => Err(other.into()),
    }
}

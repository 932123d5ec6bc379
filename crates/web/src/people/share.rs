//! Whom a document is shared with.

use app::{App, AppError};
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use serde::Deserialize;
use store::{DocumentId, GroupId, Role, SignedIn, StoreError};

use super::group::named;
use super::views;
use crate::acting::Acting;
use crate::error::PageError;

pub fn routes() -> Router<App> {
    Router::new()
        .route("/share/{id}", get(show).post(share))
        .route("/share/{id}/end", post(end))
}

async fn show(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    answer(&app, &who, named(&id)?, None).await
}

async fn answer(
    app: &App,
    who: &SignedIn,
    id: DocumentId,
    wrong: Option<String>,
) -> Result<Response, PageError> {
    let (role, own) = app.standing_of(id).await?;
    let (kind, title) = app.title_of(id).await?;
    let shares = if own {
        app.shares(id).await?
    } else {
        Vec::new()
    };
    let status = if wrong.is_some() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    let page = views::share::Sharing {
        who,
        id,
        kind,
        title: &title,
        role,
        own,
        shares: &shares,
        groups: &app.my_groups().await?,
        wrong: wrong.as_deref(),
    };
    Ok((status, views::share::page(&page)).into_response())
}

#[derive(Deserialize)]
struct With {
    #[serde(default)]
    group: String,
    #[serde(default)]
    code: String,
    may: String,
}

async fn share(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Path(id): Path<String>,
    Form(with): Form<With>,
) -> Result<Response, PageError> {
    let id: DocumentId = named(&id)?;
    let code = match with.code.trim() {
        "" => with.group.trim(),
        code => code,
    };
    let shared = match (code.parse::<GroupId>(), with.may.parse::<Role>()) {
        (Ok(group), Ok(may)) => app.share(id, group, may).await,
        (Err(_), _) => Err(StoreError::NoSuchGroup.into()),
        (_, Err(error)) => Err(error.into()),
    };
    match shared {
        Ok(()) => Ok(Redirect::to(&format!("/share/{id}")).into_response()),
        Err(AppError::Store(error @ (StoreError::NoSuchGroup | StoreError::Impossible { .. }))) => {
            answer(&app, &who, id, Some(error.to_string())).await
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(Deserialize)]
struct Which {
    group: String,
}

async fn end(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(which): Form<Which>,
) -> Result<Response, PageError> {
    let id: DocumentId = named(&id)?;
    app.unshare(id, named(&which.group)?).await?;
    Ok(Redirect::to(&format!("/share/{id}")).into_response())
}

//! The page of a group: who is in it, invitations, what it shares, what was done.

use std::str::FromStr;

use app::{App, AppError};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use serde::Deserialize;
use store::{AccountId, GroupId, InvitationId, Role, SignedIn, StoreError};

use super::views;
use crate::acting::Acting;
use crate::error::PageError;

pub fn routes() -> Router<App> {
    Router::new()
        .route("/group", get(show))
        .route("/group/look", post(look))
        .route("/group/make", post(make))
        .route("/group/invite", post(invite))
        .route("/group/invitations/{id}/withdraw", post(withdraw))
        .route("/group/members/{id}/role", post(set_role))
        .route("/group/members/{id}/remove", post(remove))
        .route("/group/leave", post(leave))
        .route("/group/audit", get(audit))
}

/// An identifier of an address.
pub fn named<T: FromStr<Err = StoreError>>(text: &str) -> Result<T, PageError> {
    text.parse().map_err(|_| {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is nothing of this address.",
        )
    })
}

/// What happened, for the page that tells it.
#[derive(Debug, Default)]
pub struct Told<'t> {
    /// What is wrong.
    pub wrong: Option<String>,
    /// An invitation that was just made.
    pub invitation: Option<&'t str>,
}

async fn show(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
) -> Result<Response, PageError> {
    answer(&app, &who, &Told::default()).await
}

async fn answer(app: &App, who: &SignedIn, told: &Told<'_>) -> Result<Response, PageError> {
    let keeps = who.role == Role::Keep;
    let page = views::group::Group {
        who,
        groups: &app.my_groups().await?,
        members: &app.members().await?,
        invitations: &if keeps {
            app.invitations().await?
        } else {
            Vec::new()
        },
        shared: &app.shared_by_group().await?,
        study: &app.study_state().await?,
        told,
    };
    let status = if told.wrong.is_some() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    Ok((status, views::group::page(&page)).into_response())
}

/// Back to the page where it worked, or the page with what is wrong.
async fn done(
    app: &App,
    who: &SignedIn,
    result: Result<(), AppError>,
) -> Result<Response, PageError> {
    match result {
        Ok(()) => Ok(Redirect::to("/group").into_response()),
        Err(AppError::Store(
            error @ (StoreError::LastKeeper
            | StoreError::NoSuchMember
            | StoreError::Impossible { .. }),
        )) => {
            let told = Told {
                wrong: Some(error.to_string()),
                invitation: None,
            };
            answer(app, who, &told).await
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(Deserialize)]
struct Which {
    group: String,
}

async fn look(Acting(app): Acting, Form(which): Form<Which>) -> Result<Response, PageError> {
    app.look_at(named::<GroupId>(&which.group)?).await?;
    Ok(Redirect::to("/").into_response())
}

#[derive(Deserialize)]
struct Name {
    name: String,
}

async fn make(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Form(new): Form<Name>,
) -> Result<Response, PageError> {
    let made = app.make_group(&new.name).await.map(drop);
    done(&app, &who, made).await
}

#[derive(Deserialize)]
struct As {
    role: String,
}

async fn invite(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Form(to): Form<As>,
) -> Result<Response, PageError> {
    let made = match to.role.parse::<Role>() {
        Ok(role) => app.invite(role).await,
        Err(error) => Err(error.into()),
    };
    match made {
        Ok((_, token)) => {
            let told = Told {
                wrong: None,
                invitation: Some(&token),
            };
            answer(&app, &who, &told).await
        }
        Err(error) => done(&app, &who, Err(error)).await,
    }
}

async fn withdraw(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let withdrawn = app.withdraw(named::<InvitationId>(&id)?).await;
    done(&app, &who, withdrawn).await
}

async fn set_role(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Path(id): Path<String>,
    Form(to): Form<As>,
) -> Result<Response, PageError> {
    let member = named::<AccountId>(&id)?;
    let set = match to.role.parse::<Role>() {
        Ok(role) => app.set_role(member, role).await,
        Err(error) => Err(error.into()),
    };
    done(&app, &who, set).await
}

async fn remove(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let removed = app.remove_member(named::<AccountId>(&id)?).await;
    done(&app, &who, removed).await
}

async fn leave(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
) -> Result<Response, PageError> {
    let left = app.leave_group().await;
    done(&app, &who, left).await
}

#[derive(Debug, Default, Deserialize)]
struct Before {
    before: Option<i64>,
}

async fn audit(
    Acting(app): Acting,
    Extension(who): Extension<SignedIn>,
    Query(from): Query<Before>,
) -> Result<Response, PageError> {
    let lines = app.audit(from.before).await?;
    Ok(views::group::audit(&who.group_name, &lines).into_response())
}

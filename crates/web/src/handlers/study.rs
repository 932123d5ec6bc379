//! Whether the batches that are kept here go into the study over the batches of many.

use app::App;
use axum::extract::Extension;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Form, Router};
use serde::Deserialize;
use store::SignedIn;

use crate::acting::Acting;
use crate::error::PageError;
use crate::views;

/// The routes.
pub fn routes() -> Router<App> {
    Router::new().route("/study", get(show).post(say))
}

/// What goes in; a group says it on its own page.
async fn show(
    Acting(app): Acting,
    who: Option<Extension<SignedIn>>,
) -> Result<Response, PageError> {
    if who.is_some() {
        return Ok(Redirect::to("/group#study-title").into_response());
    }
    let state = app.study_state().await?;
    Ok(views::study::page(&state).into_response())
}

#[derive(Deserialize)]
struct Word {
    agree: Agree,
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Agree {
    Yes,
    No,
}

async fn say(Acting(app): Acting, Form(word): Form<Word>) -> Result<Redirect, PageError> {
    match word.agree {
        Agree::Yes => app.agree_to_study(None).await?,
        Agree::No => app.withdraw_from_study(None).await?,
    };
    Ok(Redirect::to("/study"))
}

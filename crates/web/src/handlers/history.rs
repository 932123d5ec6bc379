//! The revisions of a batch.

use std::str::FromStr;

use app::OpenBatch;
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::Redirect;
use maud::Markup;
use serde::Deserialize;
use store::{RevisionNumber, SideId};

use super::document_id;
use crate::acting::Acting;
use crate::error::PageError;
use crate::views;
use crate::views::batch::Bench;
use crate::views::history::Subject;

/// All revisions, and the versions that were refused and kept.
pub async fn show(Acting(app): Acting, Path(id): Path<String>) -> Result<Markup, PageError> {
    let id = document_id(&id)?;
    let open = app.batch(id).await?;
    let (revisions, sides) = app.history(id).await?;
    Ok(views::history::page(&subject(&open), &revisions, &sides))
}

/// One revision, and what has changed since.
pub async fn revision(
    Acting(app): Acting,
    Path((id, number)): Path<(String, String)>,
) -> Result<Markup, PageError> {
    let id = document_id(&id)?;
    let number = number_of(&number)?;
    let open = app.batch(id).await?;
    let difference = app.difference(id, number, open.revision).await?;
    Ok(views::history::revision(
        &subject(&open),
        number,
        &difference,
    ))
}

/// What to bring back.
#[derive(Debug, Deserialize)]
pub struct BringBack {
    pub(super) on: String,
    pub(super) revision: Option<String>,
    pub(super) side: Option<String>,
}

/// On which revision the newest change is taken back, and where to go then.
#[derive(Debug, Deserialize)]
pub struct Undo {
    on: String,
    #[serde(default)]
    bench: Bench,
}

/// Takes the newest change back.
pub async fn undo(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<Undo>,
) -> Result<Redirect, PageError> {
    let id = document_id(&id)?;
    app.undo(id, number_of(&form.on)?).await?;
    Ok(Redirect::to(&format!(
        "/batch/{id}?bench={}",
        form.bench.word()
    )))
}

/// Saves an old revision, or a version that was refused, as the newest.
pub async fn bring_back(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<BringBack>,
) -> Result<Redirect, PageError> {
    let id = document_id(&id)?;
    let on = number_of(&form.on)?;
    match (form.revision, form.side) {
        (Some(number), _) => app.bring_back(id, number_of(&number)?, on).await?,
        (None, Some(side)) => app.bring_back_side(id, side_of(&side)?, on).await?,
        (None, None) => return Err(bad("say which revision")),
    };
    Ok(Redirect::to(&format!("/batch/{id}")))
}

fn subject(open: &OpenBatch) -> Subject<'_> {
    Subject {
        name: &open.name,
        revision: open.revision,
        home: format!("/batch/{}", open.id),
        back: "back to the batch",
        batch: Some(open.id),
    }
}

pub(super) fn number_of(text: &str) -> Result<RevisionNumber, PageError> {
    RevisionNumber::from_str(text).map_err(|e| bad(&e.to_string()))
}

pub(super) fn side_of(text: &str) -> Result<SideId, PageError> {
    SideId::from_str(text).map_err(|e| bad(&e.to_string()))
}

pub(super) fn bad(detail: &str) -> PageError {
    PageError::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "This cannot be done",
        detail,
    )
}

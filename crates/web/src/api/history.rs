//! The revisions of a batch, and the versions that were refused and kept.

use app::App;
use axum::Json;
use axum::response::IntoResponse;
use store::{DocumentId, SideId, SideVersion, StoreError};

use super::batches::{revision as number, tag};
use super::extract::{BatchAt, JsonBody, KeptAt, RevisionAt};
use super::failure::named_in_body;
use super::forms::{
    BatchText, Bring, BringBack, History, KeptLine, KeptText, RevisionLine, SavedBatch,
};
use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// All revisions of a batch, and the versions that were refused and kept.
#[utoipa::path(
    get,
    path = "/batches/{id}/history",
    operation_id = "list_history",
    tag = "history",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "The history.", body = History),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
    )
)]
pub async fn list(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<Json<History>, ProblemDetails> {
    let (revisions, kept) = app.history(id).await?;
    Ok(Json(History {
        revisions: revisions.into_iter().map(RevisionLine::from).collect(),
        kept: kept.into_iter().map(KeptLine::from).collect(),
    }))
}

/// A revision with its text.
#[utoipa::path(
    get,
    path = "/batches/{id}/history/{n}",
    operation_id = "read_revision",
    tag = "history",
    params(
        ("id" = String, Path, description = "The batch.", format = "uuid"),
        ("n" = u32, Path, description = "The revision, from one.", minimum = 1),
    ),
    responses(
        (status = 200, description = "The revision.", body = BatchText),
        (status = 400, description = "The identifier or the number is not written like one."),
        (status = 404, description = "There is no such batch, or it has no such revision."),
    )
)]
pub async fn revision(
    Acting(app): Acting,
    RevisionAt(id, number): RevisionAt,
) -> Result<Json<BatchText>, ProblemDetails> {
    Ok(Json(app.store().revision(id, number).await?.into()))
}

/// A version that was refused and kept, with its text.
#[utoipa::path(
    get,
    path = "/batches/{id}/kept/{version}",
    operation_id = "read_kept_version",
    tag = "history",
    params(
        ("id" = String, Path, description = "The batch.", format = "uuid"),
        ("version" = String, Path, description = "The version, as `kept_as` named it.", format = "uuid"),
    ),
    responses(
        (status = 200, description = "The version.", body = KeptText),
        (status = 400, description = "An identifier is not written like one."),
        (status = 404, description = "There is no such batch, or it has no such version."),
    )
)]
pub async fn kept(
    Acting(app): Acting,
    KeptAt(id, side): KeptAt,
) -> Result<Json<KeptText>, ProblemDetails> {
    Ok(Json(kept_beside(&app, id, side).await?.into()))
}

/// The kept version, if it belongs to the batch.
async fn kept_beside(app: &App, id: DocumentId, side: SideId) -> Result<SideVersion, StoreError> {
    let version = app.store().side_version(side).await?;
    if version.info.document == id {
        Ok(version)
    } else {
        Err(StoreError::NoSuchSideVersion { id: side })
    }
}

/// Saves an earlier revision, or a version that was kept, as the newest.
#[utoipa::path(
    post,
    path = "/batches/{id}/bring-back",
    operation_id = "bring_back_version",
    tag = "history",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    request_body = BringBack,
    responses(
        (status = 200, description = "The new revision.", body = SavedBatch, headers(
            ("ETag" = String, description = "The new revision, in quotes."),
        )),
        (status = 400, description = "The identifier or the JSON cannot be read."),
        (status = 404, description = "There is no such batch."),
        (status = 409, description = "The batch has moved on: `current` is the newest revision, and `kept_as` names the place where the version is kept."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The batch has no such version."),
    )
)]
pub async fn bring_back(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
    JsonBody(wanted): JsonBody<BringBack>,
) -> Result<impl IntoResponse, ProblemDetails> {
    let on = number(wanted.on)?;
    let brought = match wanted.bring {
        Bring::Revision(wanted) => app.bring_back(id, number(wanted)?, on).await,
        Bring::Kept(side) => {
            let side: SideId = side.parse()?;
            kept_beside(&app, id, side)
                .await
                .map_err(|e| named_in_body(e.into()))?;
            app.bring_back_side(id, side, on).await
        }
    };
    let brought = brought.map_err(named_in_body)?;
    Ok((tag(brought.revision), Json(SavedBatch::from(brought))))
}

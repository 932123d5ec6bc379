//! Batches: list, make, read, replace, edit.

use app::{Edit, Edited};
use axum::Json;
use axum::http::header::{ETAG, LOCATION};
use axum::http::{HeaderName, StatusCode};
use axum::response::IntoResponse;
use batch::wire;
use store::RevisionNumber;

use super::extract::{BatchAt, IfMatch, JsonBody, QueryOf, Toml};
use super::failure::{named_in_body, precondition};
use super::forms::{
    BatchList, BatchText, EditRequest, EditedBatch, ListQuery, MOST_EDITS, MovedFigure, SavedBatch,
};
use super::model::reckoning_of;
use crate::acting::Acting;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The entity tag of a revision, as a header.
pub fn tag(revision: RevisionNumber) -> [(HeaderName, String); 1] {
    [(ETAG, format!("\"{revision}\""))]
}

/// A page of the batches, the last saved first.
#[utoipa::path(
    get,
    path = "/batches",
    operation_id = "list_batches",
    tag = "batches",
    params(ListQuery),
    responses(
        (status = 200, description = "The page.", body = BatchList),
        (status = 400, description = "The query cannot be read."),
    )
)]
pub async fn list(
    Acting(app): Acting,
    QueryOf(query): QueryOf<ListQuery>,
) -> Result<Json<BatchList>, ProblemDetails> {
    Ok(Json(app.batches(&query.find, query.page).await?.into()))
}

/// Makes a batch of a document.
///
/// One with faults is kept as well, and the answer says what they are.
#[utoipa::path(
    post,
    path = "/batches",
    operation_id = "create_batch",
    tag = "batches",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 201, description = "The new batch.", body = SavedBatch, headers(
            ("Location" = String, description = "Its address."),
            ("ETag" = String, description = "Its revision, in quotes."),
        )),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The text cannot be kept."),
    )
)]
pub async fn create(
    Acting(app): Acting,
    Toml(text): Toml,
) -> Result<impl IntoResponse, ProblemDetails> {
    let made = app.keep_batch(&text, "sent").await?;
    let place = [(LOCATION, format!("/api/batches/{}", made.id))];
    Ok((
        StatusCode::CREATED,
        place,
        tag(made.revision),
        Json(SavedBatch::from(made)),
    ))
}

/// The newest revision of a batch.
#[utoipa::path(
    get,
    path = "/batches/{id}",
    operation_id = "read_batch",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "The batch.", body = BatchText, headers(
            ("ETag" = String, description = "Its revision, in quotes."),
        )),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
    )
)]
pub async fn read(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<impl IntoResponse, ProblemDetails> {
    let newest = app.store().current(id).await?;
    Ok((tag(newest.info.number), Json(BatchText::from(newest))))
}

/// Saves a whole document over the revision that `If-Match` names.
///
/// Where the batch has moved on, the document is kept beside it and nothing is lost.
#[utoipa::path(
    put,
    path = "/batches/{id}",
    operation_id = "replace_batch",
    tag = "batches",
    params(
        ("id" = String, Path, description = "The batch.", format = "uuid"),
        ("If-Match" = String, Header, description = "The revision that the document was written on, in quotes: the ETag of the batch as it was read.", example = "\"3\""),
    ),
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The new revision; a document with faults is kept as well.", body = SavedBatch, headers(
            ("ETag" = String, description = "The new revision, in quotes."),
        )),
        (status = 400, description = "The identifier, If-Match or the body cannot be read."),
        (status = 404, description = "There is no such batch."),
        (status = 412, description = "The batch has moved on: `current` is the newest revision, and `kept_as` names the place where the document is kept."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The text cannot be kept."),
        (status = 428, description = "If-Match is missing."),
    )
)]
pub async fn replace(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
    IfMatch(on): IfMatch,
    Toml(text): Toml,
) -> Result<impl IntoResponse, ProblemDetails> {
    let saved = app.save_text(id, on, &text).await.map_err(precondition)?;
    Ok((tag(saved.revision), Json(SavedBatch::from(saved))))
}

/// The reckoning of the newest revision.
#[utoipa::path(
    get,
    path = "/batches/{id}/reckoning",
    operation_id = "reckon_batch",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "The whole stream, with intervals.", body = ref("#/components/schemas/Reckoning"), headers(
            ("ETag" = String, description = "The revision that was reckoned, in quotes."),
        )),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults."),
    )
)]
pub async fn reckoning(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<impl IntoResponse, ProblemDetails> {
    let open = app.batch(id).await?;
    let revision = open.revision;
    let reckoned = move || {
        let plan: wire::Reckoning = reckoning_of(&open.outcome, &open.text)?;
        Ok::<_, ProblemDetails>(plan.sure(app.glance_at_certainty(&open).as_deref()))
    };
    Ok((tag(revision), Json(aside(reckoned).await??)))
}

/// Makes small edits, and answers with what they moved downstream.
///
/// Where the batch has moved on since `on`, they are made on the newest revision,
/// unless the same values were changed there.
#[utoipa::path(
    post,
    path = "/batches/{id}/edits",
    operation_id = "edit_batch",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    request_body = EditRequest,
    responses(
        (status = 200, description = "The batch with the edits.", body = EditedBatch, headers(
            ("ETag" = String, description = "The revision that now is the newest, in quotes."),
        )),
        (status = 400, description = "The identifier or the JSON cannot be read."),
        (status = 404, description = "There is no such batch."),
        (status = 409, description = "The same value was changed in between: `path` names it, and `kept_as` the place where the document with these edits is kept."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "An edit leads nowhere, or the document would have faults that it had not before; nothing was saved."),
    )
)]
pub async fn edit(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
    JsonBody(request): JsonBody<EditRequest>,
) -> Result<impl IntoResponse, ProblemDetails> {
    if request.edits.len() > MOST_EDITS {
        return Err(ProblemDetails::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "these are too many edits at once",
            format!("send at most {MOST_EDITS}, or the whole document by PUT"),
        ));
    }
    let on = revision(request.on)?;
    let edits: Vec<Edit> = request.edits.into_iter().map(Edit::from).collect();
    match app.edit(id, on, &edits).await.map_err(named_in_body)? {
        Edited::Saved {
            batch,
            change,
            moved,
        } => {
            let moved = moved.iter().map(MovedFigure::from).collect();
            let batch = *batch;
            let tag = tag(batch.revision);
            Ok((
                tag,
                Json(EditedBatch {
                    batch: batch.into(),
                    change,
                    moved,
                }),
            ))
        }
        // The faults stand in the text that was not saved.
        Edited::Refused { batch, faults } => {
            let refused = edits
                .iter()
                .try_fold(batch.text, |text, edit| edit.apply(&text))?;
            Err(ProblemDetails::faults(&faults, &refused))
        }
    }
}

/// A revision that a body names.
pub fn revision(number: u32) -> Result<RevisionNumber, ProblemDetails> {
    Ok(RevisionNumber::new(number)?)
}

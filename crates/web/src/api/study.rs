//! What goes into the study over the batches of many.

use app::App;
use axum::Json;
use batch::wire::consent::Study;
use serde::Deserialize;
use store::DocumentId;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::JsonBody;
use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(state, say))
}

/// A word on the study.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StudyWord {
    /// Whether it goes in: false withdraws it.
    agreed: bool,
    /// The batch, a UUID of version 7; left out, every batch, those to come among them.
    #[serde(default)]
    #[schema(nullable = false, format = "uuid")]
    batch: Option<String>,
}

/// Which batches go into the study, and what of them leaves.
///
/// On a server with accounts those of the group that is acted in.
#[utoipa::path(
    get,
    path = "/study",
    operation_id = "read_study",
    tag = "batches",
    responses(
        (status = 200, description = "How things stand.", body = ref("#/components/schemas/Study")),
    )
)]
pub async fn state(Acting(app): Acting) -> Result<Json<Study>, ProblemDetails> {
    Ok(Json(app.study_state().await?.form()))
}

/// Agrees that a batch goes into the study, or every batch; or withdraws it.
///
/// What was withdrawn is absent from the next gathering; rows that an earlier one took cannot
/// be called back. On a server with accounts it is a word of the group that is acted in, on
/// its own batches, and for its keepers to say.
#[utoipa::path(
    post,
    path = "/study",
    operation_id = "say_study",
    tag = "batches",
    request_body = StudyWord,
    responses(
        (status = 200, description = "How things stand after it.", body = ref("#/components/schemas/Study")),
        (status = 400, description = "The body cannot be read."),
        (status = 403, description = "The batch is another group's, or whoever asks does not keep the group."),
        (status = 404, description = "There is no such batch."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The identifier is not written like one, or is of no batch."),
    )
)]
pub async fn say(
    Acting(app): Acting,
    JsonBody(word): JsonBody<StudyWord>,
) -> Result<Json<Study>, ProblemDetails> {
    let batch = word.batch.as_deref().map(str::parse::<DocumentId>);
    let batch = batch.transpose()?;
    let state = if word.agreed {
        app.agree_to_study(batch).await?
    } else {
        app.withdraw_from_study(batch).await?
    };
    Ok(Json(state.form()))
}

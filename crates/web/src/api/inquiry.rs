//! Why a batch is off.

use app::App;
use axum::Json;
use axum::extract::State;
use batch::inquiry::Said;
use batch::wire::inquiry::Inquiry;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, refused};
use super::extract::{BatchAt, JsonBody};
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(inquire))
        .routes(routes!(of_batch))
}

/// A batch document, and what was found and tested beside what it keeps. Keys are those
/// of the document's `finding` and `test`.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InquiryQuestion {
    /// The batch document.
    document: String,
    /// What is there.
    #[serde(default)]
    #[schema(example = json!(["medicinal"]))]
    found: Vec<String>,
    /// What was looked for and is not there.
    #[serde(default)]
    #[schema(example = json!(["butter"]))]
    absent: Vec<String>,
    /// What is no fault here.
    #[serde(default)]
    wanted: Vec<String>,
    /// Tests that came out positive.
    #[serde(default)]
    positive: Vec<String>,
    /// Tests that came out negative.
    #[serde(default)]
    negative: Vec<String>,
}

/// Says what could be behind a fault, and which tests would settle it.
///
/// Causes with what speaks for and against them, tests by the certainty that they buy for
/// their price, remedies. Nothing is kept.
#[utoipa::path(
    post,
    path = "/inquiry",
    operation_id = "inquire",
    tag = "inquiry",
    request_body = InquiryQuestion,
    responses(
        (status = 200, description = "Causes and tests.", body = ref("#/components/schemas/Inquiry")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, or a finding or test is not known; the detail says what would work."),
    )
)]
pub async fn inquire(
    JsonBody(asked): JsonBody<InquiryQuestion>,
) -> Result<Json<Inquiry>, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let said = Said {
        found: asked.found,
        absent: asked.absent,
        wanted: asked.wanted,
        positive: asked.positive,
        negative: asked.negative,
    };
    let answer = reckoning
        .inquire(&reckoning.question_with(&said))
        .map_err(|error| refused("the question cannot be used as it is", error))?;
    Ok(Json(Inquiry::from(&answer)))
}

/// The same for a batch of the store, with what the other batches of the house say.
///
/// Those speak that share its water, its yeast or its kit, and in which something was
/// found, tested or called sound.
#[utoipa::path(
    get,
    path = "/batches/{id}/inquiry",
    operation_id = "inquire_batch",
    tag = "inquiry",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "Causes and tests.", body = ref("#/components/schemas/Inquiry")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults, or what was found cannot be weighed."),
    )
)]
pub async fn of_batch(
    State(app): State<App>,
    BatchAt(id): BatchAt,
) -> Result<Json<Inquiry>, ProblemDetails> {
    let open = app.batch(id).await?;
    let reckoning = reckoned(&open.text)?;
    let history = app.house_of(&open).await?;
    let answer = reckoning
        .inquire_in(&history.house, &reckoning.question())
        .map_err(|error| refused("what was found cannot be weighed", error))?;
    let mut form = Inquiry::from(&answer);
    form.house = history.spoke.into_iter().map(|s| s.words).collect();
    Ok(Json(form))
}

//! Why a batch is off.

use app::App;
use axum::Json;
use batch::inquiry::Said;
use batch::wire::inquiry::Inquiry;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, refused};
use super::extract::JsonBody;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(inquire))
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

//! What is dissolved in a water as what.

use app::App;
use axum::Json;
use batch::liquor::dissolved::{Question, dissolved, sure};
use batch::wire::liquor::dissolved::WaterDissolved;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::api::asked::{reckoned, refused, unusable};
use crate::api::extract::JsonBody;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(look))
}

/// A batch document and a question about one of its waters. Quantities are written as
/// in the document; what is left out takes the usual.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DissolvedQuestion {
    /// The batch document.
    document: String,
    /// Which water: tap, mash, sparge, or the name of a source.
    #[serde(default)]
    #[schema(example = "sparge")]
    of: String,
    /// How hot it is made.
    #[serde(default)]
    #[schema(example = "65 °C")]
    temperature: String,
    /// With which acid.
    #[serde(default)]
    #[schema(example = "lactic acid 80 %")]
    acid: String,
    /// To which pH or alkalinity the acid brings it.
    #[serde(default)]
    #[schema(example = "5.6")]
    to: String,
    /// How much water is dosed.
    #[serde(default)]
    #[schema(example = "12 L")]
    volume: String,
    /// Slaked lime in a litre.
    #[serde(default)]
    #[schema(example = "150 mg/L")]
    lime: String,
}

/// Says what is dissolved in a water of a batch.
///
/// And what heat, air, a boil, lime and acid make of it. Nothing is kept.
#[utoipa::path(
    post,
    path = "/water/dissolved",
    operation_id = "read_dissolved",
    tag = "water",
    request_body = DissolvedQuestion,
    responses(
        (status = 200, description = "What is dissolved as what.", body = ref("#/components/schemas/WaterDissolved")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, the question cannot be used, or no chemistry fits the water; the detail says what would work."),
    )
)]
pub async fn look(
    JsonBody(asked): JsonBody<DissolvedQuestion>,
) -> Result<Json<WaterDissolved>, ProblemDetails> {
    aside(move || answer(asked)).await?.map(Json)
}

fn answer(asked: DissolvedQuestion) -> Result<WaterDissolved, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let question = Question {
        of: asked.of,
        temperature: asked.temperature,
        acid: asked.acid,
        to: asked.to,
        volume: asked.volume,
        lime: asked.lime,
    };
    let found = dissolved(&reckoning, &question)
        .map_err(|error| refused("this water cannot be reckoned", error))?;
    if !found.wrong.is_empty() {
        return Err(unusable(&found.wrong));
    }
    let sure = sure(&asked.document, &found);
    Ok(WaterDissolved::of(&found, sure.as_ref()))
}

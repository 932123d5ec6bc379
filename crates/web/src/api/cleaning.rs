//! Packing safely and cleaning.

use app::App;
use axum::Json;
use batch::cleaning::{MixQuestion, mix, together};
use batch::wire::bottling::Bottling;
use batch::wire::cleaning::{CleaningAgents, CleaningMix, CleaningTogether};
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, unusable};
use super::extract::{JsonBody, Toml};
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(bottling))
        .routes(routes!(agents))
        .routes(routes!(solution))
        .routes(routes!(meeting))
}

/// Says how a batch is packed, and whether its bottles stand it.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/package",
    operation_id = "judge_package",
    tag = "package",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "Doses, pressures and the verdict.", body = ref("#/components/schemas/Bottling")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is said to be something else than TOML or text."),
        (status = 422, description = "The document has faults; each with what would work."),
    )
)]
pub async fn bottling(Toml(text): Toml) -> Result<Json<Bottling>, ProblemDetails> {
    let reckoning = reckoned(&text)?;
    Ok(Json(Bottling::from(&reckoning)))
}

/// Cleaners and sanitisers, what each can leave in beer, and what must never meet.
#[utoipa::path(
    get,
    path = "/cleaning/agents",
    operation_id = "list_cleaning_agents",
    tag = "package",
    responses((status = 200, description = "All of them.", body = ref("#/components/schemas/CleaningAgents")))
)]
pub async fn agents() -> Json<CleaningAgents> {
    Json(CleaningAgents::all())
}

/// A solution that is wanted. Quantities are written with their units; what is left out
/// takes the usual.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SolutionWanted {
    /// The cleaner or sanitiser.
    #[schema(example = "hypochlorite")]
    agent: String,
    /// The stock, by its key or its strength.
    #[serde(default)]
    #[schema(example = "5.25 %")]
    stock: String,
    /// Its density, where the strength is one by mass.
    #[serde(default)]
    #[schema(example = "1.13 g/mL")]
    density: String,
    /// The strength of the solution.
    #[serde(default)]
    #[schema(example = "100 mg/L")]
    to: String,
    /// How much of it.
    #[serde(default)]
    #[schema(example = "10 L")]
    volume: String,
}

/// Says how much of a stock makes a solution.
#[utoipa::path(
    post,
    path = "/cleaning/mix",
    operation_id = "mix_cleaning_solution",
    tag = "package",
    request_body = SolutionWanted,
    responses(
        (status = 200, description = "What to take.", body = ref("#/components/schemas/CleaningMix")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The question cannot be used as it is; the detail says what would work."),
    )
)]
pub async fn solution(
    JsonBody(asked): JsonBody<SolutionWanted>,
) -> Result<Json<CleaningMix>, ProblemDetails> {
    let question = MixQuestion {
        agent: asked.agent,
        stock: asked.stock,
        density: asked.density,
        to: asked.to,
        volume: asked.volume,
    };
    let mixed = mix(&question).map_err(|wrong| unusable(&wrong))?;
    Ok(Json(CleaningMix::from(&mixed)))
}

/// Two that may meet or not.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TwoThatMeet {
    /// An agent or a substance by its key.
    #[schema(example = "hypochlorite")]
    one: String,
    /// Another.
    #[schema(example = "peracetic-acid")]
    other: String,
}

/// Says whether two may meet.
#[utoipa::path(
    post,
    path = "/cleaning/together",
    operation_id = "judge_meeting",
    tag = "package",
    request_body = TwoThatMeet,
    responses(
        (status = 200, description = "What comes of it, where that is known.", body = ref("#/components/schemas/CleaningTogether")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "One of them is not known; the detail lists what is."),
    )
)]
pub async fn meeting(
    JsonBody(asked): JsonBody<TwoThatMeet>,
) -> Result<Json<CleaningTogether>, ProblemDetails> {
    let found = together(&asked.one, &asked.other).map_err(|wrong| unusable(&wrong))?;
    Ok(Json(CleaningTogether::from(&found)))
}

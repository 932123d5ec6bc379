//! How sure a batch is.

use app::App;
use axum::Json;
use batch::certainty::{CertaintyError, Question, certainty};
use batch::wire::certainty::Certainty;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::refused;
use super::extract::{QueryOf, Toml};
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The most reckonings that one request may ask for.
const MOST_DRAWS: usize = 8192;
const MOST_POINTS: usize = 512;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(of_document))
}

/// How closely to look.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct CertaintyQuery {
    /// Draws for the intervals, 32 to 8192.
    #[param(example = 1024)]
    draws: usize,
    /// Points for the shares of the doubts, up to 512; 0 for none.
    #[param(example = 64)]
    points: usize,
    /// The same seed gives the same answer.
    #[param(example = 1)]
    seed: u32,
}

impl Default for CertaintyQuery {
    fn default() -> Self {
        Self {
            draws: 1024,
            points: 64,
            seed: 1,
        }
    }
}

/// Says how sure the figures of a batch document are, and what they are unsure of.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/certainty",
    operation_id = "certainty",
    tag = "batches",
    params(CertaintyQuery),
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The figures with their intervals.", body = ref("#/components/schemas/Certainty")),
        (status = 400, description = "The body is not UTF-8, or the query cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults, or the draws cannot be made."),
    )
)]
pub async fn of_document(
    QueryOf(query): QueryOf<CertaintyQuery>,
    Toml(text): Toml,
) -> Result<Json<Certainty>, ProblemDetails> {
    if query.draws > MOST_DRAWS || query.points > MOST_POINTS {
        let told = format!("up to {MOST_DRAWS} draws and {MOST_POINTS} points would work");
        return Err(refused("these are too many for one request", told));
    }
    let question = Question {
        draws: query.draws,
        points: query.points,
        seed: query.seed,
    };
    aside(move || match certainty(&text, &question, &|_, _| true) {
        Ok(found) => Ok(Json(Certainty::from(&found))),
        Err(CertaintyError::Document(faults)) => Err(ProblemDetails::faults(&faults, &text)),
        Err(other) => Err(refused("the draws cannot be made", other)),
    })
    .await?
}

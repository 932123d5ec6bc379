//! Batches side by side.

use app::App;
use axum::Json;
use batch::comparing::{CompareError, Question, compare};
use batch::wire::comparing::Comparison;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::refused;
use super::extract::JsonBody;
use crate::acting::Acting;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The most draws that one request may ask for.
const MOST_DRAWS: usize = 1024;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(side_by_side))
}

/// Batches to lay beside each other: two to six, the others held against the first.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CompareRequest {
    /// Them.
    of: Vec<CompareOf>,
    /// Draws for how sure each figure is, 32 to 1024; 0 for none.
    #[serde(default = "draws")]
    #[schema(example = 256)]
    draws: usize,
    /// Everything that differs by itself, however much it is.
    #[serde(default)]
    finely: bool,
    /// The same seed gives the same answer.
    #[serde(default = "seed")]
    #[schema(example = 1)]
    seed: u64,
}

/// One of them: a document, or a batch of the store.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CompareOf {
    /// A batch document.
    document: Option<String>,
    /// A batch of the store; with `@3` behind it, that revision of it.
    batch: Option<String>,
}

fn draws() -> usize {
    Question::default().draws
}

fn seed() -> u64 {
    Question::default().seed
}

/// Says what differs between batches, and which of it made their figures differ.
///
/// Each part that differs has what it adds on average over every order of taking the parts
/// over (Shapley 1953); the shares of a figure sum to its whole difference. Nothing is kept.
#[utoipa::path(
    post,
    path = "/compare",
    operation_id = "compare",
    tag = "batches",
    request_body = CompareRequest,
    responses(
        (status = 200, description = "What differs, and what made it differ.", body = ref("#/components/schemas/Comparison")),
        (status = 400, description = "The body cannot be read."),
        (status = 404, description = "There is no such batch, or no such revision of it."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "A document has faults, or there are too few or too many; the detail says what would work."),
    )
)]
pub async fn side_by_side(
    Acting(app): Acting,
    JsonBody(asked): JsonBody<CompareRequest>,
) -> Result<Json<Comparison>, ProblemDetails> {
    if asked.draws > MOST_DRAWS {
        let told = format!("up to {MOST_DRAWS} draws would work");
        return Err(refused("these are too many for one request", told));
    }
    let mut texts = Vec::new();
    let mut tastings = Vec::new();
    for of in asked.of.into_iter().take(batch::comparing::MOST + 1) {
        match (of.document, of.batch) {
            (Some(text), None) => {
                texts.push(text);
                tastings.push(Vec::new());
            }
            (None, Some(batch)) => {
                let picked = app.pick_written(&batch).await?;
                texts.push(picked.text);
                tastings.push(picked.tastings);
            }
            _ => {
                return Err(refused(
                    "each of them is a document or a batch",
                    "give one of the two",
                ));
            }
        }
    }
    let question = Question {
        draws: asked.draws,
        finely: asked.finely,
        seed: asked.seed,
        ..Question::default()
    };
    aside(move || {
        let of: Vec<&str> = texts.iter().map(String::as_str).collect();
        match compare(&of, &question, &|_, _| true) {
            Ok(found) => {
                let mut form = Comparison::from(&found);
                for (batch, tastings) in form.batches.iter_mut().zip(tastings) {
                    batch.tastings = tastings;
                }
                Ok(Json(form))
            }
            Err(CompareError::Document { which, faults }) => {
                Err(ProblemDetails::faults(&faults, of[which]))
            }
            Err(other) => Err(refused("the batches cannot be compared", other)),
        }
    })
    .await?
}

//! What the batches of the store teach one.

use app::App;
use axum::Json;
use batch::learning::Forget;
use batch::wire::learning::Learning;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, refused};
use super::extract::{BatchAt, QueryOf};
use crate::acting::Acting;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(learning))
}

/// How age counts.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct LearningQuery {
    /// When a batch counts half: after so many further ones ("10", "10 batches", 0.1 to
    /// 10000), or after a time ("18 months"); "never" forgets nothing. Left out, as the
    /// batch says.
    #[param(example = "10 batches")]
    half_life: Option<String>,
}

/// What the other batches of the store teach a batch.
///
/// Of its kit, its yeast, its waters through the year, the instruments and the tasters, with
/// what each of them did, and whether what
/// was said beforehand came. Nothing is kept. `values` are what a plan would take, as edits of the batch set them.
#[utoipa::path(
    get,
    path = "/batches/{id}/learning",
    operation_id = "learn_of_batches",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid"), LearningQuery),
    responses(
        (status = 200, description = "What was learned.", body = ref("#/components/schemas/Learning")),
        (status = 400, description = "The identifier or the query cannot be read."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults, or the half-life cannot be."),
    )
)]
pub async fn learning(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
    QueryOf(query): QueryOf<LearningQuery>,
) -> Result<Json<Learning>, ProblemDetails> {
    let asked = query.half_life.as_deref().map(Forget::read).transpose();
    let asked = asked.map_err(|error| refused("this half-life cannot be", error.to_string()))?;
    reckoned(&app.batch(id).await?.text)?;
    let gathered = app.gather_lessons(id).await?;
    let lessons = aside(move || gathered.lessons(asked)).await?;
    app.remember(&lessons).await;
    Ok(Json(lessons.form()))
}

//! The fermentation of a batch as its readings have it.

use app::App;
use axum::Json;
use batch::watch::{Moments, Watched};
use batch::wire::watch::FermentationCourse;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, refused};
use super::extract::BatchAt;
use crate::acting::Acting;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(course))
}

/// Where the fermentation of a batch stands, where it is going, and what is wrong.
///
/// From the document and the readings that are kept with it, looked at from the last
/// reading on. Without readings it is what the plan leads one to expect.
#[utoipa::path(
    get,
    path = "/batches/{id}/course",
    operation_id = "watch_fermentation",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "The course.", body = ref("#/components/schemas/FermentationCourse")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults."),
    )
)]
pub async fn course(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<Json<FermentationCourse>, ProblemDetails> {
    let open = app.batch(id).await?;
    let reckoning = reckoned(&open.text)?;
    let readings = app.readings(id).await?;
    let watched = aside(move || Watched::of(&reckoning, &readings, Moments::default())).await?;
    let watched = watched.map_err(|error| refused("this cannot be watched", error))?;
    Ok(Json(FermentationCourse::from(&watched)))
}

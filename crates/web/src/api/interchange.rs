//! Recipes from and to other programs.

use app::App;
use axum::Json;
use axum::extract::Request;
use axum::http::StatusCode;
use axum::response::IntoResponse;
use interchange::wire::{RecipeWritten, RecipesRead};
use interchange::{Imported, ReadError};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::{BatchAt, utf8};
use crate::acting::Acting;
use crate::problem::ProblemDetails;

pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(read))
        .routes(routes!(take_in))
        .routes(routes!(write))
}

/// Reads a file of the open recipe standard: the documents in it, and what does not map.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/recipes/read",
    operation_id = "read_recipes",
    tag = "batches",
    request_body(description = "A file of the standard BeerJSON.", content((Object = "application/json"))),
    responses(
        (status = 200, description = "What it comes to.", body = ref("#/components/schemas/RecipesRead")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 422, description = "The file is not of the standard, or nothing in it can be kept."),
    )
)]
pub async fn read(request: Request) -> Result<Json<RecipesRead>, ProblemDetails> {
    let text = utf8(request, &()).await?;
    let (documents, remarks) = interchange::read(&text).map_err(|e| refused(&e))?;
    Ok(Json(RecipesRead::of(&documents, &remarks, &[])))
}

/// Keeps what a file of the open recipe standard holds.
#[utoipa::path(
    post,
    path = "/recipes",
    operation_id = "take_in_recipes",
    tag = "batches",
    request_body(description = "A file of the standard BeerJSON.", content((Object = "application/json"))),
    responses(
        (status = 201, description = "What was kept, and what does not map.", body = ref("#/components/schemas/RecipesRead")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 422, description = "The file is not of the standard, or nothing in it can be kept."),
    )
)]
pub async fn take_in(
    Acting(app): Acting,
    request: Request,
) -> Result<impl IntoResponse, ProblemDetails> {
    let text = utf8(request, &app).await?;
    let taken = app.take_in(&text).await?;
    let ids: Vec<String> = taken.kept.iter().map(|(id, _)| id.to_string()).collect();
    let documents: Vec<Imported> = taken.kept.into_iter().map(|(_, made)| made).collect();
    let told = RecipesRead::of(&documents, &taken.remarks, &ids);
    Ok((StatusCode::CREATED, Json(told)))
}

/// A batch as a file of the open recipe standard, and what does not map.
#[utoipa::path(
    get,
    path = "/batches/{id}/recipe",
    operation_id = "write_recipe",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "The file in the member file, and what does not map.", body = ref("#/components/schemas/RecipeWritten")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The batch cannot be reckoned as it is."),
    )
)]
pub async fn write(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<Json<RecipeWritten>, ProblemDetails> {
    Ok(Json(RecipeWritten::from(&app.write_recipe(id).await?)))
}

/// A file that is not taken: each fault with its JSON pointer.
pub(super) fn refused(error: &ReadError) -> ProblemDetails {
    let detail = match error {
        ReadError::NotTheStandard { faults } => {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            lines.join("\n")
        }
        error => error.to_string(),
    };
    ProblemDetails::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "the file of recipes cannot be taken as it is",
        detail,
    )
}

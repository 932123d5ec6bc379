//! The mash of a batch.

use app::App;
use axum::Json;
use batch::wire::mash::WortMash;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::reckoned;
use super::extract::Toml;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(mash))
}

/// Follows the mash of a batch document.
///
/// Heat, temperatures, starch into sugar, and what a missed temperature asks for. Nothing
/// is kept.
#[utoipa::path(
    post,
    path = "/wort/mash",
    operation_id = "follow_mash",
    tag = "wort",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The mash.", body = ref("#/components/schemas/WortMash")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults; each says where it stands and what would work."),
    )
)]
pub async fn mash(Toml(text): Toml) -> Result<Json<WortMash>, ProblemDetails> {
    let reckoning = reckoned(&text)?;
    Ok(Json(WortMash::from(&reckoning)))
}

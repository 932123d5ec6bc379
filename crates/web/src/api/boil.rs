//! The boil of a batch.

use app::App;
use axum::Json;
use batch::wire::boil::WortBoil;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::reckoned;
use super::extract::Toml;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(boil))
}

/// Follows the boil of a batch document.
///
/// Hop by hop, heat, dimethyl sulfide, from moment to moment. Nothing is kept.
#[utoipa::path(
    post,
    path = "/wort/boil",
    operation_id = "follow_boil",
    tag = "wort",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The boil.", body = ref("#/components/schemas/WortBoil")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults; each says where it stands and what would work."),
    )
)]
pub async fn boil(Toml(text): Toml) -> Result<Json<WortBoil>, ProblemDetails> {
    let reckoning = reckoned(&text)?;
    Ok(Json(WortBoil::from(&reckoning)))
}

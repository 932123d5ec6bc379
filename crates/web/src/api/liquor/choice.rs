//! Which water for which beer.

use app::App;
use utoipa_axum::router::OpenApiRouter;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
}

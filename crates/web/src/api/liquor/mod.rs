//! What is asked about water.

mod chlorine;
mod minerals;
mod report;

use app::App;
use utoipa_axum::router::OpenApiRouter;

/// All of them.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .merge(chlorine::routes())
        .merge(minerals::routes())
        .merge(report::routes())
}

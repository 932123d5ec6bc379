//! What is asked about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
mod reading;
mod report;

use app::App;
use utoipa_axum::router::OpenApiRouter;

/// All of them.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .merge(chlorine::routes())
        .merge(choice::routes())
        .merge(dissolved::routes())
        .merge(minerals::routes())
        .merge(reading::routes())
        .merge(report::routes())
}

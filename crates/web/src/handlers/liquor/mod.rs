//! Pages of what is asked about water.

mod chlorine;
mod dissolved;
mod minerals;
mod report;

use app::App;
use axum::Router;

/// All of them.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(chlorine::routes())
        .merge(dissolved::routes())
        .merge(minerals::routes())
        .merge(report::routes())
}

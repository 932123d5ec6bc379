//! Pages of what is asked about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
mod report;

use app::App;
use axum::Router;

/// All of them.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(chlorine::routes())
        .merge(choice::routes())
        .merge(dissolved::routes())
        .merge(minerals::routes())
        .merge(report::routes())
}

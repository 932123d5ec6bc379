//! Reading a report.

use app::App;
use axum::Router;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
}

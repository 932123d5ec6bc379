//! What is dissolved as what.

use app::App;
use axum::Router;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
}

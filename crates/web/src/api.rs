//! The HTTP API.

use app::App;
use axum::Router;

/// The routes under `/api`.
pub fn routes() -> Router<App> {
    Router::new()
}

/// The OpenAPI description.
#[must_use]
pub fn openapi() -> serde_json::Value {
    serde_json::json!({})
}

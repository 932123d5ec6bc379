//! The page about cleaning. The address holds the questions, so that it can be kept.

use app::App;
use axum::Router;
use axum::extract::Query;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use crate::settings::Settings;
use crate::views::cleaning::{Desk, page};

/// The page.
pub fn routes() -> Router<App> {
    Router::new().route("/cleaning", get(show))
}

async fn show(
    settings: Settings,
    headers: HeaderMap,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let desk = Desk::of(&query, settings.units);
    // The script swaps only what did not fail.
    let live = headers.contains_key("hx-request");
    let status = match desk.fine() || live {
        true => StatusCode::OK,
        false => StatusCode::UNPROCESSABLE_ENTITY,
    };
    (status, page(&desk)).into_response()
}

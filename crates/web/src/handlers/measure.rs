//! The small tools beside the kettle. The address holds the readings, so that it can
//! be kept or shared.

use std::collections::BTreeMap;

use app::{App, Tool};
use axum::Router;
use axum::extract::Query;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use super::not_found;
use crate::settings::Settings;
use crate::views::measure::{Asked, page};

/// The page.
pub fn routes() -> Router<App> {
    Router::new().route("/measure", get(show))
}

/// All tools, the one that the address names with its answer.
async fn show(
    settings: Settings,
    headers: HeaderMap,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let mut typed: BTreeMap<String, String> = query.into_iter().collect();
    let Some(key) = typed.remove("tool") else {
        return page(None).into_response();
    };
    let Some(tool) = Tool::find(&key) else {
        return not_found().await.into_response();
    };
    // While one is still typing, a field that is empty is no fault yet.
    let live = headers.contains_key("hx-request");
    let unfinished = tool.lacks(&typed);
    let answer = if live && unfinished {
        None
    } else {
        Some(tool.measure(&typed, settings.units))
    };
    let status = match &answer {
        // The script swaps only what did not fail.
        Some(Err(_)) if !live => StatusCode::UNPROCESSABLE_ENTITY,
        _ => StatusCode::OK,
    };
    let asked = Asked {
        tool,
        typed: &typed,
        answer: answer.as_ref(),
    };
    (status, page(Some(&asked))).into_response()
}

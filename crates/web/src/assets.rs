//! The files that pages link, embedded.

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};

use crate::problem::ProblemDetails;

/// The version in the address: a new build brings new files, so a page never
/// meets an old script.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

const STYLE: &str = include_str!("../assets/gyle.css");
const SCRIPT: &str = include_str!("../assets/gyle.js");
const HTMX: &str = include_str!("../assets/htmx.min.js");
const ICON: &str = include_str!("../assets/icon.svg");

/// Serves an asset by name.
pub async fn serve(Path(name): Path<String>) -> Response {
    let (kind, body) = match name.as_str() {
        "gyle.css" => ("text/css; charset=utf-8", STYLE),
        "chart.css" => ("text/css; charset=utf-8", chart::STYLE),
        "gyle.js" => ("text/javascript; charset=utf-8", SCRIPT),
        "chart.js" => ("text/javascript; charset=utf-8", chart::SCRIPT),
        "htmx.js" => ("text/javascript; charset=utf-8", HTMX),
        "icon.svg" => ("image/svg+xml", ICON),
        _ => {
            return ProblemDetails::new(
                StatusCode::NOT_FOUND,
                "there is no such file",
                "reload the page",
            )
            .into_response();
        }
    };
    let mut response = body.into_response();
    let headers = response.headers_mut();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-cache"));
    response
}

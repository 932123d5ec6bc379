//! Answers that are files to keep.

use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use chart::Chart;

use crate::error::PageError;

/// A text to keep under a name.
pub(super) fn file(kind: &'static str, name: &str, body: String) -> Response {
    named(kind, name, body.into_response())
}

fn named(kind: &'static str, name: &str, mut response: Response) -> Response {
    let headers = response.headers_mut();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        headers.insert(CONTENT_DISPOSITION, value);
    }
    response
}

/// Bytes to keep under a name.
pub(super) fn bytes_file(kind: &'static str, name: &str, body: Vec<u8>) -> Response {
    named(kind, name, body.into_response())
}

/// The chart that a file name such as `course.svg` or `course.csv` asks for; `named`
/// draws the chart of a name, where there is one.
pub(super) fn chart_file<C: Chart + ?Sized>(
    name: &str,
    named: impl FnOnce(&str) -> Option<Box<C>>,
) -> Result<Response, PageError> {
    let (which, ending) = name.rsplit_once('.').ok_or_else(no_chart)?;
    let chart = named(which).ok_or_else(no_chart)?;
    match ending {
        "svg" => Ok(file("image/svg+xml", name, chart.standalone_svg())),
        "csv" => Ok(file("text/csv; charset=utf-8", name, chart.csv())),
        _ => Err(no_chart()),
    }
}

/// No chart of that name, or nothing of which one could be drawn.
pub(super) fn no_chart() -> PageError {
    PageError::new(
        StatusCode::NOT_FOUND,
        "Not here",
        "There is no chart of this address.",
    )
}

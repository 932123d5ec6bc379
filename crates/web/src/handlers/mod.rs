//! Handlers: read the request, call a use case, build a view.

pub mod batch;
pub mod brew_day;
pub mod certainty;
pub mod cleaning;
pub mod comparing;
pub mod course;
pub mod devices;
mod files;
pub mod history;
pub mod inquiry;
pub mod instruments;
pub mod interchange;
pub mod jobs;
pub mod learning;
pub mod library;
pub mod liquor;
pub mod log;
pub mod matching;
pub mod measure;
pub mod pitch;
pub mod report;
pub mod settings;
pub mod steer;
pub mod study;
pub mod take;
pub mod tasting;
mod typed;
pub mod waters;
pub mod welcome;

use std::any::Any;
use std::str::FromStr;

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use store::DocumentId;

use crate::error::PageError;

/// No page of that address.
pub async fn not_found() -> PageError {
    PageError::new(
        StatusCode::NOT_FOUND,
        "Not here",
        "There is no page of this address.",
    )
}

/// A handler that broke: the reader learns no internals.
pub fn defect(_panic: Box<dyn Any + Send + 'static>) -> Response {
    PageError::new(
        StatusCode::INTERNAL_SERVER_ERROR,
        "A defect of the program",
        "Nothing that was saved is lost. Please report what you did.",
    )
    .into_response()
}

/// The document of an address.
fn document_id(text: &str) -> Result<DocumentId, PageError> {
    DocumentId::from_str(text).map_err(|_| {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is no document of this address.",
        )
    })
}

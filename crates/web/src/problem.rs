//! Errors as problem details (RFC 9457), and as a page where a person looks on.

use axum::Json;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// An error as RFC 9457 words it.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ProblemDetails {
    /// A URI that names the kind of problem.
    #[serde(rename = "type")]
    kind: String,
    /// What is wrong, in a few words.
    title: String,
    /// The HTTP status.
    status: u16,
    /// What would work.
    detail: String,
    /// What is wrong in a document, one entry a fault.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<Object>)]
    faults: Vec<batch::wire::Fault>,
}

impl ProblemDetails {
    /// A problem: what is wrong, and what would work.
    #[must_use]
    pub fn new(status: StatusCode, title: impl Into<String>, detail: impl Into<String>) -> Self {
        let name = status.canonical_reason().unwrap_or("problem").to_lowercase().replace(' ', "-");
        Self {
            kind: format!("urn:gylewright:problem:{name}"),
            title: title.into(),
            status: status.as_u16(),
            detail: detail.into(),
            faults: Vec::new(),
        }
    }

    /// A document with faults.
    #[must_use]
    pub fn faults(faults: &[batch::Fault], text: &str) -> Self {
        let mut problem = Self::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "the document cannot be used as it is",
            "each fault says where it stands and what would work",
        );
        problem.faults = batch::wire::Check::faulty(faults, text).faults;
        problem
    }

    /// The HTTP status.
    #[must_use]
    pub fn status(&self) -> u16 {
        self.status
    }

    /// What is wrong.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// What would work.
    #[must_use]
    pub fn detail(&self) -> &str {
        &self.detail
    }
}

impl IntoResponse for ProblemDetails {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(self)).into_response();
        response
            .headers_mut()
            .insert(CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        response
    }
}

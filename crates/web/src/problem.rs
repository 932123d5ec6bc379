//! Errors as problem details (RFC 9457), and as a page where a person looks on.

use axum::Json;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa::openapi::Ref;
use utoipa::openapi::schema::{Array, ArrayBuilder};

use crate::people::retry_after;

/// The media type of a problem.
pub const PROBLEM_JSON: &str = "application/problem+json";

/// An error as RFC 9457 words it.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ProblemDetails {
    /// A URI that names the kind of problem.
    #[serde(rename = "type")]
    #[schema(format = "uri", example = "urn:gylewright:problem:not-found")]
    kind: String,
    /// What is wrong, in a few words.
    title: String,
    /// The HTTP status.
    status: u16,
    /// What would work.
    detail: String,
    /// What is wrong in a document, one entry a fault.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(schema_with = list_of_faults, required = false)]
    faults: Vec<batch::wire::Fault>,
    /// The path in the document that it concerns.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    path: Option<String>,
    /// Where a version that was refused is kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = "uuid")]
    kept_as: Option<String>,
    /// The newest revision of the batch.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, minimum = 1)]
    current: Option<u32>,
    /// Goes into a header.
    #[serde(skip)]
    #[schema(ignore)]
    wait_s: Option<u64>,
}

impl ProblemDetails {
    /// A problem: what is wrong, and what would work.
    #[must_use]
    pub fn new(status: StatusCode, title: impl Into<String>, detail: impl Into<String>) -> Self {
        let name = status
            .canonical_reason()
            .unwrap_or("problem")
            .to_lowercase()
            .replace(' ', "-");
        Self {
            kind: format!("urn:gylewright:problem:{name}"),
            title: title.into(),
            status: status.as_u16(),
            detail: detail.into(),
            faults: Vec::new(),
            path: None,
            kept_as: None,
            current: None,
            wait_s: None,
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

    /// Readings that cannot be used; the path of a fault is the reading's name, its
    /// bytes are those of the reading.
    #[must_use]
    pub fn readings(faults: &[batch::Fault]) -> Self {
        let mut problem = Self::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "the readings cannot be used as they are",
            "each fault says which reading it concerns and what would work",
        );
        problem.faults = batch::wire::Check::faulty(faults, "").faults;
        problem
    }

    /// The same, about a path in the document.
    #[must_use]
    pub fn at_path(mut self, path: impl Into<String>) -> Self {
        self.path = Some(path.into());
        self
    }

    /// The same, with the place where a refused version is kept.
    #[must_use]
    pub fn kept_as(mut self, side: store::SideId) -> Self {
        self.kept_as = Some(side.to_string());
        self
    }

    /// The same, with the newest revision.
    #[must_use]
    pub fn current(mut self, revision: store::RevisionNumber) -> Self {
        self.current = Some(revision.get());
        self
    }

    /// The same, with the seconds after which it is worth another try.
    #[must_use]
    pub fn retry_after(mut self, wait_s: u64) -> Self {
        self.wait_s = Some(wait_s);
        self
    }

    /// The HTTP status.
    #[cfg(test)]
    pub fn status(&self) -> u16 {
        self.status
    }
}

impl IntoResponse for ProblemDetails {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let wait_s = self.wait_s;
        let mut response = (status, Json(self)).into_response();
        response
            .headers_mut()
            .insert(CONTENT_TYPE, HeaderValue::from_static(PROBLEM_JSON));
        match wait_s {
            Some(wait_s) => retry_after(response, wait_s),
            None => response,
        }
    }
}

/// The schema of a fault is that of `batch`, under its own name.
pub fn list_of_faults() -> Array {
    ArrayBuilder::new()
        .items(Ref::from_schema_name("Fault"))
        .description(Some(
            "What is wrong in the document, in the order of its text.",
        ))
        .build()
}

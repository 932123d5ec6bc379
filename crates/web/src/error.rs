//! An error as a page.

use app::AppError;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::html;
use store::StoreError;

use crate::page::Page;
use crate::people::retry_after;

/// Why a page cannot be shown.
#[derive(Debug)]
pub struct PageError {
    status: StatusCode,
    title: String,
    detail: String,
    wait_s: Option<u64>,
}

impl PageError {
    /// An error with what would work.
    pub fn new(status: StatusCode, title: impl Into<String>, detail: impl Into<String>) -> Self {
        Self {
            status,
            title: title.into(),
            detail: detail.into(),
            wait_s: None,
        }
    }
}

impl PageError {
    /// The same, with the seconds after which it is worth another try.
    pub fn retry_after(mut self, wait_s: u64) -> Self {
        self.wait_s = Some(wait_s);
        self
    }
}

/// When a group that has as much work open as it may is worth another try \[s\]: most work
/// takes some seconds (judgement).
const JOBS_WAIT_S: u64 = 10;

/// The seconds after which what was refused for being too much is worth another try.
pub fn wait_s(error: &AppError) -> Option<u64> {
    match error {
        AppError::TooOften { wait_s } => Some(*wait_s),
        AppError::Store(StoreError::TooManyJobs { .. }) => Some(JOBS_WAIT_S),
        _ => None,
    }
}

/// The status and the words of an error of a use case.
pub fn status_of(error: &AppError) -> StatusCode {
    match error {
        AppError::Store(
            StoreError::NoSuchDocument { .. }
            | StoreError::NoSuchDevice { .. }
            | StoreError::NoSuchJob { .. }
            | StoreError::NoSuchRevision { .. }
            | StoreError::NoSuchSideVersion { .. }
            | StoreError::NoSuchMember
            | StoreError::NoSuchGroup
            | StoreError::NoInvitation,
        ) => StatusCode::NOT_FOUND,
        AppError::Store(StoreError::NotAllowed { .. }) => StatusCode::FORBIDDEN,
        AppError::TooOften { .. } | AppError::Store(StoreError::TooManyJobs { .. }) => {
            StatusCode::TOO_MANY_REQUESTS
        }
        AppError::Store(StoreError::Stale { .. }) | AppError::Conflict { .. } => {
            StatusCode::CONFLICT
        }
        AppError::Store(
            StoreError::Impossible { .. }
            | StoreError::WrongKind { .. }
            | StoreError::NameTaken { .. }
            | StoreError::LastKeeper,
        )
        | AppError::Password(_)
        | AppError::WrongPassword
        | AppError::Edit(_)
        | AppError::Log(_)
        | AppError::NoAnalysis { .. }
        | AppError::NotOne { .. }
        | AppError::Recipes(_)
        | AppError::Faulty { .. } => StatusCode::UNPROCESSABLE_ENTITY,
        AppError::Store(_) | AppError::Archive(_) | AppError::Hash(_) => {
            StatusCode::INTERNAL_SERVER_ERROR
        }
    }
}

impl From<AppError> for PageError {
    fn from(error: AppError) -> Self {
        let status = status_of(&error);
        let title = match status {
            StatusCode::NOT_FOUND => "Not here",
            StatusCode::FORBIDDEN => "Not for you",
            StatusCode::CONFLICT => "Changed in another place",
            StatusCode::INTERNAL_SERVER_ERROR => "The store does not answer",
            _ => "This cannot be done",
        };
        if status == StatusCode::INTERNAL_SERVER_ERROR {
            // The reader learns what to do, the log learns why.
            tracing::error!(%error, "the store failed");
            return Self::new(
                status,
                title,
                "Nothing that was saved is lost. Try again; if it stays so, check the store with: gyle store check",
            );
        }
        let page = Self::new(status, title, error.to_string());
        match wait_s(&error) {
            Some(wait_s) => page.retry_after(wait_s),
            None => page,
        }
    }
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        let body = html! {
            div.hello {
                h2 { (self.title) }
                p { (self.detail) }
                p { a.button href="/" { "Back to the batches" } }
            }
        };
        let page = (self.status, Page::new(&self.title).render(&body)).into_response();
        match self.wait_s {
            Some(wait_s) => retry_after(page, wait_s),
            None => page,
        }
    }
}

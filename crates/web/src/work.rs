//! Work that takes long, done beside the requests of others.

use axum::http::StatusCode;

use crate::problem::ProblemDetails;

/// Does what reckons for longer than a request should hold a thread of the server.
/// Searches over many salts take a second.
///
/// # Errors
/// [`Broken`], where the work came to no end.
pub async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Broken> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Broken)
}

/// Work that broke off: a defect of the program.
#[derive(Debug, Clone, Copy)]
pub struct Broken;

impl From<Broken> for ProblemDetails {
    fn from(Broken: Broken) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "a defect of the program",
            "The reckoning broke off. Nothing that was saved is lost.".to_owned(),
        )
    }
}

impl From<Broken> for crate::error::PageError {
    fn from(Broken: Broken) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "A defect of the program",
            "Nothing that was saved is lost. Please report what you did.",
        )
    }
}

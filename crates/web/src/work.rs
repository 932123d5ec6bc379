//! Work that takes long, done beside the requests of others.

use std::sync::LazyLock;
use std::thread::available_parallelism;

use axum::http::StatusCode;
use tokio::sync::Semaphore;

use crate::problem::ProblemDetails;

/// So many at once as the machine can do at once; whoever asks for more waits, and is let
/// go when the request has taken too long.
static PLACES: LazyLock<Semaphore> =
    LazyLock::new(|| Semaphore::new(available_parallelism().map_or(2, |n| n.get().max(2))));

/// Does what reckons for longer than a request should hold a thread of the server.
/// Searches over many salts take a second.
///
/// # Errors
/// [`Broken`], where the work came to no end.
pub async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Broken> {
    let place = PLACES.acquire().await.map_err(|_| Broken)?;
    // The place is held until the work ends, also where nobody waits for it any more.
    let held = move || {
        let done = work();
        drop(place);
        done
    };
    tokio::task::spawn_blocking(held).await.map_err(|_| Broken)
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

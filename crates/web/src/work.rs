//! Work that takes long, done beside the requests of others.

use std::sync::LazyLock;
use std::thread::available_parallelism;
use std::time::Instant;

use axum::http::StatusCode;
use tokio::sync::Semaphore;

use crate::people::visitor;
use crate::problem::ProblemDetails;

/// So many at once as the machine can do at once; whoever asks for more waits, and is let
/// go when the request has taken too long.
static PLACES: LazyLock<Semaphore> =
    LazyLock::new(|| Semaphore::new(available_parallelism().map_or(2, |n| n.get().max(2))));

/// Does what reckons for longer than a request should hold a thread of the server.
/// Searches over many salts take a second.
///
/// # Errors
/// [`Broken`], where the work came to no end or was not begun.
pub async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Broken> {
    let visitor = visitor::here();
    if let Some(wait) = visitor.as_ref().and_then(|v| v.must_wait()) {
        return Err(Broken::TooMuch {
            wait_s: wait.as_secs().max(1),
        });
    }
    let place = PLACES.acquire().await.map_err(|_| Broken::Off)?;
    // The place is held until the work ends, also where nobody waits for it any more.
    let held = move || {
        let begun = Instant::now();
        let done = work();
        drop(place);
        if let Some(visitor) = visitor {
            visitor.spent(begun.elapsed());
        }
        done
    };
    tokio::task::spawn_blocking(held)
        .await
        .map_err(|_| Broken::Off)
}

/// Work that was not done.
#[derive(Debug, Clone, Copy)]
pub enum Broken {
    /// It broke off: a defect of the program.
    Off,
    /// Whoever asks had too much reckoned already, and so many seconds are to be waited.
    TooMuch {
        /// How long \[s\].
        wait_s: u64,
    },
}

/// What is said to who had too much reckoned.
fn too_much(wait_s: u64) -> String {
    format!(
        "Much was reckoned for you in the last minutes, and the server is for others too. Try again in {wait_s} seconds."
    )
}

impl From<Broken> for ProblemDetails {
    fn from(broken: Broken) -> Self {
        if let Broken::TooMuch { wait_s } = broken {
            let title = "too much at once";
            return Self::new(StatusCode::TOO_MANY_REQUESTS, title, too_much(wait_s))
                .retry_after(wait_s);
        }
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "a defect of the program",
            "The reckoning broke off. Nothing that was saved is lost.".to_owned(),
        )
    }
}

impl From<Broken> for crate::error::PageError {
    fn from(broken: Broken) -> Self {
        if let Broken::TooMuch { wait_s } = broken {
            let title = "Too much at once";
            return Self::new(StatusCode::TOO_MANY_REQUESTS, title, too_much(wait_s))
                .retry_after(wait_s);
        }
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "A defect of the program",
            "Nothing that was saved is lost. Please report what you did.",
        )
    }
}

//! Whatever goes wrong, as a problem.

use std::any::Any;
use std::time::Duration;

use app::AppError;
use axum::extract::Request;
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use batch::edit::EditError;
use store::{StoreError, Trouble};

use crate::error::{status_of, wait_s};
use crate::problem::ProblemDetails;

/// Shorter than the limit of the whole server, whose answer has no body.
const LONGEST: Duration = Duration::from_secs(25);

impl From<AppError> for ProblemDetails {
    fn from(error: AppError) -> Self {
        match &error {
            AppError::Store(StoreError::Stale {
                current,
                yours_kept_as,
                ..
            }) => moved_on(&error).kept_as(*yours_kept_as).current(*current),
            AppError::Conflict { what, kept_as, .. } => {
                moved_on(&error).at_path(what).kept_as(*kept_as)
            }
            AppError::Edit(edit) => match edit {
                EditError::NotAPath { path } | EditError::Nowhere { path, .. } => {
                    cannot(&error).at_path(path)
                }
                EditError::NotToml { .. } => cannot(&error),
            },
            AppError::Faulty { faults, text } => Self::faults(faults, text),
            AppError::Recipes(error) => super::interchange::refused(error),
            _ if status_of(&error).is_server_error() => broken(&error),
            _ => cannot(&error),
        }
    }
}

impl From<StoreError> for ProblemDetails {
    fn from(error: StoreError) -> Self {
        AppError::from(error).into()
    }
}

fn moved_on(error: &AppError) -> ProblemDetails {
    ProblemDetails::new(
        status_of(error),
        "the batch has moved on in between",
        error.to_string(),
    )
}

fn cannot(error: &AppError) -> ProblemDetails {
    let status = status_of(error);
    let title = match status {
        StatusCode::NOT_FOUND => "there is no such thing here",
        StatusCode::FORBIDDEN => "this is not for you",
        _ => "this cannot be done",
    };
    let problem = ProblemDetails::new(status, title, error.to_string());
    match wait_s(error) {
        Some(wait_s) => problem.retry_after(wait_s),
        None => problem,
    }
}

/// What lies behind a failure of the store is for the one who runs the server.
fn broken(error: &AppError) -> ProblemDetails {
    tracing::error!(%error, "the store failed");
    let trouble = match error {
        AppError::Store(StoreError::Engine { trouble, .. }) => *trouble,
        _ => Trouble::Other,
    };
    ProblemDetails::new(
        StatusCode::INTERNAL_SERVER_ERROR,
        "the store does not answer",
        trouble.advice(),
    )
}

/// An error about something that the body of the request names, so that its
/// address is not at fault.
pub fn named_in_body(error: AppError) -> ProblemDetails {
    match error {
        AppError::Store(
            StoreError::NoSuchRevision { .. } | StoreError::NoSuchSideVersion { .. },
        ) => ProblemDetails::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "the batch has no such version",
            error.to_string(),
        ),
        other => other.into(),
    }
}

/// An error of a change that asked for a revision by `If-Match`.
pub fn precondition(error: AppError) -> ProblemDetails {
    match error {
        AppError::Store(StoreError::Stale {
            current,
            yours_kept_as,
            ..
        }) => ProblemDetails::new(
            StatusCode::PRECONDITION_FAILED,
            "the batch has moved on in between",
            error.to_string(),
        )
        .kept_as(yours_kept_as)
        .current(current),
        other => other.into(),
    }
}

/// No route of that address.
pub async fn no_such_route() -> ProblemDetails {
    ProblemDetails::new(
        StatusCode::NOT_FOUND,
        "there is no such route",
        "/api/openapi.json lists them all",
    )
}

/// A route that does not take this method; the `Allow` header names those it does.
pub async fn wrong_method(method: Method) -> ProblemDetails {
    ProblemDetails::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "this route does not take that method",
        format!("{method} is not among those that the header Allow names"),
    )
}

/// A handler that broke: the caller learns no internals.
pub fn defect(_panic: Box<dyn Any + Send + 'static>) -> Response {
    ProblemDetails::new(
        StatusCode::INTERNAL_SERVER_ERROR,
        "a defect of the program",
        "nothing that was saved is lost; please report what was sent",
    )
    .into_response()
}

/// Gives up on what takes too long.
pub async fn in_time(request: Request, next: Next) -> Response {
    within(LONGEST, next.run(request)).await
}

async fn within(longest: Duration, answer: impl Future<Output = Response>) -> Response {
    tokio::time::timeout(longest, answer)
        .await
        .unwrap_or_else(|_| {
            ProblemDetails::new(
                StatusCode::REQUEST_TIMEOUT,
                "this took too long",
                "read what is there before you try again: the change may have been made",
            )
            .into_response()
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::Router;
    use axum::body::Body;
    use axum::routing::get;
    use tower::ServiceExt;
    use tower_http::catch_panic::CatchPanicLayer;

    async fn told(response: Response) -> (u16, String, serde_json::Value) {
        let status = response.status().as_u16();
        let kind = response.headers()["content-type"]
            .to_str()
            .unwrap()
            .to_owned();
        let body = axum::body::to_bytes(response.into_body(), 1 << 20)
            .await
            .unwrap();
        (status, kind, serde_json::from_slice(&body).unwrap())
    }

    #[tokio::test]
    async fn a_broken_handler_tells_no_internals() {
        let broken = get(async || -> &'static str { panic!("secret of the house") });
        let router = Router::new()
            .route("/", broken)
            .layer(CatchPanicLayer::custom(defect));
        let response = router.oneshot(Request::new(Body::empty())).await.unwrap();
        let (status, kind, problem) = told(response).await;
        assert_eq!((status, kind.as_str()), (500, "application/problem+json"));
        assert_eq!(problem["title"], "a defect of the program");
        assert!(!problem.to_string().contains("secret"), "{problem}");
    }

    #[tokio::test]
    async fn what_takes_too_long_is_a_problem() {
        let response = within(Duration::from_millis(5), std::future::pending()).await;
        let (status, kind, problem) = told(response).await;
        assert_eq!((status, kind.as_str()), (408, "application/problem+json"));
        assert_eq!(problem["status"], 408);
    }

    #[tokio::test]
    async fn what_is_in_time_passes() {
        let answer = async { "in time".into_response() };
        assert_eq!(within(Duration::from_secs(5), answer).await.status(), 200);
    }
}

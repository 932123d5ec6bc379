//! Work that takes long: a page waits a moment for it, and then shows how far it is until
//! it is done.

use std::time::Duration;

use app::{App, Asked};
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use batch::job::{Outcome, Work};
use store::{DocumentId, Job, JobId};

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::settings::is_path;
use crate::handlers::typed::{Pairs, value};
use crate::page::Page;
use crate::views::jobs::{card, ended};

/// Most answers are there by then, and the page shows nothing else before.
const MOMENT: Duration = Duration::from_millis(300);
/// What has no page to show how far it is waits this long: a file, an answer that is taken.
const LONG: Duration = Duration::from_secs(20);

/// The routes.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/job/{id}", get(show))
        .route("/job/{id}/cancel", post(cancel))
        .route("/job/{id}/again", post(again))
}

/// What became of a question so far.
pub enum Answer {
    /// The answer.
    There(Box<Outcome>),
    /// Not yet, or not at all.
    Not(Box<Job>),
}

/// Asks for work, for a page that can show how far it is.
pub async fn ask(
    app: &App,
    work: &Work,
    document: Option<DocumentId>,
) -> Result<Answer, PageError> {
    within(app, work, document, MOMENT).await
}

/// Asks for work whose answer is wanted now.
pub async fn ask_now(
    app: &App,
    work: &Work,
    document: Option<DocumentId>,
) -> Result<Answer, PageError> {
    within(app, work, document, LONG).await
}

async fn within(
    app: &App,
    work: &Work,
    document: Option<DocumentId>,
    patience: Duration,
) -> Result<Answer, PageError> {
    Ok(match app.ask_and_wait(work, document, patience).await? {
        Asked::Answered(outcome) => Answer::There(outcome),
        Asked::Not(job) => Answer::Not(job),
    })
}

/// For a file whose answer is not there yet.
pub fn not_yet() -> PageError {
    PageError::new(
        StatusCode::CONFLICT,
        "Not ready yet",
        "This is still being reckoned. Open its page, and save it when it is there.",
    )
}

/// Who may see the document of a job may see the job.
async fn seen(app: &App, id: &str) -> Result<Job, PageError> {
    let nothing = || {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is no such work: it ended long ago, or never began.",
        )
    };
    let id: JobId = id.parse().map_err(|_| nothing())?;
    Ok(app.job(id).await?)
}

/// How far it is, for the page that asked to put in its place; where it has ended, that
/// page is to be loaded anew.
async fn show(
    Acting(app): Acting,
    headers: HeaderMap,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let job = seen(&app, &id).await?;
    let here = page_of(&headers);
    let live = headers.contains_key("hx-request");
    Ok(match (live, job.state.is_open()) {
        (true, true) => card(&job, &app.standing(&job), &here).into_response(),
        (true, false) => [("HX-Refresh", "true")].into_response(),
        (false, open) => {
            let shown = card(&job, &app.standing(&job), &format!("/job/{}", job.id));
            let page = Page::new("Work").beside(job.kind.clone());
            let page = if open { page.looks_again() } else { page };
            page.render(&if open { shown } else { ended(&job, &shown) })
                .into_response()
        }
    })
}

/// The path of the page that htmx asks for.
fn page_of(headers: &HeaderMap) -> String {
    let url = headers
        .get("hx-current-url")
        .and_then(|url| url.to_str().ok());
    let path = url.and_then(|url| {
        let rest = url.split_once("://").map_or(url, |(_, rest)| rest);
        rest.find('/').and_then(|at| rest.get(at..))
    });
    path.filter(|path| is_path(path)).unwrap_or("/").to_owned()
}

async fn cancel(
    Acting(app): Acting,
    headers: HeaderMap,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = seen(&app, &id).await?.id;
    let job = app.cancel_job(id).await?;
    if headers.contains_key("hx-request") {
        let here = page_of(&headers);
        if !job.state.is_open() {
            return Ok([("HX-Refresh", "true")].into_response());
        }
        return Ok(card(&job, &app.standing(&job), &here).into_response());
    }
    Ok(back(&form, &job))
}

async fn again(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = seen(&app, &id).await?.id;
    let job = app.ask_again(id).await?;
    Ok(back(&form, &job))
}

fn back(form: &Pairs, job: &Job) -> Response {
    let to = value(form, "back");
    if is_path(to) {
        return Redirect::to(to).into_response();
    }
    Redirect::to(&format!("/job/{}", job.id)).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_of_a_request_is_a_path_of_this_server() {
        let of = |url: &str| {
            let mut headers = HeaderMap::new();
            headers.insert("hx-current-url", url.parse().unwrap());
            page_of(&headers)
        };
        assert_eq!(
            of("http://127.0.0.1:4180/batch/1/match?find=yes"),
            "/batch/1/match?find=yes"
        );
        for other in ["", "http://a", "http://a//b", "nonsense"] {
            assert_eq!(of(other), "/", "{other}");
        }
        assert_eq!(page_of(&HeaderMap::new()), "/");
    }
}

//! What is kept or printed of a batch: its report as one file, and labels.

use app::App;
use axum::Router;
use axum::extract::{Path, Query};
use axum::http::header::CONTENT_SECURITY_POLICY;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use serde::Deserialize;

use super::batch::glanced;
use super::document_id;
use super::files::file;
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views::{labels, report};

/// The report holds its own style, and nothing in it may be loaded or run.
const REPORT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; \
    base-uri 'none'; frame-ancestors 'none'";

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/report", get(show))
        .route("/batch/{id}/report.html", get(keep))
        .route("/batch/{id}/labels", get(print))
}

async fn text(app: &App, settings: Settings, id: &str) -> Result<String, PageError> {
    let open = app.batch(document_id(id)?).await?;
    let (open, sure) = glanced(app, open).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(unread)?;
    let tastings = app.tastings_of(open.id).await?;
    let sure = sure.as_deref();
    Ok(report::with_tastings(
        reckoning,
        sure,
        &tastings,
        settings.units,
    ))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    Ok(shown(text(&app, settings, &id).await?))
}

/// A report as a page: it holds its own style, and nothing else may be loaded.
pub(super) fn shown(text: String) -> Response {
    let mut response = Html(text).into_response();
    let policy = HeaderValue::from_static(REPORT_POLICY);
    response
        .headers_mut()
        .insert(CONTENT_SECURITY_POLICY, policy);
    response
}

/// The same as a file to keep.
async fn keep(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let text = text(&app, settings, &id).await?;
    Ok(file("text/html; charset=utf-8", "report.html", text))
}

/// How many labels.
#[derive(Debug, Deserialize)]
struct Wanted {
    #[serde(default)]
    count: String,
}

async fn print(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(wanted): Query<Wanted>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(unread)?;
    let (count, fine) = labels::count(&wanted.count);
    let status = if fine {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    let page = labels::page(
        &open,
        &reckoning.label(),
        &wanted.count,
        count,
        settings.units,
    );
    Ok((status, page).into_response())
}

fn unread() -> PageError {
    PageError::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "Not yet",
        "This document cannot be reckoned as it is. Mend it first.",
    )
}

//! The instruments of the brewhouses, and their checks.

use app::{App, AppError, LibraryKind};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};

use super::typed::{Pairs, value};
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views::instruments::{Desk, page};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/instruments", get(show).post(add))
        .route("/instruments/check", post(check))
}

async fn show(Acting(app): Acting, settings: Settings) -> Result<Response, PageError> {
    answer(&app, settings, &[], &[]).await
}

/// Keeps an instrument with a brewhouse.
async fn add(
    Acting(app): Acting,
    settings: Settings,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let values = filled(
        &form,
        &["name", "kind", "stem", "spread", "valid_until", "set_to"],
    );
    let done = app
        .keep_instrument(value(&form, "brewhouse"), &values)
        .await;
    finished(&app, settings, &form, done).await
}

/// Keeps a check of an instrument.
async fn check(
    Acting(app): Acting,
    settings: Settings,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let values = filled(&form, &["day", "reference", "read"]);
    let done = app.keep_check(value(&form, "of"), &values).await;
    finished(&app, settings, &form, done).await
}

/// The fields that are not empty.
fn filled(form: &[(String, String)], names: &[&str]) -> Vec<(String, String)> {
    names
        .iter()
        .map(|name| ((*name).to_owned(), value(form, name).to_owned()))
        .filter(|(_, written)| !written.is_empty())
        .collect()
}

async fn finished(
    app: &App,
    settings: Settings,
    form: &[(String, String)],
    done: Result<(), AppError>,
) -> Result<Response, PageError> {
    match done {
        Ok(()) => Ok(Redirect::to("/instruments").into_response()),
        Err(AppError::Faulty { faults, .. }) => {
            let wrong: Vec<(String, String)> = faults
                .iter()
                .map(|fault| {
                    let field = fault.path.rsplit('.').next().unwrap_or_default();
                    (
                        field.to_owned(),
                        format!("{}; {}", fault.message, fault.help),
                    )
                })
                .collect();
            answer(app, settings, form, &wrong).await
        }
        Err(error @ AppError::NotOne { what, .. }) => {
            let field = if what == "brewhouse" { what } else { "of" };
            answer(
                app,
                settings,
                form,
                &[(field.to_owned(), error.to_string())],
            )
            .await
        }
        Err(other) => Err(other.into()),
    }
}

async fn answer(
    app: &App,
    settings: Settings,
    typed: &[(String, String)],
    wrong: &[(String, String)],
) -> Result<Response, PageError> {
    let records = app.instruments().await?;
    let brewhouses = app.library(LibraryKind::Brewhouse, "", 0).await?.rows;
    let status = if wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    let desk = Desk {
        records: &records,
        brewhouses: &brewhouses,
        typed,
        wrong,
        units: settings.units,
    };
    Ok((status, page(&desk)).into_response())
}

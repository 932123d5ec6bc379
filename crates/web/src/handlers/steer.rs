//! Steering a batch: the address holds the wish, so that it can be kept; a course that is
//! taken comes into the batch as one revision.

use app::{App, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::steer::{SteeredBatch, TypedSteer, course_changes};
use batch::{Fault, Reckoning};
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{answered_aside, revision};
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::steer::{Desk, chart, page, unread};
use crate::work::aside;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/steer", get(show).post(take))
        .route("/batch/{id}/steer/{name}", get(file))
}

/// A wish and what came of it.
struct Work {
    reckoning: Reckoning,
    typed: TypedSteer,
    found: Result<SteeredBatch, Vec<Fault>>,
}

impl Work {
    async fn of(
        app: &App,
        id: DocumentId,
        r: &Reckoning,
        pairs: &Pairs,
    ) -> Result<Self, PageError> {
        let typed: TypedSteer = pairs.iter().cloned().collect();
        let reckoning = r.clone();
        let kept = app.readings(id).await?;
        let work = move || {
            let found = reckoning.steered(&typed, &kept);
            Self {
                found,
                reckoning,
                typed,
            }
        };
        Ok(aside(work).await?)
    }

    fn answer(&self, open: &OpenBatch, settings: Settings, late: bool) -> Response {
        let status = match (&self.found, late) {
            (_, true) => StatusCode::CONFLICT,
            (Err(_), _) => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::OK,
        };
        let shown = page(&Desk {
            open,
            reckoning: &self.reckoning,
            typed: &self.typed,
            found: &self.found,
            units: settings.units,
            late,
        });
        (status, shown).into_response()
    }
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let work = Work::of(&app, open.id, reckoning, &query).await?;
    Ok(work.answer(&open, settings, false))
}

/// Takes a course as it is found now.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let number = document_id(&id)?;
    let on = revision(&form)?;
    let open = app.batch(number).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let work = Work::of(&app, open.id, reckoning, &form).await?;
    let late = on != open.revision;
    let Ok(found) = work.found.as_ref().map_err(|_| ()) else {
        return Ok(work.answer(&open, settings, late));
    };
    if late {
        return Ok(work.answer(&open, settings, true));
    }
    let choice = found.choice(value(&form, "show"));
    let changes = course_changes(reckoning, found, choice);
    let done = app.keep_course(number, on, changes, &choice.label).await;
    let to = format!("/batch/{number}?bench=ferment");
    answered_aside(&app, number, settings, &to, done).await
}

/// A chart as a file: `course.svg`, `trade-off.csv`, …
async fn file(
    Acting(app): Acting,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    let work = Work::of(&app, open.id, reckoning, &query).await?;
    let found = work.found.map_err(|_| no_chart())?;
    let choice = found.choice(value(&query, "show")).clone();
    chart_file(&name, |which| {
        chart(which, &work.reckoning, &found, &choice, settings.units).map(Box::new)
    })
}

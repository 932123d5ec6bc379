//! The yeast to pitch: what is counted and which starter is taken are kept as revisions
//! of the batch.

use std::collections::BTreeMap;

use app::{App, AppError, Edited, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use batch::pitch::{TypedWish, starter_entries, usual_wish};
use batch::{Fault, Reckoning};
use ferment::{WayKind, WayToPitch};
use quantity::Units;
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{answered_aside, revision};
use crate::handlers::document_id;
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::pitch::{COUNT_KEYS, Desk, key_of, page, unread};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/pitch", get(show))
        .route("/batch/{id}/pitch/count", post(keep_count))
        .route("/batch/{id}/pitch/do", post(take))
        .route("/batch/{id}/pitch/forget", post(forget))
}

fn wish(pairs: &[(String, String)]) -> TypedWish {
    TypedWish {
        gravity: value(pairs, "starter_gravity").to_owned(),
        vessel: value(pairs, "vessel").to_owned(),
    }
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let typed: BTreeMap<String, String> = query.into_iter().collect();
    Ok(answer(&open, settings, &typed, &[], StatusCode::OK))
}

/// The page with what is typed in its forms.
fn answer(
    open: &OpenBatch,
    settings: Settings,
    typed: &BTreeMap<String, String>,
    faults: &[Fault],
    status: StatusCode,
) -> Response {
    let Some(reckoning) = open.outcome.reckoning() else {
        return (StatusCode::UNPROCESSABLE_ENTITY, unread(open)).into_response();
    };
    let pairs: Pairs = typed.clone().into_iter().collect();
    let (asked, wrong) = match wish(&pairs).read() {
        Ok(asked) => (asked, Vec::new()),
        Err(wrong) => (usual_wish(), wrong),
    };
    let faults: Vec<Fault> = faults.iter().cloned().chain(wrong).collect();
    let status = if status == StatusCode::OK && !faults.is_empty() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        status
    };
    let found = reckoning.pitching_with(asked).map_err(|e| e.to_string());
    let desk = Desk {
        open,
        reckoning,
        found: &found,
        typed,
        faults: &faults,
        units: settings.units,
        late: status == StatusCode::CONFLICT,
    };
    (status, page(&desk)).into_response()
}

/// Keeps a count.
async fn keep_count(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let count = COUNT_KEYS.map(|key| (key, value(&form, key)));
    let done = app
        .keep_count(number, on, value(&form, "slurry"), &count)
        .await;
    if let Ok(Edited::Refused { batch, faults }) = &done {
        let typed = form.into_iter().collect();
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        return Ok(answer(batch, settings, &typed, faults, status));
    }
    finished(&app, settings, number, done).await
}

/// Takes a way as it is reckoned now.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let open = app.batch(number).await?;
    let late = || {
        let typed: BTreeMap<String, String> = form.iter().cloned().collect();
        Ok(answer(&open, settings, &typed, &[], StatusCode::CONFLICT))
    };
    let Some(reckoning) = open.outcome.reckoning().filter(|_| on == open.revision) else {
        return late();
    };
    let asked = wish(&form).read().unwrap_or_else(|_| usual_wish());
    let Some(way) = found(reckoning, asked, value(&form, "way")) else {
        return late();
    };
    let section = &reckoning.document.yeast;
    let done = match &way.kind {
        WayKind::Starter(plan) => {
            let steps = starter_entries(plan);
            let what = way.words(Units::Metric);
            app.keep_starter(number, on, section.steps.len(), steps, what)
                .await
        }
        WayKind::Packets(more) => {
            let packets = section.packets + f64::from(*more);
            app.keep_packets(number, on, packets).await
        }
        _ => return late(),
    };
    finished(&app, settings, number, done).await
}

fn found(r: &Reckoning, asked: ferment::StarterWish, key: &str) -> Option<WayToPitch> {
    let pitching = r.pitching_with(asked).ok()?;
    let mut ways = pitching.ways.ways.into_iter();
    ways.find(|way| key_of(way) == key)
}

/// Takes a starter or a count out again.
async fn forget(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let open = app.batch(number).await?;
    let steps = open
        .outcome
        .reckoning()
        .map_or(0, |r| r.document.yeast.steps.len());
    let done = match value(&form, "what") {
        "count" => app.forget_count(number, on).await,
        _ => app.forget_starter(number, on, steps).await,
    };
    finished(&app, settings, number, done).await
}

async fn finished(
    app: &App,
    settings: Settings,
    id: DocumentId,
    done: Result<Edited, AppError>,
) -> Result<Response, PageError> {
    answered_aside(app, id, settings, &format!("/batch/{id}/pitch"), done).await
}

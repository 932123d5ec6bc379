//! What the batches teach one. The address holds how age counts; what is taken into the
//! batch, and what is left out, are revisions.

use app::{App, Lessons};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::learning::Forget;
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{answered_aside, revision};
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::learning::{Asked, Desk, chart, page, unread};
use crate::work::aside;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/learned", get(show).post(change))
        .route("/batch/{id}/learned/{name}", get(file))
}

/// How age counts by what was typed, and what is wrong with that; none where nothing was
/// typed, so that what the batch says counts.
fn asked(pairs: &Pairs) -> (Option<Forget>, Asked) {
    let typed = value(pairs, "half_life").trim().to_owned();
    let (forget, wrong) = match Forget::read(&typed) {
        _ if typed.is_empty() => (None, None),
        Ok(read) => (Some(read), None),
        Err(error) => (None, Some(error.to_string())),
    };
    (
        forget,
        Asked {
            half_life: typed,
            wrong,
            unsaid: None,
        },
    )
}

async fn lessons(app: &App, id: DocumentId, asked: Option<Forget>) -> Result<Lessons, PageError> {
    let gathered = app.gather_lessons(id).await?;
    let lessons = aside(move || gathered.lessons(asked)).await?;
    app.remember(&lessons).await;
    Ok(lessons)
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let (forget, asked) = asked(&query);
    let lessons = lessons(&app, document_id(&id)?, forget).await?;
    Ok(answer(&lessons, &asked, settings))
}

fn answer(lessons: &Lessons, asked: &Asked, settings: Settings) -> Response {
    if lessons.batch.outcome.reckoning().is_none() {
        let shown = unread(&lessons.batch);
        return (StatusCode::UNPROCESSABLE_ENTITY, shown).into_response();
    }
    let wrong = asked.wrong.is_some() || asked.unsaid.is_some();
    let status = if wrong {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    let units = settings.units;
    let shown = page(&Desk {
        lessons,
        asked,
        units,
    });
    (status, shown).into_response()
}

/// Takes what was learned, takes it out, keeps how age counts, leaves a batch out, or
/// counts it again.
async fn change(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let number = document_id(&id)?;
    let (forget, mut asked) = asked(&form);
    let here = format!(
        "/batch/{number}/learned?half_life={}",
        asked.half_life_in_address()
    );
    match value(&form, "do") {
        "take" => {
            let on = revision(&form)?;
            let found = lessons(&app, number, forget).await?;
            let done = app.take_lessons(&found, on).await;
            answered_aside(&app, number, settings, &here, done).await
        }
        "drop" => {
            let done = app.drop_lessons(number, revision(&form)?).await;
            answered_aside(&app, number, settings, &here, done).await
        }
        "keep" if asked.wrong.is_some() => {
            let found = lessons(&app, number, forget).await?;
            Ok(answer(&found, &asked, settings))
        }
        "keep" => {
            let forget = forget.unwrap_or_default();
            let on = revision(&form)?;
            let done = app.keep_half_life(number, on, forget).await;
            let here = format!("/batch/{number}/learned");
            answered_aside(&app, number, settings, &here, done).await
        }
        "leave-out" if value(&form, "why").trim().is_empty() => {
            asked.unsaid = Some(value(&form, "other").to_owned());
            let found = lessons(&app, number, forget).await?;
            Ok(answer(&found, &asked, settings))
        }
        word => {
            let other = document_id(value(&form, "other"))?;
            let on = app.batch(other).await?.revision;
            let why = (word == "leave-out").then(|| value(&form, "why"));
            let done = app.leave_out(other, on, why).await;
            answered_aside(&app, other, settings, &here, done).await
        }
    }
}

/// A chart as a file: `calibration.svg`, `evaporation.csv`, …
async fn file(
    Acting(app): Acting,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let (forget, _) = asked(&query);
    let found = lessons(&app, document_id(&id)?, forget).await?;
    if found.batch.outcome.reckoning().is_none() {
        return Err(no_chart());
    }
    chart_file(&name, |which| chart(which, &found, settings.units))
}

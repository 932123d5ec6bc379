//! What is dissolved in the waters of a batch. The address holds the question; acid
//! for the sparge is taken into the batch as one revision.

use app::App;
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::liquor::dissolved::{Question, dissolved, sure};

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::revision;
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::liquor::{status, taken};
use crate::handlers::typed::Pairs;
use crate::settings::Settings;
use crate::views::liquor::dissolved::{Desk, acid_curve, lime_curve, page, question, unread};
use crate::work::aside;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/dissolved", get(show).post(take))
        .route("/batch/{id}/dissolved/{name}", get(curve))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let live = headers.contains_key("hx-request");
    answer(&app, settings, &id, &question(&query), live, false).await
}

/// The page of a question.
async fn answer(
    app: &App,
    settings: Settings,
    id: &str,
    question: &Question,
    live: bool,
    late: bool,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(id)?).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let (r, asked, text) = (reckoning.clone(), question.clone(), open.text.clone());
    let (answer, sure) = aside(move || {
        let answer = dissolved(&r, &asked);
        let sure = answer.as_ref().ok().and_then(|found| sure(&text, found));
        (answer, sure)
    })
    .await?;
    let fine = answer.as_ref().is_ok_and(|found| found.wrong.is_empty());
    let desk = Desk {
        open: &open,
        reckoning,
        question,
        answer: &answer,
        sure: sure.as_ref(),
        units: settings.units,
        late,
    };
    Ok((status(fine || live, late), page(&desk)).into_response())
}

/// Takes the acid that is reckoned now for the question of the form.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let question = question(&form);
    let number = document_id(&id)?;
    let open = app.batch(number).await?;
    let changes = open.outcome.reckoning().and_then(|reckoning| {
        let found = dissolved(reckoning, &question).ok()?;
        found.wrong.is_empty().then(|| found.changes(reckoning))?
    });
    let (false, Some(changes)) = (on != open.revision, changes) else {
        let late = on != open.revision;
        return answer(&app, settings, &id, &question, false, late).await;
    };
    let done = app.take_acid(number, on, changes).await;
    taken(&app, number, on, settings, done).await
}

/// A curve as a file: `acid.svg`, `lime.csv`.
async fn curve(
    Acting(app): Acting,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    let found = dissolved(reckoning, &question(&query)).map_err(|_| no_chart())?;
    chart_file(&name, |which| {
        let chart = match which {
            "acid" => acid_curve(found.acid.as_ref()?),
            "lime" => lime_curve(found.lime.as_ref()?, settings.units),
            _ => return None,
        };
        Some(Box::new(chart))
    })
}

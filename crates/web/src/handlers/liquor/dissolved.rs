//! What is dissolved in the waters of a batch. The address holds the question; acid
//! for the sparge is taken into the batch as one revision.

use app::{App, Edited};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::liquor::dissolved::{Question, dissolved};
use chart::Chart;

use crate::error::PageError;
use crate::handlers::batch::{Asked, answered, file, revision};
use crate::handlers::document_id;
use crate::settings::Settings;
use crate::views::batch::Bench;
use crate::views::liquor::dissolved::{Desk, acid_curve, lime_curve, page, question, unread};

type Pairs = Vec<(String, String)>;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/dissolved", get(show).post(take))
        .route("/batch/{id}/dissolved/{name}", get(curve))
}

async fn show(
    State(app): State<App>,
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
    let answer = dissolved(reckoning, question);
    let fine = answer.as_ref().is_ok_and(|found| found.wrong.is_empty());
    // The script swaps only what did not fail.
    let status = match (fine || live, late) {
        (_, true) => StatusCode::CONFLICT,
        (true, false) => StatusCode::OK,
        (false, false) => StatusCode::UNPROCESSABLE_ENTITY,
    };
    let desk = Desk {
        open: &open,
        reckoning,
        question,
        answer: &answer,
        units: settings.units,
        late,
    };
    Ok((status, page(&desk)).into_response())
}

/// Takes the acid that is reckoned now for the question of the form.
async fn take(
    State(app): State<App>,
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
    match app.take_acid(number, on, changes).await {
        Ok(Edited::Saved { .. }) => {
            let to = format!("/batch/{number}?bench=water&since={on}");
            Ok(Redirect::to(&to).into_response())
        }
        other => {
            let asked = Asked {
                id: number,
                bench: Bench::default(),
                units: settings.units,
                live: false,
            };
            answered(&app, &asked, other, &std::collections::BTreeMap::new()).await
        }
    }
}

/// A curve as a file: `acid.svg`, `lime.csv`.
async fn curve(
    State(app): State<App>,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let missing = || {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is no such chart of this batch.",
        )
    };
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(missing)?;
    let found = dissolved(reckoning, &question(&query)).map_err(|_| missing())?;
    let (which, ending) = name.rsplit_once('.').ok_or_else(missing)?;
    let chart = match which {
        "acid" => found.acid.as_ref().map(acid_curve),
        "lime" => found.lime.as_ref().map(|l| lime_curve(l, settings.units)),
        _ => None,
    };
    let chart = chart.ok_or_else(missing)?;
    match ending {
        "svg" => Ok(file("image/svg+xml", &name, chart.standalone_svg())),
        "csv" => Ok(file("text/csv; charset=utf-8", &name, chart.csv())),
        _ => Err(missing()),
    }
}

//! How sure a batch is. The address holds the question; nothing is kept.

use app::App;
use axum::Router;
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use batch::certainty::{Certainty, CertaintyError, certainty};
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{Which, glanced};
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::certainty::{Desk, chart, page, unread};
use crate::views::certainty::{LOOKS, Look};
use crate::views::intervals::intervals;
use crate::work::aside;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/certainty", get(show))
        .route("/batch/{id}/certainty/{name}", get(file))
        .route("/batch/{id}/intervals", get(beside))
}

/// The look that a query asks for; the first where it asks for none that is known.
fn look(query: &Pairs) -> &'static Look {
    let asked = value(query, "look");
    LOOKS.iter().find(|l| l.word == asked).unwrap_or(&LOOKS[0])
}

async fn found(
    app: &App,
    id: DocumentId,
    look: &'static Look,
) -> Result<(app::OpenBatch, Result<Certainty, CertaintyError>), PageError> {
    let open = app.batch(id).await?;
    let text = open.text.clone();
    let found = aside(move || certainty(&text, &look.question, &|_, _| true)).await?;
    Ok((open, found))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let look = look(&query);
    let (open, found) = found(&app, document_id(&id)?, look).await?;
    Ok(match found {
        Ok(found) => {
            let units = settings.units;
            page(&Desk {
                open: &open,
                found: &found,
                look,
                units,
            })
            .into_response()
        }
        Err(error) => (
            StatusCode::UNPROCESSABLE_ENTITY,
            unread(&open, &error.to_string()),
        )
            .into_response(),
    })
}

/// The intervals that stand beside the figures of a batch's page, for the page to put in
/// when it has them; nothing for a batch that cannot be drawn.
async fn beside(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(which): Query<Which>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let (open, found) = glanced(&app, open).await?;
    Ok(match (open.outcome.reckoning(), found) {
        (Some(reckoning), Some(found)) => {
            intervals(&found, reckoning, which.bench.0, settings.units).into_response()
        }
        _ => StatusCode::NO_CONTENT.into_response(),
    })
}

/// The shares as a file: `shares.svg`, `shares.csv`.
async fn file(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let (_, found) = found(&app, document_id(&id)?, look(&query)).await?;
    let found = found.map_err(|_| no_chart())?;
    chart_file(&name, |which| {
        (which == "shares").then(|| Box::new(chart(&found)) as Box<dyn ::chart::Chart>)
    })
}

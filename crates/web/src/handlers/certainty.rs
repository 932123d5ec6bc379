//! How sure a batch is. The address holds the question; nothing is kept.

use app::{App, OpenBatch};
use axum::Router;
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use batch::certainty::Certainty;
use batch::job::{Found, Outcome, Work};
use batch::liquor::dissolved::{Question, dissolved, sure};
use batch::{Reckoning, Stage};
use maud::{Markup, html};
use quantity::Units;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::glanced;
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::jobs::{Answer, ask, ask_now, not_yet};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::certainty::{Desk, chart, page, unread, working};
use crate::views::certainty::{LOOKS, Look};
use crate::views::intervals::{Beside, intervals, of_dissolved};
use crate::work::{Broken, aside};

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

fn work(open: &OpenBatch, look: &Look) -> Work {
    Work::Certainty {
        text: open.text.clone(),
        question: look.question,
    }
}

/// The answer, or why there is none.
fn found(outcome: Outcome) -> Result<Box<Certainty>, String> {
    match outcome {
        Ok(Found::Certainty(found)) => Ok(found),
        Ok(_) => Err("another question was answered".to_owned()),
        Err(refusal) => Err(refusal.told),
    }
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let look = look(&query);
    let open = app.batch(document_id(&id)?).await?;
    let outcome = match ask(&app, &work(&open, look), Some(open.id)).await? {
        Answer::There(outcome) => *outcome,
        Answer::Not(job) => {
            let shown = working(&open, look, &job, &app.standing(&job));
            return Ok(shown.into_response());
        }
    };
    Ok(match found(outcome) {
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
        Err(told) => (StatusCode::UNPROCESSABLE_ENTITY, unread(&open, &told)).into_response(),
    })
}

/// The intervals that stand beside the figures of a batch's page, for the page to put in
/// when it has them; nothing for a batch that cannot be drawn.
async fn beside(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let page = Beside::of_word(value(&query, "bench"));
    let open = app.batch(document_id(&id)?).await?;
    let (open, found) = glanced(&app, open).await?;
    Ok(match (open.outcome.reckoning(), found) {
        (Some(reckoning), Some(found)) => {
            let units = settings.units;
            let of_stream = intervals(&found, reckoning, page, units);
            let of_water = match page {
                Beside::Bench(Stage::Water) => chemistry(&open.text, reckoning, units).await?,
                _ => Markup::default(),
            };
            html! { (of_stream) (of_water) }.into_response()
        }
        _ => StatusCode::NO_CONTENT.into_response(),
    })
}

/// The intervals of the card of the tap's chemistry; empty where it has none.
async fn chemistry(text: &str, r: &Reckoning, units: Units) -> Result<Markup, Broken> {
    let (text, r) = (text.to_owned(), r.clone());
    let told = aside(move || {
        let found = dissolved(&r, &Question::default()).ok()?;
        let sure = sure(&text, &found)?;
        Some(of_dissolved(&r, &found, &sure, units))
    });
    Ok(told.await?.unwrap_or_default())
}

/// The shares as a file: `shares.svg`, `shares.csv`.
async fn file(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let work = work(&open, look(&query));
    let Answer::There(outcome) = ask_now(&app, &work, Some(open.id)).await? else {
        return Err(not_yet());
    };
    let found = found(*outcome).map_err(|_| no_chart())?;
    chart_file(&name, |which| {
        (which == "shares").then(|| Box::new(chart(&found)) as Box<dyn ::chart::Chart>)
    })
}

//! Which water for a batch. The address holds the question, so that it can be kept;
//! the waters that are chosen come into the batch as one revision.

use app::{App, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::Reckoning;
use batch::liquor::choice::{Chosen, Kept, Pick, Question, chosen};

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::revision;
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::liquor::{status, taken};
use crate::handlers::typed::Pairs;
use crate::settings::Settings;
use crate::views::liquor::choice::{Answer, Desk, page, question, seasons, unread};
use crate::work::{Broken, aside};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/waters", get(show).post(take))
        .route("/batch/{id}/waters/{name}", get(chart))
}

/// A question and what came of it.
struct Work {
    kept: Vec<Kept>,
    question: Question,
    answer: Answer,
}

impl Work {
    async fn of(app: &App, pairs: &Pairs, r: &Reckoning) -> Result<Self, PageError> {
        let kept = app.kept_waters().await?;
        let question = question(pairs, r, &kept);
        let r = r.clone();
        let work = move || {
            let answer = chosen(&r, &kept, &question).map(Box::new);
            Self {
                kept,
                question,
                answer,
            }
        };
        let done: Result<Self, Broken> = aside(work).await;
        Ok(done?)
    }

    fn page(
        &self,
        open: &OpenBatch,
        reckoning: &Reckoning,
        settings: Settings,
        late: bool,
    ) -> maud::Markup {
        page(&Desk {
            open,
            reckoning,
            kept: &self.kept,
            question: &self.question,
            answer: &self.answer,
            units: settings.units,
            late,
        })
    }
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let work = Work::of(&app, &query, reckoning).await?;
    let fine = work.answer.is_ok() || headers.contains_key("hx-request");
    let shown = work.page(&open, reckoning, settings, false);
    Ok((status(fine, false), shown).into_response())
}

/// Takes the waters of the form as they are chosen now.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&form)?;
    let open = app.batch(id).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let work = Work::of(&app, &form, reckoning).await?;
    let late = on != open.revision;
    let picks = match &work.answer {
        Ok(found) if !late => picked(found, &form),
        _ => None,
    };
    let Some(picks) = picks else {
        let shown = work.page(&open, reckoning, settings, late);
        return Ok((status(false, late), shown).into_response());
    };
    let done = app.take_waters(id, on, &picks).await;
    taken(&app, id, on, settings, done).await
}

/// The waters of a form among those that were chosen; none where they are gone.
fn picked(found: &Chosen, form: &Pairs) -> Option<Vec<Pick>> {
    let value = |name: &str| {
        let field = form.iter().find(|(key, _)| key == name);
        field.map(|(_, value)| value.as_str())
    };
    let name = value("take")?;
    let from = value("season")?;
    let ranked = found.choice.ranked.iter().find(|r| r.name == name)?;
    let season = ranked.seasons.iter().find(|dated| dated.from == from)?;
    Some(found.picks(ranked, season))
}

/// The water through the year, as a file: `seasons.svg`, `seasons.csv`.
async fn chart(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    let work = Work::of(&app, &query, reckoning).await?;
    let found = work.answer.map_err(|_| no_chart())?;
    chart_file(&name, |which| {
        let chart = (which == "seasons").then(|| seasons(reckoning, &found));
        chart.flatten().map(Box::new)
    })
}

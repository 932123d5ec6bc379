//! The fermentation as watched: readings are kept with the batch, a plan can be tried
//! before it is kept, the course follows.

mod reading;
mod whole;

use std::collections::BTreeMap;

use app::{App, AppError, Edit, Edited, OpenBatch, Outcome};
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use batch::edit::written_values;
use batch::watch::{Moments, Watched};
use batch::{Fault, Reckoning};
use chart::Chart;
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{answered_aside, edits, revision, touched};
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::course::{self, Desk, Typed};
use crate::views::form::first_values;
use crate::work::aside;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/course", get(show))
        .route("/batch/{id}/course/whole", get(whole::show))
        .route("/batch/{id}/course/keep", post(keep))
        .route("/batch/{id}/course/reading", post(reading::keep))
        .route("/batch/{id}/course/diketone", post(keep_diketone))
        .route("/batch/{id}/course/chart/{name}", get(saved))
}

/// The page; with a plan in its address, as if that stood in the document.
async fn show(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let tried = touched(of_plan(query), &open.written);
    let trial = Trial::of(&open, tried);
    let sheet = Sheet {
        tried: &trial.tried,
        faults: &trial.faults,
        ..Sheet::of(&open, settings)
    };
    let live = headers.contains_key("hx-request");
    match &trial.reckoning {
        Some(reckoning) => sheet.answer(&app, reckoning, live).await,
        None => Ok(unread(&open)),
    }
}

/// Points of the temperature plan among what was sent.
fn of_plan(pairs: Pairs) -> BTreeMap<String, String> {
    let of_plan = |name: &str| name.starts_with("fermentation.course[");
    pairs
        .into_iter()
        .filter(|(name, _)| of_plan(name))
        .collect()
}

/// A batch with something tried in it that is not kept.
struct Trial {
    /// With what was tried, or else the document's own; none where that has none.
    reckoning: Option<Reckoning>,
    tried: BTreeMap<String, String>,
    /// What is wrong with what was tried.
    faults: Vec<Fault>,
}

impl Trial {
    fn of(open: &OpenBatch, tried: BTreeMap<String, String>) -> Self {
        let edits = tried.iter().map(|(path, written)| Edit::Set {
            path: path.clone(),
            written: written.trim().to_owned(),
        });
        let changed = edits
            .into_iter()
            .try_fold(open.text.clone(), |text, edit| edit.apply(&text));
        let own = || open.outcome.reckoning().cloned();
        let (reckoning, faults, tried) = match changed {
            Ok(text) if text != open.text => match Outcome::of(&text) {
                Outcome::Reckoned(reckoning) => (Some(*reckoning), Vec::new(), tried),
                Outcome::Faulty(faults) => (own(), faults, tried),
            },
            // Nothing tried, or a path that leads nowhere: the page as it is.
            _ => (own(), Vec::new(), BTreeMap::new()),
        };
        Self {
            reckoning,
            tried,
            faults,
        }
    }
}

/// What a page is made of, beside the course.
pub(super) struct Sheet<'s> {
    open: &'s OpenBatch,
    settings: Settings,
    tried: &'s BTreeMap<String, String>,
    faults: &'s [Fault],
    typed: Typed,
    status: StatusCode,
}

static NOTHING: BTreeMap<String, String> = BTreeMap::new();

impl<'s> Sheet<'s> {
    pub(super) fn of(open: &'s OpenBatch, settings: Settings) -> Self {
        Self {
            open,
            settings,
            tried: &NOTHING,
            faults: &[],
            typed: Typed::default(),
            status: StatusCode::OK,
        }
    }

    async fn answer(
        self,
        app: &App,
        reckoning: &Reckoning,
        live: bool,
    ) -> Result<Response, PageError> {
        let watched = watched(app, self.open.id, reckoning.clone()).await?;
        let desk = Desk {
            open: self.open,
            reckoning,
            watched: &watched,
            tried: self.tried,
            faults: self.faults,
            typed: &self.typed,
            units: self.settings.units,
        };
        if live {
            return Ok(course::swap(&desk).into_response());
        }
        let status = if self.faults.is_empty() {
            self.status
        } else {
            StatusCode::UNPROCESSABLE_ENTITY
        };
        Ok((status, course::page(&desk)).into_response())
    }
}

fn unread(open: &OpenBatch) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, course::unread(open)).into_response()
}

async fn watched(app: &App, id: DocumentId, r: Reckoning) -> Result<Watched, PageError> {
    let readings = app.readings(id).await?;
    let found = aside(move || Watched::of(&r, &readings, Moments::default())).await?;
    found.map_err(|error| {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        PageError::new(status, "This cannot be watched", error.to_string())
    })
}

/// Keeps keys of the document: the plan, when it was pitched, what a test came to.
async fn keep(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&form)?;
    let base = app.store().revision(id, on).await.map_err(AppError::from)?;
    let base = written_values(&base.text).map_err(AppError::from)?;
    let typed: BTreeMap<String, String> = form.into_iter().collect();
    let edits = edits(&typed, &base, first_values);
    let done = app.edit(id, on, &edits).await;
    if let Ok(Edited::Refused { batch, faults }) = &done {
        let tried = touched(typed, &base);
        let sheet = Sheet {
            tried: &tried,
            faults,
            ..Sheet::of(batch, settings)
        };
        return match batch.outcome.reckoning().cloned() {
            Some(reckoning) => sheet.answer(&app, &reckoning, false).await,
            None => Ok(unread(batch)),
        };
    }
    finished(&app, settings, id, done).await
}

/// Keeps whether a heated sample smelled of butter.
async fn keep_diketone(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&form)?;
    let butter = value(&form, "butter") == "yes";
    let done = app.keep_test(id, on, "forced-diketone", butter).await;
    finished(&app, settings, id, done).await
}

async fn finished(
    app: &App,
    settings: Settings,
    id: DocumentId,
    done: Result<Edited, AppError>,
) -> Result<Response, PageError> {
    answered_aside(app, id, settings, &format!("/batch/{id}/course"), done).await
}

/// The chart as a file.
async fn saved(
    Acting(app): Acting,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    let watched = watched(&app, open.id, reckoning.clone()).await?;
    chart_file(&name, |which| {
        let chart: Box<dyn Chart> = Box::new(course::chart(&watched, settings.units));
        (which == "watch").then_some(chart)
    })
}

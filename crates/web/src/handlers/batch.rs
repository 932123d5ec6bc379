//! A batch: the stream and its benches.

use std::collections::BTreeMap;
use std::sync::Arc;

use app::{App, AppError, Edit, Edited, OpenBatch};
use axum::Form;
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use batch::certainty::Certainty;
use batch::edit::written_values;
use maud::Markup;
use quantity::Units;
use serde::Deserialize;
use store::{DocumentId, RevisionNumber};

use super::files::{chart_file, file, no_chart};
use super::{document_id, take};
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views::batch::{Bench, Work};
use crate::views::{self, charts};
use crate::work::aside;

/// Which bench is open.
#[derive(Debug, Default, Deserialize)]
pub struct Which {
    #[serde(default)]
    pub(super) bench: Bench,
    /// The revision after which figures are shown to have moved.
    #[serde(default)]
    since: Option<String>,
}

/// The stream with a bench below it.
pub async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(which): Query<Which>,
) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let kept = take::kept(&app, which.bench).await?;
    let since = which.since.as_deref().and_then(|since| since.parse().ok());
    let moved = match since {
        Some(since) => app.moved_since(&open, since).await?,
        None => None,
    };
    let mut work = Work::of(&open, which.bench, settings.units).beside(&kept);
    if let Some((change, moved)) = &moved {
        work = work.after(Some(change), moved);
    }
    Ok(views::batch::page(&work))
}

/// Makes the edits of a form: every field whose value differs from what the
/// document said when the form was made, and an entry added or taken out.
pub async fn edit(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(which): Query<Which>,
    Form(form): Form<Vec<(String, String)>>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&form)?;
    let typed: BTreeMap<String, String> = form.into_iter().collect();
    let base = app.store().revision(id, on).await.map_err(AppError::from)?;
    let base = written_values(&base.text).map_err(AppError::from)?;
    let edits = edits(&typed, &base, views::form::first_values);
    let done = app.edit(id, on, &edits).await;
    let touched = touched(typed, &base);
    let asked = Asked {
        id,
        bench: which.bench,
        units: settings.units,
        live: headers.contains_key("hx-request"),
    };
    answered(&app, &asked, done, &touched).await
}

/// Where an edit was asked for, and how it is answered.
pub(super) struct Asked {
    pub id: DocumentId,
    pub bench: Bench,
    pub units: Units,
    /// By the page that is open, which swaps what the answer brings.
    pub live: bool,
}

/// The answer to an edit of a batch.
pub(super) async fn answered(
    app: &App,
    asked: &Asked,
    done: Result<Edited, AppError>,
    touched: &BTreeMap<String, String>,
) -> Result<Response, PageError> {
    let kept = take::kept(app, asked.bench).await?;
    let work = |open| Work::of(open, asked.bench, asked.units).beside(&kept);
    match done {
        Ok(Edited::Saved {
            batch,
            change,
            moved,
        }) => {
            if !asked.live {
                let back = format!("/batch/{}?bench={}", asked.id, asked.bench.word());
                return Ok(Redirect::to(&back).into_response());
            }
            let work = work(&batch).after(change.as_deref(), &moved);
            Ok(views::batch::swap(&work).into_response())
        }
        Ok(Edited::Refused { batch, faults }) => {
            let work = work(&batch).refused(touched, &faults);
            Ok(answer(asked.live, StatusCode::UNPROCESSABLE_ENTITY, &work))
        }
        Err(conflict @ AppError::Conflict { .. }) => {
            let open = app.batch(asked.id).await?;
            let told = conflict.to_string();
            let work = work(&open).conflict(&told);
            Ok(answer(asked.live, StatusCode::CONFLICT, &work))
        }
        Err(error) => Err(error.into()),
    }
}

/// The answer to a change of a batch that came from a page of its own: where to go once it
/// is kept; else the batch as it stands, as there is no form of a bench to show again.
pub(super) async fn answered_aside(
    app: &App,
    id: DocumentId,
    settings: Settings,
    to: &str,
    done: Result<Edited, AppError>,
) -> Result<Response, PageError> {
    if let Ok(Edited::Saved { .. }) = done {
        return Ok(Redirect::to(to).into_response());
    }
    let asked = Asked {
        id,
        bench: Bench::default(),
        units: settings.units,
        live: false,
    };
    answered(app, &asked, done, &BTreeMap::new()).await
}

/// A fragment for the page that is open, or a whole page without scripts. The
/// fragment answers with success, since it is what the page has to show.
fn answer(live: bool, status: StatusCode, work: &Work<'_>) -> Response {
    if live {
        views::batch::swap(work).into_response()
    } else {
        (status, views::batch::page(work)).into_response()
    }
}

pub(super) fn revision(form: &[(String, String)]) -> Result<RevisionNumber, PageError> {
    form.iter()
        .find(|(name, _)| name == "on")
        .and_then(|(_, value)| value.parse().ok())
        .ok_or_else(|| {
            PageError::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "The form is not whole",
                "Reload the page and make the change again.",
            )
        })
}

fn differs(base: &BTreeMap<String, String>, name: &str, value: &str) -> bool {
    base.get(name).map_or("", String::as_str).trim() != value.trim()
}

/// What was typed into a form that was made from `base`. A field that nobody
/// touched is left out: it shows what the document says by now.
pub(super) fn touched(
    typed: BTreeMap<String, String>,
    base: &BTreeMap<String, String>,
) -> BTreeMap<String, String> {
    typed
        .into_iter()
        .filter(|(name, value)| differs(base, name, value))
        .collect()
}

/// The edits that a form asks for; `first_values` says what a new entry of a list
/// starts with.
pub(super) fn edits(
    typed: &BTreeMap<String, String>,
    base: &BTreeMap<String, String>,
    first_values: fn(&str) -> Vec<(String, String)>,
) -> Vec<Edit> {
    let mut edits: Vec<Edit> = typed
        .iter()
        .filter(|(name, _)| !matches!(name.as_str(), "on" | "add" | "remove"))
        .filter(|(name, value)| differs(base, name, value))
        .map(|(name, value)| Edit::Set {
            path: name.clone(),
            written: value.trim().to_owned(),
        })
        .collect();
    if let Some(list) = typed.get("add") {
        edits.push(Edit::Add {
            list: list.clone(),
            values: first_values(list),
        });
    }
    if let Some(path) = typed.get("remove") {
        // Fields of the entry that goes are not set as well.
        edits.retain(|e| !matches!(e, Edit::Set { path: p, .. } if p.starts_with(path.as_str())));
        edits.push(Edit::Remove { path: path.clone() });
    }
    edits
}

/// A batch with its figures at a glance.
pub(super) async fn glanced(
    app: &App,
    open: OpenBatch,
) -> Result<(OpenBatch, Option<Arc<Certainty>>), PageError> {
    let app = app.clone();
    let glance = aside(move || {
        let found = app.glance_at_certainty(&open);
        (open, found)
    });
    Ok(glance.await?)
}

/// The brew-day sheet, for paper.
pub async fn sheet(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let (open, sure) = glanced(&app, open).await?;
    Ok(views::sheet::page(&open, sure.as_deref(), settings.units))
}

/// The document as text, to write in.
pub async fn text(Acting(app): Acting, Path(id): Path<String>) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(views::text::page(&as_text(&open)))
}

fn as_text(open: &OpenBatch) -> views::text::Text<'_> {
    views::text::Text {
        name: &open.name,
        revision: open.revision,
        text: &open.text,
        faults: open.outcome.faults(),
        home: format!("/batch/{}", open.id),
        back: "back to the batch",
        label: "The batch document",
    }
}

/// A text written in the page.
#[derive(Debug, Deserialize)]
pub struct Text {
    pub(super) on: String,
    pub(super) text: String,
}

/// Saves a text; faults are kept and shown.
pub async fn save_text(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<Text>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&[("on".to_owned(), form.on)])?;
    let saved = app
        .save_text(id, on, &form.text.replace("\r\n", "\n"))
        .await?;
    if saved.outcome.faults().is_empty() {
        return Ok(Redirect::to(&format!("/batch/{id}")).into_response());
    }
    Ok((
        StatusCode::UNPROCESSABLE_ENTITY,
        views::text::page(&as_text(&saved)),
    )
        .into_response())
}

/// The document as a file.
pub async fn download(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(file("application/toml", "batch.toml", open.text))
}

/// A chart as a file: `course.svg`, `course.csv`.
pub async fn chart(
    Acting(app): Acting,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    chart_file(&name, |which| {
        charts::named(which, reckoning, settings.units)
    })
}

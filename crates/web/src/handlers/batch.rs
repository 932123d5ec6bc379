//! A batch: the stream and its benches.

use std::collections::BTreeMap;

use app::{App, AppError, Edit, Edited};
use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use batch::edit::written_values;
use maud::Markup;
use serde::Deserialize;
use store::RevisionNumber;

use super::document_id;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views::batch::{Bench, Work};
use crate::views::{self, charts};

/// Which bench is open.
#[derive(Debug, Default, Deserialize)]
pub struct Which {
    #[serde(default)]
    bench: Bench,
}

/// The stream with a bench below it.
pub async fn show(
    State(app): State<App>,
    settings: Settings,
    Path(id): Path<String>,
    Query(which): Query<Which>,
) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(views::batch::page(&Work::of(&open, which.bench, settings.units)))
}

/// Makes the edits of a form: every field whose value differs from what the
/// document said when the form was made, and an entry added or taken out.
pub async fn edit(
    State(app): State<App>,
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
    let edits = edits(&typed, &written_values(&base.text).map_err(AppError::from)?);
    let done = app.edit(id, on, &edits).await;
    let live = headers.contains_key("hx-request");
    let back = format!("/batch/{id}?bench={}", which.bench.word());
    match done {
        Ok(Edited::Saved { batch, change, moved }) => {
            if !live {
                return Ok(Redirect::to(&back).into_response());
            }
            let work = Work::of(&batch, which.bench, settings.units).after(change.as_deref(), &moved);
            Ok(views::batch::work(&work).into_response())
        }
        Ok(Edited::Refused { batch, faults }) => {
            let work = Work::of(&batch, which.bench, settings.units).refused(&typed, &faults);
            Ok(answer(live, StatusCode::UNPROCESSABLE_ENTITY, &work))
        }
        Err(conflict @ AppError::Conflict { .. }) => {
            let open = app.batch(id).await?;
            let told = conflict.to_string();
            let work = Work::of(&open, which.bench, settings.units).conflict(&told);
            Ok(answer(live, StatusCode::CONFLICT, &work))
        }
        Err(error) => Err(error.into()),
    }
}

/// A fragment for the page that is open, or a whole page without scripts. The
/// fragment answers with success, since it is what the page has to show.
fn answer(live: bool, status: StatusCode, work: &Work<'_>) -> Response {
    if live {
        views::batch::work(work).into_response()
    } else {
        (status, views::batch::page(work)).into_response()
    }
}

fn revision(form: &[(String, String)]) -> Result<RevisionNumber, PageError> {
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

fn edits(typed: &BTreeMap<String, String>, base: &BTreeMap<String, String>) -> Vec<Edit> {
    let mut edits: Vec<Edit> = typed
        .iter()
        .filter(|(name, _)| !matches!(name.as_str(), "on" | "add" | "remove"))
        .filter(|(name, value)| base.get(*name).map_or("", |v| v.as_str()).trim() != value.trim())
        .map(|(name, value)| Edit::Set {
            path: name.clone(),
            written: value.trim().to_owned(),
        })
        .collect();
    if let Some(list) = typed.get("add") {
        edits.push(Edit::Add {
            list: list.clone(),
            values: views::form::first_values(list),
        });
    }
    if let Some(path) = typed.get("remove") {
        // Fields of the entry that goes are not set as well.
        edits.retain(|e| !matches!(e, Edit::Set { path: p, .. } if p.starts_with(path.as_str())));
        edits.push(Edit::Remove { path: path.clone() });
    }
    edits
}

/// The brew-day sheet, for paper.
pub async fn sheet(
    State(app): State<App>,
    settings: Settings,
    Path(id): Path<String>,
) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(views::sheet::page(&open, settings.units))
}

/// The document as text, to write in.
pub async fn text(State(app): State<App>, Path(id): Path<String>) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(views::text::page(&open))
}

/// A text written in the page.
#[derive(Debug, Deserialize)]
pub struct Text {
    on: String,
    text: String,
}

/// Saves a text; faults are kept and shown.
pub async fn save_text(
    State(app): State<App>,
    Path(id): Path<String>,
    Form(form): Form<Text>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&[("on".to_owned(), form.on)])?;
    let saved = app.save_text(id, on, &form.text.replace("\r\n", "\n")).await?;
    if saved.outcome.faults().is_empty() {
        return Ok(Redirect::to(&format!("/batch/{id}")).into_response());
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, views::text::page(&saved)).into_response())
}

/// The document as a file.
pub async fn download(State(app): State<App>, Path(id): Path<String>) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(file("application/toml", "batch.toml", open.text))
}

/// A chart as a file: `course.svg`, `course.csv`.
pub async fn chart(
    State(app): State<App>,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let missing = || PageError::new(StatusCode::NOT_FOUND, "Not here", "There is no such chart of this batch.");
    let reckoning = open.outcome.reckoning().ok_or_else(missing)?;
    let (chart, ending) = name.rsplit_once('.').ok_or_else(missing)?;
    let chart = charts::named(chart, reckoning, settings.units).ok_or_else(missing)?;
    match ending {
        "svg" => Ok(file("image/svg+xml", &name, chart.standalone_svg())),
        "csv" => Ok(file("text/csv; charset=utf-8", &name, chart.csv())),
        _ => Err(missing()),
    }
}

fn file(kind: &'static str, name: &str, body: String) -> Response {
    let mut response = body.into_response();
    let headers = response.headers_mut();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        headers.insert(CONTENT_DISPOSITION, value);
    }
    response
}

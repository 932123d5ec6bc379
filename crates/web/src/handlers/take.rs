//! Taking a water or a brewhouse of the library into a batch.

use std::collections::BTreeMap;
use std::str::FromStr;

use app::{App, AppError, WaterPlace};
use axum::Form;
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Deserialize;
use store::{Day, DocumentId, RevisionNumber};

use super::batch::{Asked, Which, answered};
use super::document_id;
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views::batch::Bench;
use crate::views::take::{Kept, taken_at};

/// What the library keeps for a bench; a water without an analysis has nothing
/// to take.
pub(super) async fn kept(app: &App, bench: Bench) -> Result<Vec<Kept>, AppError> {
    let Some(kind) = taken_at(bench.0) else {
        return Ok(Vec::new());
    };
    let waters = kind == app::LibraryKind::Water;
    let mut kept = Vec::new();
    for row in app.library(kind, "", 0).await?.rows {
        let days = if waters {
            app.sampled(row.id).await?
        } else {
            Vec::new()
        };
        if !waters || !days.is_empty() {
            kept.push(Kept {
                id: row.id,
                name: row.name,
                days,
            });
        }
    }
    Ok(kept)
}

/// What is taken, and where it goes.
#[derive(Debug, Deserialize)]
pub struct Take {
    on: String,
    /// The document; of a water, the day of the analysis behind it.
    #[serde(default)]
    take: String,
    #[serde(default)]
    place: String,
}

/// Takes an analysis of a water as a source.
pub async fn water(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(which): Query<Which>,
    Form(form): Form<Take>,
) -> Result<Response, PageError> {
    let asked = asked(&id, &which, settings, &headers)?;
    let on: RevisionNumber = form.on.parse().map_err(|_| not_whole())?;
    let (water, day) = match form.take.split_once(' ') {
        Some((water, day)) => (water, Some(Day::from_str(day).map_err(AppError::from)?)),
        None => (form.take.as_str(), None),
    };
    let water = DocumentId::from_str(water).map_err(|_| not_whole())?;
    let place = match form.place.trim() {
        "" => WaterPlace::ByName,
        number => WaterPlace::InsteadOf(number.parse().map_err(|_| not_whole())?),
    };
    let done = app.use_water(asked.id, on, water, day, place).await;
    answered(&app, &asked, done, &BTreeMap::new()).await
}

/// Takes the kit of a brewhouse.
pub async fn brewhouse(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(which): Query<Which>,
    Form(form): Form<Take>,
) -> Result<Response, PageError> {
    let asked = asked(&id, &which, settings, &headers)?;
    let on: RevisionNumber = form.on.parse().map_err(|_| not_whole())?;
    let brewhouse = DocumentId::from_str(&form.take).map_err(|_| not_whole())?;
    let done = app.use_brewhouse(asked.id, on, brewhouse).await;
    answered(&app, &asked, done, &BTreeMap::new()).await
}

fn asked(
    id: &str,
    which: &Which,
    settings: Settings,
    headers: &HeaderMap,
) -> Result<Asked, PageError> {
    Ok(Asked {
        id: document_id(id)?,
        bench: which.bench,
        units: settings.units,
        live: headers.contains_key("hx-request"),
    })
}

fn not_whole() -> PageError {
    PageError::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "The form is not whole",
        "Reload the page and choose again.",
    )
}

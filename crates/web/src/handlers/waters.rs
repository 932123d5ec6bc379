//! What waters have beside their document: analyses, and charts of them.

use std::collections::BTreeMap;
use std::str::FromStr;

use app::{AppError, DatedAnalysis, LibraryKind};
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use batch::Fault;
use batch::library::Analysis;
use store::Day;

use super::document_id;
use super::files::chart_file;
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views;
use crate::views::library::{Desk, charts, home};

/// Keeps an analysis; what cannot be read is shown at its field.
pub async fn add(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Vec<(String, String)>>,
) -> Result<Response, PageError> {
    let open = app.entry(LibraryKind::Water, document_id(&id)?).await?;
    let typed: BTreeMap<String, String> = form.into_iter().collect();
    let text = DatedAnalysis::text_of(&typed)?;
    let faults = match sampled_on(&typed) {
        Ok(day) => match app.add_analysis(open.id, day, &text).await {
            Ok(_) => return Ok(Redirect::to(&home(&open)).into_response()),
            Err(AppError::Faulty { faults, .. }) => faults,
            Err(other) => return Err(other.into()),
        },
        // The rest is read all the same: everything that is wrong is said at once.
        Err(fault) => {
            let others = Analysis::read(&open.name, &text).err().unwrap_or_default();
            std::iter::once(fault).chain(others).collect()
        }
    };
    let analyses = app.analyses(&open).await?;
    let desk = Desk::of(&open, &analyses, settings.units).not_kept(&typed, &faults);
    Ok((
        StatusCode::UNPROCESSABLE_ENTITY,
        views::library::page(&desk),
    )
        .into_response())
}

fn sampled_on(typed: &BTreeMap<String, String>) -> Result<Day, Fault> {
    let written = typed.get("taken_on").map_or("", |t| t.trim());
    Day::from_str(written).map_err(|_| Fault {
        span: 0..0,
        path: "taken_on".to_owned(),
        message: if written.is_empty() {
            "the day of the sample is missing".to_owned()
        } else {
            format!("{written:?} is no day of the calendar")
        },
        help: "write it as 2026-03-14".to_owned(),
    })
}

/// A chart as a file: `hardness.svg`, `chlorine.csv`.
pub async fn chart(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let open = app.entry(LibraryKind::Water, document_id(&id)?).await?;
    let analyses = app.analyses(&open).await?;
    chart_file(&name, |which| charts::named(which, &analyses).map(Box::new))
}

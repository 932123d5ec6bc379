//! Pages of what is asked about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
mod report;

use std::str::FromStr;

use app::{App, AppError, Contents, Edited, LibraryKind};
use axum::Router;
use axum::http::StatusCode;
use axum::response::Response;
use batch::library::Stores;
use store::{DocumentId, RevisionNumber};

use crate::error::PageError;
use crate::handlers::batch::answered_aside;
use crate::settings::Settings;

/// All of them.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(chlorine::routes())
        .merge(choice::routes())
        .merge(dissolved::routes())
        .merge(minerals::routes())
        .merge(report::routes())
}

/// How a page that answers a question ends. The script swaps only what did not fail,
/// so what is asked by the script is always fine.
fn status(fine: bool, late: bool) -> StatusCode {
    match (fine, late) {
        (_, true) => StatusCode::CONFLICT,
        (true, false) => StatusCode::OK,
        (false, false) => StatusCode::UNPROCESSABLE_ENTITY,
    }
}

/// After something was taken into a batch: its water bench, where what moved is shown,
/// or the reason why nothing was taken.
async fn taken(
    app: &App,
    id: DocumentId,
    on: RevisionNumber,
    settings: Settings,
    done: Result<Edited, AppError>,
) -> Result<Response, PageError> {
    let to = format!("/batch/{id}?bench=water&since={on}");
    answered_aside(app, id, settings, &to, done).await
}

/// The stores of an address.
async fn stores_of(app: &App, id: &str) -> Result<Stores, PageError> {
    let id = DocumentId::from_str(id).map_err(|_| gone())?;
    let entry = app.entry(LibraryKind::Stores, id).await?;
    match entry.contents {
        Ok((Contents::Stores(stores), _)) => Ok(stores),
        Ok(_) => Err(gone()),
        Err(faults) => Err(AppError::Faulty {
            faults,
            text: entry.text,
        }
        .into()),
    }
}

fn gone() -> PageError {
    PageError::new(
        StatusCode::NOT_FOUND,
        "Not here",
        "There are no stores of this address.",
    )
}

/// The stores that there are, by name.
async fn stores(app: &App) -> Result<Vec<(DocumentId, String)>, AppError> {
    let rows = app.library(LibraryKind::Stores, "", 0).await?.rows;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

//! Pages of what is asked about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
mod report;

use std::str::FromStr;

use app::{App, AppError, Contents, LibraryKind};
use axum::Router;
use axum::http::StatusCode;
use batch::library::Stores;
use store::DocumentId;

use crate::error::PageError;

/// All of them.
pub fn routes() -> Router<App> {
    Router::new()
        .merge(chlorine::routes())
        .merge(choice::routes())
        .merge(dissolved::routes())
        .merge(minerals::routes())
        .merge(report::routes())
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

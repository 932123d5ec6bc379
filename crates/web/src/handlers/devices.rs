//! Devices that send readings: let in, moved to another batch, revoked.

use std::collections::BTreeMap;
use std::str::FromStr;

use app::{App, AppError};
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use store::{DeviceId, DocumentId, NewDevice, StoreError};

use super::typed::{Pairs, value};
use crate::acting::Acting;
use crate::error::PageError;
use crate::views::devices::{Desk, page};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/devices", get(show).post(add))
        .route("/devices/{id}/move", post(point))
        .route("/devices/{id}/revoke", post(revoke))
}

async fn show(Acting(app): Acting) -> Result<Response, PageError> {
    answer(&app, &[], None, None).await
}

/// Lets a device in; its token stands on the answer and nowhere else.
async fn add(Acting(app): Acting, Form(form): Form<Pairs>) -> Result<Response, PageError> {
    let name = value(&form, "name");
    let Ok(batch) = DocumentId::from_str(value(&form, "batch")) else {
        let wrong = ("batch", "choose the batch that it sends to".to_owned());
        return answer(&app, &form, Some(wrong), None).await;
    };
    match app.make_device(name, batch).await {
        Ok(made) => answer(&app, &[], None, Some(&made)).await,
        Err(AppError::Store(StoreError::Impossible { .. })) => {
            let wrong = ("name", "give it a name of 1 to 400 letters".to_owned());
            answer(&app, &form, Some(wrong), None).await
        }
        Err(other) => Err(other.into()),
    }
}

async fn point(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let batch = DocumentId::from_str(value(&form, "batch")).map_err(|_| nowhere())?;
    app.point_device(device_id(&id)?, batch).await?;
    Ok(Redirect::to("/devices").into_response())
}

async fn revoke(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    app.revoke_device(device_id(&id)?).await?;
    Ok(Redirect::to("/devices").into_response())
}

async fn answer(
    app: &App,
    typed: &[(String, String)],
    wrong: Option<(&'static str, String)>,
    made: Option<&NewDevice>,
) -> Result<Response, PageError> {
    let devices = app.devices().await?;
    let batches = app.batches("", 0).await?.rows;
    let mut names: BTreeMap<DocumentId, String> = batches
        .iter()
        .map(|row| (row.id, row.name.clone()))
        .collect();
    // A device may still send to a batch that is on no first page of the list.
    for device in &devices {
        if let std::collections::btree_map::Entry::Vacant(e) = names.entry(device.batch) {
            let name = app.batch(device.batch).await?.name;
            e.insert(name);
        }
    }
    let status = if wrong.is_some() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    let desk = Desk {
        devices: &devices,
        names: &names,
        batches: &batches,
        name: value(typed, "name"),
        wrong: wrong.as_ref().map(|(field, why)| (*field, why.as_str())),
        made,
    };
    Ok((status, page(&desk)).into_response())
}

fn device_id(text: &str) -> Result<DeviceId, PageError> {
    DeviceId::from_str(text).map_err(|_| nowhere())
}

fn nowhere() -> PageError {
    PageError::new(
        StatusCode::NOT_FOUND,
        "Not here",
        "There is no such device or batch: go back to the devices and choose again.",
    )
}

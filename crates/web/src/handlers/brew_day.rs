//! The brew day: readings are kept, ways are taken, both as revisions of the batch.

use app::{App, AppError, Edited, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use batch::brew_day::{TypedReading, entries_of};
use batch::liquor::Wrong;
use store::DocumentId;
use wort::correct::Point;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{answered_aside, revision};
use crate::handlers::document_id;
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::brew_day::{Desk, page, unread};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/brew-day", get(show).post(keep))
        .route("/batch/{id}/brew-day/do", post(take))
        .route("/batch/{id}/brew-day/forget", post(forget))
}

fn typed(pairs: &[(String, String)]) -> TypedReading {
    TypedReading {
        at: value(pairs, "at").to_owned(),
        after: value(pairs, "after").to_owned(),
        volume: value(pairs, "volume").to_owned(),
        volume_at: value(pairs, "volume_at").to_owned(),
        gravity: value(pairs, "gravity").to_owned(),
        gravity_at: value(pairs, "gravity_at").to_owned(),
    }
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let asked = typed(&query);
    if asked.at.is_empty() {
        return Ok(answer(&open, settings, None, &[], StatusCode::OK));
    }
    let (wrong, status) = match asked.point() {
        Ok(_) => (vec![], StatusCode::OK),
        Err(wrong) => (wrong, StatusCode::UNPROCESSABLE_ENTITY),
    };
    Ok(answer(&open, settings, Some(asked), &wrong, status))
}

/// The page, from the point that is asked for or the last one of the day.
fn answer(
    open: &OpenBatch,
    settings: Settings,
    asked: Option<TypedReading>,
    wrong: &[Wrong],
    status: StatusCode,
) -> Response {
    let Some(reckoning) = open.outcome.reckoning() else {
        return (StatusCode::UNPROCESSABLE_ENTITY, unread(open)).into_response();
    };
    let stands_at = reckoning.day_is_at().unwrap_or(Point::KettleFull);
    let at = asked.as_ref().and_then(|a| a.point().ok());
    let usual = || TypedReading {
        at: stands_at.name().to_owned(),
        ..TypedReading::default()
    };
    let typed = asked.unwrap_or_else(usual);
    let lautering = reckoning.lautering().ok();
    let desk = Desk {
        open,
        reckoning,
        typed: &typed,
        wrong,
        found: &reckoning
            .corrections(at.unwrap_or(stands_at), &[])
            .map_err(|error| error.to_string()),
        lautering: lautering.as_ref(),
        units: settings.units,
        late: status == StatusCode::CONFLICT,
    };
    (status, page(&desk)).into_response()
}

/// Keeps a reading.
async fn keep(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let open = app.batch(number).await?;
    let asked = typed(&form);
    let refuse = |wrong: Vec<Wrong>| {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        Ok(answer(&open, settings, Some(asked.clone()), &wrong, status))
    };
    let reading = match asked.read() {
        Ok(Some(reading)) => reading,
        Ok(None) => {
            return refuse(vec![Wrong {
                field: "gravity".to_owned(),
                message: "give a volume, a gravity or both".to_owned(),
            }]);
        }
        Err(wrong) => return refuse(wrong),
    };
    // What no kettle can hold is told here, before it stands in the document.
    if let Some(reckoning) = open.outcome.reckoning()
        && let Err(error) = reckoning.day_stands(&[reading])
    {
        let field = if error.to_string().contains("gravity") {
            "gravity"
        } else {
            "volume"
        };
        return refuse(vec![Wrong {
            field: field.to_owned(),
            message: error.to_string(),
        }]);
    }
    let done = app.keep_reading(number, on, asked.entry()).await;
    finished(&app, settings, number, &asked, done).await
}

/// Does what a way says, as it is reckoned now.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let open = app.batch(number).await?;
    let asked = typed(&form);
    let late = |asked: TypedReading| {
        Ok(answer(
            &open,
            settings,
            Some(asked),
            &[],
            StatusCode::CONFLICT,
        ))
    };
    let (Ok(at), Some(reckoning)) = (asked.point(), open.outcome.reckoning()) else {
        return late(asked);
    };
    let wanted = value(&form, "way");
    let found = reckoning.corrections(at, &[]);
    let way = found
        .iter()
        .flat_map(|f| &f.ways)
        .find(|w| w.way.key == wanted);
    let (Some(on_way), true) = (way, on == open.revision) else {
        return late(asked);
    };
    let entries = entries_of(&on_way.way, value(&form, "hops") == "yes");
    let what = format!("{}: {}", at.name(), on_way.way.text);
    let done = app.keep_done(number, on, entries, what).await;
    finished(&app, settings, number, &asked, done).await
}

/// Takes a reading or something done out again.
async fn forget(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let place: usize = value(&form, "number").parse().unwrap_or(0);
    let reading = value(&form, "list") == "reading";
    let done = app.forget_of_day(number, on, reading, place).await;
    finished(&app, settings, number, &TypedReading::default(), done).await
}

async fn finished(
    app: &App,
    settings: Settings,
    id: DocumentId,
    asked: &TypedReading,
    done: Result<Edited, AppError>,
) -> Result<Response, PageError> {
    let to = match asked.point() {
        Ok(Point::Boil(_)) | Err(_) => format!("/batch/{id}/brew-day"),
        Ok(at) => format!("/batch/{id}/brew-day?at={}", at.name().replace(' ', "+")),
    };
    answered_aside(app, id, settings, &to, done).await
}

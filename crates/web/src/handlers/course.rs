//! The fermentation as watched: readings are kept with the batch, the course follows.

use app::{App, OpenBatch};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::liquor::Wrong;
use batch::log::What;
use batch::watch::{Moments, Watched};
use chart::Chart;

use crate::error::PageError;
use crate::handlers::document_id;
use crate::handlers::files::file;
use crate::settings::Settings;
use crate::views::course::{Desk, Typed, chart, page, unread};
use crate::work::aside;

type Pairs = Vec<(String, String)>;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/course", get(show).post(keep))
        .route("/batch/{id}/course/{name}", get(saved))
}

fn value(pairs: &[(String, String)], name: &str) -> String {
    let found = pairs.iter().find(|(key, _)| key == name);
    found.map_or(String::new(), |(_, value)| value.trim().to_owned())
}

async fn show(
    State(app): State<App>,
    settings: Settings,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    answer(
        &app,
        &open,
        settings,
        &Typed::default(),
        &[],
        StatusCode::OK,
    )
    .await
}

/// The page, with what was typed and what is wrong in it.
async fn answer(
    app: &App,
    open: &OpenBatch,
    settings: Settings,
    typed: &Typed,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Response, PageError> {
    let Some(watched) = watched(app, open).await? else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(open)).into_response());
    };
    let desk = Desk {
        open,
        watched: &watched,
        typed,
        wrong,
        units: settings.units,
    };
    Ok((status, page(&desk)).into_response())
}

/// The course; none where the document cannot be reckoned.
async fn watched(app: &App, open: &OpenBatch) -> Result<Option<Watched>, PageError> {
    let Some(reckoning) = open.outcome.reckoning().cloned() else {
        return Ok(None);
    };
    let readings = app.readings(open.id).await?;
    let found = aside(move || Watched::of(&reckoning, &readings, Moments::default())).await?;
    found.map(Some).map_err(|error| {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        PageError::new(status, "This cannot be watched", error.to_string())
    })
}

/// Keeps a reading that was taken by hand.
async fn keep(
    State(app): State<App>,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let number = document_id(&id)?;
    let open = app.batch(number).await?;
    let typed = Typed {
        what: value(&form, "what"),
        reading: value(&form, "reading"),
        at: value(&form, "at"),
        instrument: value(&form, "instrument"),
    };
    let (what, canonical, at) = match read(&typed) {
        Ok(read) => read,
        Err(wrong) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            return answer(&app, &open, settings, &typed, &wrong, status).await;
        }
    };
    let kept = app
        .keep_entered(
            number,
            what,
            canonical,
            &typed.reading,
            typed.instrument(),
            at,
        )
        .await?;
    if let Some(contradicted) = kept.contradicted.first() {
        let wrong = [fault(
            "at",
            &format!("there is another value at that time: {contradicted}"),
        )];
        return answer(&app, &open, settings, &typed, &wrong, StatusCode::CONFLICT).await;
    }
    Ok(Redirect::to(&format!("/batch/{id}/course")).into_response())
}

fn fault(field: &str, message: &str) -> Wrong {
    Wrong {
        field: field.to_owned(),
        message: message.to_owned(),
    }
}

/// What was typed, as a reading.
fn read(typed: &Typed) -> Result<(What, f64, Option<store::Timestamp>), Vec<Wrong>> {
    let what =
        What::of_word(&typed.what).ok_or_else(|| vec![fault("what", "say what was read")])?;
    let mut wrong = Vec::new();
    let (least, most) = what.bounds();
    let canonical = match what.entered(&typed.reading) {
        Ok(x) if (least..=most).contains(&x) => Some(x),
        Ok(_) => {
            wrong.push(fault("reading", "no fermentation has such a reading"));
            None
        }
        Err(error) => {
            wrong.push(fault("reading", &error.to_string()));
            None
        }
    };
    let at = match typed.at.as_str() {
        "" => None,
        text => match text.parse::<store::Timestamp>() {
            Ok(at) => Some(at),
            Err(error) => {
                wrong.push(fault("at", &error.to_string()));
                None
            }
        },
    };
    match canonical {
        Some(canonical) if wrong.is_empty() => Ok((what, canonical, at)),
        _ => Err(wrong),
    }
}

/// The chart as a file.
async fn saved(
    State(app): State<App>,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let missing = || {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is no such chart of this batch.",
        )
    };
    let open = app.batch(document_id(&id)?).await?;
    let watched = watched(&app, &open).await?.ok_or_else(missing)?;
    let chart = chart(&watched, settings.units);
    match name.as_str() {
        "watch.svg" => Ok(file("image/svg+xml", &name, chart.standalone_svg())),
        "watch.csv" => Ok(file("text/csv; charset=utf-8", &name, chart.csv())),
        _ => Err(missing()),
    }
}

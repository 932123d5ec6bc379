//! Why a batch is off: what was found is kept, answers follow; and the tables to read.

use app::{App, Edited, HouseHistory, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use batch::Fault;
use inquiry::Knowledge;
use maud::Markup;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::{answered_aside, revision};
use crate::handlers::document_id;
use crate::handlers::files::file;
use crate::handlers::report::shown;
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::inquiry::{BEARING, Desk, FINDING, page, story_page, unread};
use crate::views::knowledge;
use crate::views::report::inquiry_report;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/inquiry", get(show).post(keep))
        .route("/batch/{id}/inquiry/next", post(next))
        .route("/batch/{id}/inquiry/story", get(tell))
        .route("/batch/{id}/inquiry/report", get(report))
        .route("/batch/{id}/inquiry/report.html", get(keep_report))
        .route("/knowledge", get(shelf))
        .route("/knowledge/cause/{key}", get(cause))
        .route("/knowledge/finding/{key}", get(finding))
        .route("/knowledge/test/{key}", get(test))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let history = app.house_of(&open).await?;
    let asked = Asked {
        find: value(&query, "find"),
        typed: &[],
        faults: &[],
    };
    Ok(answer(&open, &history, settings, &asked))
}

/// What was asked for, and what could not be kept.
struct Asked<'a> {
    find: &'a str,
    typed: &'a [(String, String)],
    faults: &'a [Fault],
}

fn answer(
    open: &OpenBatch,
    history: &HouseHistory,
    settings: Settings,
    asked: &Asked<'_>,
) -> Response {
    let Some(reckoning) = open.outcome.reckoning() else {
        return (StatusCode::UNPROCESSABLE_ENTITY, unread(open)).into_response();
    };
    let Asked {
        find,
        typed,
        faults,
    } = *asked;
    let question = history.weigh(reckoning).question();
    let answer = reckoning
        .inquire_in(&history.house, &question)
        .map_err(|error| error.to_string());
    let fine = answer.is_ok() && faults.is_empty();
    let desk = Desk {
        open,
        reckoning,
        answer: &answer,
        history,
        find,
        typed,
        faults,
        units: settings.units,
    };
    let status = if fine {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    (status, page(&desk)).into_response()
}

/// Keeps a finding, a result or what bears on the fault, or takes one out again.
async fn keep(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let on = revision(&form)?;
    let number = document_id(&id)?;
    let place = || value(&form, "number").parse().map_err(|_| unclear());
    let done = match value(&form, "do") {
        "finding" => {
            app.keep_found(number, on, "finding", said(&form, &FINDING))
                .await
        }
        "test" => {
            app.keep_found(number, on, "test", said(&form, &["what", "result"]))
                .await
        }
        "bearing" => {
            let keys = BEARING.iter().map(|(key, ..)| *key);
            let values = keys
                .map(|key| (key.to_owned(), value(&form, key).to_owned()))
                .collect();
            app.keep_bearing(number, on, values).await
        }
        "forget finding" => app.forget_found(number, on, "finding", place()?).await,
        "forget test" => app.forget_found(number, on, "test", place()?).await,
        _ => return Err(unclear()),
    };
    match done {
        Ok(Edited::Refused { batch, faults }) => {
            let history = app.house_of(&batch).await?;
            let asked = Asked {
                find: "",
                typed: &form,
                faults: &faults,
            };
            Ok(answer(&batch, &history, settings, &asked))
        }
        other => {
            let to = format!("/batch/{number}/inquiry");
            answered_aside(&app, number, settings, &to, other).await
        }
    }
}

/// The inquiry as a story.
async fn tell(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let Some((story, history)) = app.story_of(&open).await? else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let story = story.map_err(|error| error.to_string());
    let status = if story.is_ok() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, story_page(&open, &story, &history)).into_response())
}

/// The story as one page that loads nothing.
async fn reported(app: &App, id: &str) -> Result<String, PageError> {
    let open = app.batch(document_id(id)?).await?;
    let refused = |why: String| PageError::new(StatusCode::UNPROCESSABLE_ENTITY, "Not yet", why);
    let told = app.story_of(&open).await?;
    let (story, history) = told.ok_or_else(|| {
        refused("This document cannot be reckoned as it is. Mend it first.".to_owned())
    })?;
    let story = story.map_err(|error| refused(format!("{error}.")))?;
    Ok(inquiry_report(&open.name, &story, &history))
}

async fn report(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    Ok(shown(reported(&app, &id).await?))
}

/// The same as a file to keep.
async fn keep_report(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let text = reported(&app, &id).await?;
    Ok(file("text/html; charset=utf-8", "inquiry.html", text))
}

/// The remedy of a cause in a copy of the batch.
async fn next(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let begun = app
        .begin_next(document_id(&id)?, value(&form, "cause"))
        .await?;
    let open = begun.ok_or_else(|| {
        PageError::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "Nothing to change",
            "This remedy is nothing that a batch document holds; do it beside the plan.",
        )
    })?;
    Ok(Redirect::to(&format!("/batch/{}", open.id)).into_response())
}

/// The fields that say something.
fn said(form: &[(String, String)], keys: &[&str]) -> Pairs {
    let given = keys
        .iter()
        .map(|key| ((*key).to_owned(), value(form, key).to_owned()));
    given.filter(|(_, value)| !value.is_empty()).collect()
}

fn unclear() -> PageError {
    PageError::new(
        StatusCode::BAD_REQUEST,
        "Not understood",
        "The form is not one of this page. Open the page again.",
    )
}

async fn shelf() -> Markup {
    knowledge::shelf()
}

async fn cause(Path(key): Path<String>) -> Result<Markup, PageError> {
    let k = Knowledge::built_in();
    Ok(knowledge::cause(
        &k.causes[k.cause(&key).map_err(|e| gone(&e.to_string()))?],
    ))
}

async fn finding(Path(key): Path<String>) -> Result<Markup, PageError> {
    let k = Knowledge::built_in();
    Ok(knowledge::finding(
        &k.findings[k.finding(&key).map_err(|e| gone(&e.to_string()))?],
    ))
}

async fn test(Path(key): Path<String>) -> Result<Markup, PageError> {
    let k = Knowledge::built_in();
    Ok(knowledge::test(
        &k.tests[k.test(&key).map_err(|e| gone(&e.to_string()))?],
    ))
}

fn gone(why: &str) -> PageError {
    PageError::new(StatusCode::NOT_FOUND, "Not here", format!("{why}."))
}

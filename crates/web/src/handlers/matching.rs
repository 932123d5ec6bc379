//! Matching an aim, and moving a batch. The address holds the question, so that it can be
//! kept; a recipe that is taken becomes a revision of its batch, or a batch of its own.

use std::str::FromStr;

use app::{App, LibraryKind, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::Fault;
use batch::job::{self, Outcome, Refusal, Work};
use batch::matching::{Matched, TypedMatch};
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::revision;
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::jobs::{Answer, ask, ask_now, not_yet};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::address;
use crate::views::matching::{Desk, Found, Library, Where, chart, page, unread};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/match", get(show).post(take))
        .route("/batch/{id}/match/{name}", get(file))
        .route("/batch/{id}/move", get(show_move).post(take_move))
        .route("/batch/{id}/move/{name}", get(file_move))
}

/// Fields of the address that are no part of the question.
const BESIDE: [&str; 9] = [
    "on",
    "show",
    "find",
    "as_new",
    "volume",
    "altitude",
    "brewhouse",
    "water_of",
    "stores",
];

/// The question; a field that is left empty is the same as none, so that an address without
/// it is the same question.
fn typed(pairs: &Pairs) -> TypedMatch {
    let said = |text: &str| !text.trim().is_empty();
    let asked = pairs
        .iter()
        .filter(|(key, text)| said(text) && !BESIDE.contains(&key.as_str()));
    asked.cloned().collect()
}

/// An identifier that may be left out.
fn identifier(pairs: &Pairs, name: &str) -> Option<DocumentId> {
    DocumentId::from_str(value(pairs, name)).ok()
}

async fn library(app: &App, batch: DocumentId) -> Result<Library, PageError> {
    let mut found = Vec::new();
    for kind in [
        LibraryKind::Stores,
        LibraryKind::Brewhouse,
        LibraryKind::Water,
    ] {
        let rows = app.library(kind, "", 0).await?.rows;
        found.push(rows.into_iter().map(|row| (row.id, row.name)).collect());
    }
    let mut found = found.into_iter();
    let mut next = || found.next().unwrap_or_default();
    Ok(Library {
        stores: next(),
        brewhouses: next(),
        waters: next(),
        tastings: app.admired(batch).await?,
    })
}

/// What is asked where, as work with all that it needs.
async fn work(app: &App, open: &OpenBatch, pairs: &Pairs, to: Where) -> Result<Work, PageError> {
    let stores = match identifier(pairs, "stores") {
        Some(id) => Some(app.stores_at_hand(id).await?.text),
        None => None,
    };
    let (text, typed) = (open.text.clone(), typed(pairs));
    Ok(match to {
        Where::Here => Work::Match {
            text,
            typed,
            stores,
        },
        Where::Elsewhere => Work::Move {
            text,
            typed,
            stores,
            to: app
                .destination(
                    value(pairs, "volume"),
                    value(pairs, "altitude"),
                    identifier(pairs, "brewhouse"),
                    identifier(pairs, "water_of"),
                )
                .await?,
        },
    })
}

fn of(app: &App, answer: Answer) -> Found {
    match answer {
        Answer::There(outcome) => found(*outcome),
        Answer::Not(job) => Found::NotYet(app.standing(&job), job),
    }
}

fn found(outcome: Outcome) -> Found {
    match outcome {
        Ok(job::Found::Match(found)) => Found::Here(found),
        Ok(job::Found::Move(found)) => Found::Elsewhere(found),
        Err(Refusal { faults, .. }) if !faults.is_empty() => Found::Wrong(faults),
        Err(Refusal { told, .. }) => nothing(told),
        Ok(_) => nothing("another question was answered".to_owned()),
    }
}

fn nothing(help: String) -> Found {
    Found::Wrong(vec![Fault {
        span: 0..0,
        path: String::new(),
        message: "nothing is found".to_owned(),
        help,
    }])
}

async fn shown(
    app: &App,
    settings: Settings,
    id: &str,
    pairs: &Pairs,
    to: Where,
    late: bool,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(id)?).await?;
    if open.outcome.reckoning().is_none() {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    }
    let found = if value(pairs, "find").is_empty() {
        Found::NotAsked
    } else {
        let work = work(app, &open, pairs, to).await?;
        of(app, ask(app, &work, Some(open.id)).await?)
    };
    let status = match (&found, late) {
        (_, true) => StatusCode::CONFLICT,
        (Found::Wrong(_), _) => StatusCode::UNPROCESSABLE_ENTITY,
        _ => StatusCode::OK,
    };
    let library = library(app, open.id).await?;
    let typed = typed(pairs);
    let desk = Desk {
        open: &open,
        typed: &typed,
        pairs,
        to,
        found: &found,
        library: &library,
        units: settings.units,
        late,
    };
    Ok((status, page(&desk)).into_response())
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    shown(&app, settings, &id, &query, Where::Here, false).await
}

async fn show_move(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    shown(&app, settings, &id, &query, Where::Elsewhere, false).await
}

async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    taken(&app, settings, &id, &form, Where::Here).await
}

async fn take_move(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    taken(&app, settings, &id, &form, Where::Elsewhere).await
}

/// Takes the answer that is found now for the question of the form.
async fn taken(
    app: &App,
    settings: Settings,
    id: &str,
    form: &Pairs,
    to: Where,
) -> Result<Response, PageError> {
    let number = document_id(id)?;
    let on = revision(form)?;
    let open = app.batch(number).await?;
    if open.outcome.reckoning().is_none() {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    }
    if on != open.revision {
        return shown(app, settings, id, form, to, true).await;
    }
    let work = work(app, &open, form, to).await?;
    let found = of(app, ask_now(app, &work, Some(open.id)).await?);
    let matched: &Matched = match &found {
        Found::Here(matched) => matched,
        Found::Elsewhere(moved) => &moved.matched,
        // The address of the question shows how far it is, and then what can be taken.
        Found::NotYet(..) => {
            return Ok(Redirect::to(&question_at(number, to, form)).into_response());
        }
        Found::NotAsked | Found::Wrong(_) => {
            return shown(app, settings, id, form, to, false).await;
        }
    };
    let answer = matched.answer(value(form, "show"));
    if value(form, "as_new").is_empty() {
        app.keep_match(number, on, &answer.text, &answer.label)
            .await?;
        return Ok(Redirect::to(&format!("/batch/{number}")).into_response());
    }
    let what = match to {
        Where::Here => "matched",
        Where::Elsewhere => "moved",
    };
    let kept = app
        .keep_match_as_new(&open.name, &answer.text, what)
        .await?;
    Ok(Redirect::to(&format!("/batch/{}", kept.id)).into_response())
}

/// The address of the question of a form.
fn question_at(batch: DocumentId, to: Where, form: &Pairs) -> String {
    let word = match to {
        Where::Here => "match",
        Where::Elsewhere => "move",
    };
    let asked = form
        .iter()
        .filter(|(key, _)| key != "on" && key != "as_new");
    let asked = asked.map(|(key, value)| (key.as_str(), value.as_str()));
    format!("/batch/{batch}/{word}?{}", address::query(asked))
}

/// The distances as a file: `aims.svg`, `aims.csv`.
async fn file(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    drawn(&app, &id, &name, &query, Where::Here).await
}

async fn file_move(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    drawn(&app, &id, &name, &query, Where::Elsewhere).await
}

async fn drawn(
    app: &App,
    id: &str,
    name: &str,
    query: &Pairs,
    to: Where,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(id)?).await?;
    open.outcome.reckoning().ok_or_else(no_chart)?;
    let work = work(app, &open, query, to).await?;
    let found = of(app, ask_now(app, &work, Some(open.id)).await?);
    let matched = match &found {
        Found::Here(matched) => matched.as_ref(),
        Found::Elsewhere(moved) => &moved.matched,
        Found::NotYet(..) => return Err(not_yet()),
        Found::NotAsked | Found::Wrong(_) => return Err(no_chart()),
    };
    chart_file(name, |which| {
        (which == "aims").then(|| {
            let answer = matched.answer(value(query, "show"));
            Box::new(chart(matched, answer)) as Box<dyn ::chart::Chart>
        })
    })
}

//! Batches side by side. The address holds the question; nothing is kept.

use app::{App, Page, Picked};
use axum::Router;
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use batch::comparing::{Comparison, MOST, Question};
use batch::job::{Found, Outcome, Work};
use store::StoreError;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::jobs::{Answer, ask, ask_now, not_yet};
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::comparing::{Desk, Picking, chart, page, picking, working};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/compare", get(show))
        .route("/compare/{name}", get(file))
}

/// How closely a page looks.
const LOOK: Question = Question {
    draws: 128,
    finely: false,
    orders: 16,
    seed: 1,
};

/// What stands in the way of a comparison.
enum Hindered {
    /// In words.
    Told(String),
    Page(PageError),
}

impl From<PageError> for Hindered {
    fn from(error: PageError) -> Self {
        Self::Page(error)
    }
}

/// The batches that an address names, each once.
fn named(query: &Pairs) -> Vec<&str> {
    let mut named: Vec<&str> = Vec::new();
    for (_, of) in query
        .iter()
        .filter(|(key, of)| key == "of" && !of.is_empty())
    {
        if !named.contains(&of.as_str()) {
            named.push(of);
        }
    }
    named
}

async fn picked(app: &App, query: &Pairs) -> Result<Vec<Picked>, Hindered> {
    let mut picked = Vec::new();
    for of in named(query).into_iter().take(MOST + 1) {
        match app.pick_written(of).await {
            Ok(one) => picked.push(one),
            Err(
                app::AppError::NotOne { .. }
                | app::AppError::Store(
                    StoreError::NoSuchDocument { .. }
                    | StoreError::NoSuchRevision { .. }
                    | StoreError::Impossible { .. },
                ),
            ) => {
                let told = format!("There is no batch {of} any more, or no such revision of it.");
                return Err(Hindered::Told(told));
            }
            Err(error) => return Err(Hindered::Page(error.into())),
        }
    }
    Ok(picked)
}

fn work(picked: &[Picked]) -> Work {
    Work::Compare {
        texts: picked.iter().map(|p| p.text.clone()).collect(),
        question: LOOK,
    }
}

/// The comparison, or in words why there is none.
fn compared(picked: &[Picked], outcome: Outcome) -> Result<Box<Comparison>, Hindered> {
    let told = match outcome {
        Ok(Found::Compare(found)) => return Ok(found),
        Ok(_) => "Another question was answered.".to_owned(),
        Err(refusal) => match refusal.which {
            Some(which) => format!(
                "{} cannot be reckoned as it is. Open it and mend it first.",
                picked
                    .get(which)
                    .map_or("One of them", |one| one.name.as_str())
            ),
            None if picked.len() > MOST => format!(
                "{} batches are too many to lay beside each other; up to {MOST} would work.",
                picked.len()
            ),
            None => format!("{}.", refusal.told),
        },
    };
    Err(Hindered::Told(told))
}

/// Batches beside each other, or the page that shows how far that is.
enum Compared {
    There(Vec<Picked>, Box<Comparison>),
    Not(Response),
}

async fn beside(app: &App, query: &Pairs, picked: Vec<Picked>) -> Result<Compared, Hindered> {
    let document = picked.first().map(|one| one.id);
    match ask(app, &work(&picked), document).await? {
        Answer::There(outcome) => {
            let found = compared(&picked, *outcome)?;
            Ok(Compared::There(picked, found))
        }
        Answer::Not(job) => {
            let standing = app.standing(&job);
            let shown = working(&picked, query, &job, &standing);
            Ok(Compared::Not(shown.into_response()))
        }
    }
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let found = match picked(&app, &query).await {
        Ok(picked) if picked.len() < 2 => {
            let asked = value(&query, "do") == "compare";
            let told = asked.then(|| "Tick two batches, or more.".to_owned());
            return pick(&app, &query, told).await;
        }
        Ok(picked) => beside(&app, &query, picked).await,
        Err(hindered) => Err(hindered),
    };
    match found {
        Ok(Compared::Not(shown)) => Ok(shown),
        Ok(Compared::There(picked, found)) => Ok(page(&Desk {
            picked: &picked,
            found: &found,
            figure: value(&query, "figure"),
            with: value(&query, "with").parse().unwrap_or(0),
            units: settings.units,
        })
        .into_response()),
        Err(Hindered::Told(told)) => pick(&app, &query, Some(told)).await,
        Err(Hindered::Page(error)) => Err(error),
    }
}

/// The list to tick batches in, with what is ticked so far.
async fn pick(app: &App, query: &Pairs, told: Option<String>) -> Result<Response, PageError> {
    let find = value(query, "find");
    let number = value(query, "page").parse().unwrap_or(0);
    let listed: Page = app.batches(find, number).await?;
    let mut kept = Vec::new();
    for of in named(query).into_iter().take(MOST + 1) {
        if let Ok(one) = app.pick_written(of).await {
            kept.push((of.to_owned(), one));
        }
    }
    let status = if told.is_some() {
        StatusCode::UNPROCESSABLE_ENTITY
    } else {
        StatusCode::OK
    };
    let body = picking(&Picking {
        listed: &listed,
        kept: &kept,
        find,
        told: told.as_deref(),
    });
    Ok((status, body).into_response())
}

/// The steps to a figure as a file: `alcohol.svg`, `alcohol.csv`.
async fn file(
    Acting(app): Acting,
    settings: Settings,
    Path(name): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let refused = |hindered| match hindered {
        Hindered::Told(_) => no_chart(),
        Hindered::Page(error) => error,
    };
    let picked = picked(&app, &query).await.map_err(refused)?;
    let document = picked.first().map(|one| one.id);
    let Answer::There(outcome) = ask_now(&app, &work(&picked), document).await? else {
        return Err(not_yet());
    };
    let found = compared(&picked, *outcome).map_err(refused)?;
    let with: usize = value(&query, "with").parse().unwrap_or(0);
    chart_file(&name, |figure| {
        let against = found.against.get(with)?;
        let drawn = chart(&found, with, against.figure(figure)?, settings.units)?;
        Some(Box::new(drawn) as Box<dyn ::chart::Chart>)
    })
}

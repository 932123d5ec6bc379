//! The first page: what this is, the demo, a batch from three questions, the list.

use app::{Beer, Beginning, Demo, Tap};
use axum::Form;
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::Markup;
use quantity::Volume;
use serde::Deserialize;

use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views;

/// Which part of the list.
#[derive(Debug, Default, Deserialize)]
pub struct Which {
    #[serde(default)]
    find: String,
    #[serde(default)]
    page: u32,
}

/// The first page.
pub async fn show(
    Acting(app): Acting,
    settings: Settings,
    Query(which): Query<Which>,
) -> Result<Markup, PageError> {
    let page = app.batches(&which.find, which.page).await?;
    Ok(views::welcome::page(
        &page,
        &which.find,
        &views::welcome::Answers::default(),
        None,
        settings.units,
    ))
}

/// The three answers.
#[derive(Debug, Deserialize)]
pub struct Answers {
    tap: String,
    beer: String,
    volume: String,
    #[serde(default)]
    name: String,
}

/// Begins a batch.
pub async fn begin(
    Acting(app): Acting,
    settings: Settings,
    Form(answers): Form<Answers>,
) -> Result<Response, PageError> {
    let tap = Tap::ALL
        .iter()
        .find(|(_, key, _)| *key == answers.tap)
        .map(|(t, ..)| *t);
    let beer = Beer::ALL
        .iter()
        .find(|(_, key, _)| *key == answers.beer)
        .map(|(b, ..)| *b);
    let volume = answers
        .volume
        .parse::<Volume>()
        .map_err(|e| e.to_string())
        .and_then(usable);
    let (Some(tap), Some(beer), Ok(volume)) = (tap, beer, &volume) else {
        let fault = volume
            .err()
            .unwrap_or_else(|| "choose a water and a beer".to_owned());
        let page = app.batches("", 0).await?;
        let answers = views::welcome::Answers {
            tap: answers.tap,
            beer: answers.beer,
            volume: answers.volume,
            name: answers.name,
        };
        let body = views::welcome::page(&page, "", &answers, Some(&fault), settings.units);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, body).into_response());
    };
    let name = answers.name.trim();
    let words = Beer::ALL
        .iter()
        .find(|(b, ..)| *b == beer)
        .map_or("a beer", |(.., words)| *words);
    let begun = app
        .begin(&Beginning {
            name: if name.is_empty() {
                words.to_owned()
            } else {
                name.to_owned()
            },
            tap,
            beer,
            volume: *volume,
        })
        .await?;
    Ok(Redirect::to(&format!("/batch/{}", begun.id)).into_response())
}

fn usable(volume: Volume) -> Result<Volume, String> {
    if (1.0..=2000.0).contains(&volume.l()) {
        Ok(volume)
    } else {
        Err(format!(
            "{volume} is no batch; between 1 L and 2000 L can be begun"
        ))
    }
}

/// Opens a demo as a batch.
pub async fn demo(Acting(app): Acting, Path(name): Path<String>) -> Result<Redirect, PageError> {
    let demo = Demo::find(&name).ok_or_else(|| {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is no demo of that name.",
        )
    })?;
    let begun = app.keep_demo(demo).await?;
    Ok(Redirect::to(&format!("/batch/{}", begun.id)))
}

/// A document that was written elsewhere.
#[derive(Debug, Deserialize)]
pub struct Import {
    text: String,
}

/// Keeps a pasted document, faults and all.
pub async fn import(
    Acting(app): Acting,
    Form(import): Form<Import>,
) -> Result<Redirect, PageError> {
    let kept = app
        .keep_batch(&import.text.replace("\r\n", "\n"), "pasted")
        .await?;
    Ok(Redirect::to(&format!("/batch/{}", kept.id)))
}

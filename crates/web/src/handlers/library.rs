//! The library: lists of waters, brewhouses and stores, and a page for each. The
//! first step of the address says which.

use std::collections::BTreeMap;

use app::{App, AppError, EntryEdited, LibraryKind, OpenEntry};
use axum::Form;
use axum::extract::{FromRequestParts, Path, Query};
use axum::http::StatusCode;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use batch::edit::written_values;
use maud::Markup;
use serde::Deserialize;

use super::batch::{Text, edits, revision as revision_of, touched};
use super::files::file;
use super::history::{BringBack, bad, number_of, side_of};
use super::{document_id, not_found};
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views;
use crate::views::library::tables::Table;
use crate::views::library::{Desk, List, back, first_values, home, shelf};

/// The kind that an address is about.
#[derive(Debug, Clone, Copy)]
pub struct About(pub LibraryKind);

impl<S: Send + Sync> FromRequestParts<S> for About {
    type Rejection = PageError;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, PageError> {
        let first = parts.uri.path().split('/').nth(1).unwrap_or("");
        let of = |kind: &LibraryKind| shelf(*kind).trim_start_matches('/') == first;
        match LibraryKind::ALL.into_iter().find(of) {
            Some(kind) => Ok(Self(kind)),
            None => Err(not_found().await),
        }
    }
}

/// Which part of a list.
#[derive(Debug, Default, Deserialize)]
pub struct Which {
    #[serde(default)]
    find: String,
    #[serde(default)]
    page: u32,
}

/// A list.
pub async fn list(
    Acting(app): Acting,
    About(kind): About,
    Query(which): Query<Which>,
) -> Result<Markup, PageError> {
    let rows = app.library(kind, &which.find, which.page).await?;
    Ok(views::library::list(&List {
        kind,
        rows: &rows,
        find: &which.find,
        refused: None,
    }))
}

/// The table of malts.
pub async fn malts(settings: Settings, Query(which): Query<Which>) -> Markup {
    views::library::tables::page(Table {
        title: "Malts",
        address: "/malts",
        entries: batch::tables::malts(settings.units),
        find: &which.find,
    })
}

/// The table of hops.
pub async fn hops(settings: Settings, Query(which): Query<Which>) -> Markup {
    views::library::tables::page(Table {
        title: "Hops",
        address: "/hops",
        entries: batch::tables::hops(settings.units),
        find: &which.find,
    })
}

/// The name of something new.
#[derive(Debug, Deserialize)]
pub struct Begin {
    #[serde(default)]
    name: String,
}

/// Begins a document from its name.
pub async fn begin(
    Acting(app): Acting,
    About(kind): About,
    Form(begin): Form<Begin>,
) -> Result<Response, PageError> {
    let fault = match begin.name.trim() {
        "" => "give it a name, such as the street of the tap".to_owned(),
        name => match app.begin_entry(kind, name).await {
            Ok(begun) => return Ok(Redirect::to(&home(&begun)).into_response()),
            Err(AppError::Store(why @ store::StoreError::Impossible { .. })) => why.to_string(),
            Err(other) => return Err(other.into()),
        },
    };
    let rows = app.library(kind, "", 0).await?;
    let page = views::library::list(&List {
        kind,
        rows: &rows,
        find: "",
        refused: Some((&begin.name, &fault)),
    });
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// Adds the examples.
pub async fn demo(Acting(app): Acting, About(kind): About) -> Result<Redirect, PageError> {
    let added = app.keep_demo_library(kind).await?;
    Ok(match added.as_slice() {
        [one] => Redirect::to(&format!("{}/{one}", shelf(kind))),
        _ => Redirect::to(shelf(kind)),
    })
}

/// The page of a document.
pub async fn show(
    Acting(app): Acting,
    settings: Settings,
    About(kind): About,
    Path(id): Path<String>,
) -> Result<Markup, PageError> {
    let open = app.entry(kind, document_id(&id)?).await?;
    let analyses = analyses(&app, &open).await?;
    Ok(views::library::page(&Desk::of(
        &open,
        &analyses,
        settings.units,
    )))
}

pub(super) async fn analyses(
    app: &App,
    open: &OpenEntry,
) -> Result<Vec<app::DatedAnalysis>, AppError> {
    match open.kind {
        LibraryKind::Water => app.analyses(open).await,
        LibraryKind::Brewhouse | LibraryKind::Stores => Ok(Vec::new()),
    }
}

/// Makes the edits of a form.
pub async fn edit(
    Acting(app): Acting,
    settings: Settings,
    About(kind): About,
    Path(id): Path<String>,
    Form(form): Form<Vec<(String, String)>>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision_of(&form)?;
    let typed: BTreeMap<String, String> = form.into_iter().collect();
    let base = app.store().revision(id, on).await.map_err(AppError::from)?;
    let base = written_values(&base.text).map_err(AppError::from)?;
    match app
        .edit_entry(kind, id, on, &edits(&typed, &base, first_values))
        .await
    {
        Ok(EntryEdited::Saved { entry, .. }) => Ok(Redirect::to(&home(&entry)).into_response()),
        Ok(EntryEdited::Refused { entry, faults }) => {
            let typed = touched(typed, &base);
            let analyses = analyses(&app, &entry).await?;
            let desk = Desk::of(&entry, &analyses, settings.units).refused(&typed, &faults);
            Ok((
                StatusCode::UNPROCESSABLE_ENTITY,
                views::library::page(&desk),
            )
                .into_response())
        }
        Err(conflict @ AppError::Conflict { .. }) => {
            let open = app.entry(kind, id).await?;
            let analyses = analyses(&app, &open).await?;
            let told = conflict.to_string();
            let desk = Desk::of(&open, &analyses, settings.units).conflict(&told);
            Ok((StatusCode::CONFLICT, views::library::page(&desk)).into_response())
        }
        Err(error) => Err(error.into()),
    }
}

/// The document as text, to write in.
pub async fn text(
    Acting(app): Acting,
    About(kind): About,
    Path(id): Path<String>,
) -> Result<Markup, PageError> {
    let open = app.entry(kind, document_id(&id)?).await?;
    Ok(views::text::page(&as_text(&open)))
}

/// Saves a text; faults are kept and shown.
pub async fn save_text(
    Acting(app): Acting,
    About(kind): About,
    Path(id): Path<String>,
    Form(form): Form<Text>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = number_of(&form.on)?;
    let saved = app
        .save_entry_text(kind, id, on, &form.text.replace("\r\n", "\n"))
        .await?;
    if saved.faults().is_empty() {
        return Ok(Redirect::to(&home(&saved)).into_response());
    }
    Ok((
        StatusCode::UNPROCESSABLE_ENTITY,
        views::text::page(&as_text(&saved)),
    )
        .into_response())
}

fn as_text(open: &OpenEntry) -> views::text::Text<'_> {
    views::text::Text {
        name: &open.name,
        revision: open.revision,
        text: &open.text,
        faults: open.faults(),
        home: home(open),
        back: back(open.kind),
        label: "The document",
    }
}

/// The document as a file.
pub async fn download(
    Acting(app): Acting,
    About(kind): About,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let open = app.entry(kind, document_id(&id)?).await?;
    let name = format!("{}.toml", views::library::one(kind));
    Ok(file("application/toml", &name, open.text))
}

/// All revisions, and the versions that were refused and kept.
pub async fn history(
    Acting(app): Acting,
    About(kind): About,
    Path(id): Path<String>,
) -> Result<Markup, PageError> {
    let open = app.entry(kind, document_id(&id)?).await?;
    let (revisions, sides) = app.history(open.id).await?;
    Ok(views::history::page(&subject(&open), &revisions, &sides))
}

/// One revision, and what has changed since.
pub async fn revision(
    Acting(app): Acting,
    About(kind): About,
    Path((id, number)): Path<(String, String)>,
) -> Result<Markup, PageError> {
    let open = app.entry(kind, document_id(&id)?).await?;
    let number = number_of(&number)?;
    let difference = app.difference(open.id, number, open.revision).await?;
    Ok(views::history::revision(
        &subject(&open),
        number,
        &difference,
    ))
}

/// Saves an old revision, or a version that was refused, as the newest.
pub async fn bring_back(
    Acting(app): Acting,
    About(kind): About,
    Path(id): Path<String>,
    Form(form): Form<BringBack>,
) -> Result<Redirect, PageError> {
    let id = document_id(&id)?;
    let on = number_of(&form.on)?;
    let open = match (form.revision, form.side) {
        (Some(number), _) => {
            app.bring_back_entry(kind, id, number_of(&number)?, on)
                .await?
        }
        (None, Some(side)) => {
            app.bring_back_entry_side(kind, id, side_of(&side)?, on)
                .await?
        }
        (None, None) => return Err(bad("say which revision")),
    };
    Ok(Redirect::to(&home(&open)))
}

fn subject(open: &OpenEntry) -> views::history::Subject<'_> {
    views::history::Subject {
        name: &open.name,
        revision: open.revision,
        home: home(open),
        back: back(open.kind),
        batch: None,
    }
}

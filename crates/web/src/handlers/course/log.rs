//! A log from a file or pasted: its columns are guessed, shown, and kept once a person
//! has confirmed them.

use std::collections::BTreeMap;

use app::{App, KeptLog};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use batch::log::{Guess, LogError, Mapping, Role, instant, offset, read_table};
use maud::Markup;

use crate::error::PageError;
use crate::handlers::document_id;
use crate::views::course::log::{Sheet, page};

/// The longest log that is taken through a page; longer ones by `gyle log keep`.
const MOST_BYTES: usize = 4 << 20;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new().route(
        "/batch/{id}/course/log",
        get(show)
            .post(answer)
            // A log comes twice: in its field, and as a file.
            .layer(DefaultBodyLimit::max(3 * MOST_BYTES)),
    )
}

async fn show(State(app): State<App>, Path(id): Path<String>) -> Result<Markup, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    Ok(page(&Sheet::empty(&open)))
}

/// Looks at a log, and keeps it where that is asked for.
async fn answer(
    State(app): State<App>,
    Path(id): Path<String>,
    body: Multipart,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let sent = Sent::of(body).await?;
    let mut sheet = Sheet::empty(&open);
    sheet.typed = sent.typed;
    sheet.wrong = sent.wrong;
    let text = sheet.typed("text").to_owned();
    if sheet.wrong.is_empty() {
        match Guess::of(&text) {
            Ok(guess) => sheet.guess = Some(guess),
            Err(error) => sheet.wrong.push(("text".to_owned(), error.to_string())),
        }
    }
    if let (Some(guess), "keep") = (&sheet.guess, sheet.typed("do")) {
        match mapping(guess, &sheet.typed) {
            Ok(mapping) => {
                sheet.kept = Some(kept(&app, &sheet, &text, &mapping).await?);
            }
            Err(wrong) => sheet.wrong = wrong,
        }
    }
    let status = if sheet.wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, page(&sheet)).into_response())
}

async fn kept(
    app: &App,
    sheet: &Sheet<'_>,
    text: &str,
    mapping: &Mapping,
) -> Result<KeptLog, PageError> {
    let rows = read_table(text, mapping).map_err(|e| {
        PageError::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "This log cannot be read",
            e.to_string(),
        )
    })?;
    Ok(app.keep_log(sheet.open.id, rows, "page", |_| {}).await?)
}

type Wrong = Vec<(String, String)>;

/// How the table is to be read, as it was confirmed.
fn mapping(guess: &Guess, typed: &BTreeMap<String, String>) -> Result<Mapping, Wrong> {
    let said = |name: &str| typed.get(name).map_or("", |text| text.trim());
    let mut wrong = Wrong::new();
    let mut mapping = guess.mapping.clone();
    for (n, role) in mapping.columns.iter_mut().enumerate() {
        let name = format!("column.{n}");
        match said(&name).parse::<Role>() {
            Ok(said) => *role = said,
            Err(error) => wrong.push((name, error.to_string())),
        }
    }
    match said("start") {
        "" => {}
        text => match instant(text) {
            Some(ms) => mapping.start_ms = Some(ms),
            None => wrong.push((
                "start".to_owned(),
                format!("{text:?} is no moment; write it as 2026-03-14T09:00:00Z"),
            )),
        },
    }
    match said("offset") {
        "" => {}
        text => match offset(text) {
            Some(found) => mapping.offset = found,
            None => wrong.push((
                "offset".to_owned(),
                format!("{text:?} is no offset; write it as +01:00"),
            )),
        },
    }
    let (kind, name) = (said("instrument"), said("name"));
    mapping.instrument = match name {
        "" => kind.to_owned(),
        name if name.to_lowercase().contains(kind) => name.to_owned(),
        name => format!("{kind}, {name}"),
    };
    if wrong.is_empty()
        && let Err(error) = mapping.check(mapping.columns.len())
    {
        let field = if error == LogError::NoStart {
            "start"
        } else {
            "column.0"
        };
        wrong.push((field.to_owned(), error.to_string()));
    }
    if wrong.is_empty() {
        Ok(mapping)
    } else {
        Err(wrong)
    }
}

/// What was sent, and what is wrong with it.
#[derive(Default)]
struct Sent {
    typed: BTreeMap<String, String>,
    wrong: Wrong,
}

impl Sent {
    async fn of(mut body: Multipart) -> Result<Self, PageError> {
        let mut sent = Self::default();
        let whole = |_| {
            PageError::new(
                StatusCode::BAD_REQUEST,
                "The form did not arrive whole",
                "Go back and send it again; a log has at most 4 MB here. Longer ones are kept by gyle log keep.",
            )
        };
        while let Some(field) = body.next_field().await.map_err(whole)? {
            let name = field.name().unwrap_or_default().to_owned();
            let bytes = field.bytes().await.map_err(whole)?;
            if name != "file" {
                sent.typed
                    .insert(name, String::from_utf8_lossy(&bytes).replace("\r\n", "\n"));
            } else if bytes.contains(&0) {
                sent.wrong.push((
                    "file".to_owned(),
                    "this file is no plain text; save the table as CSV".to_owned(),
                ));
            } else if !bytes.is_empty() {
                let text = String::from_utf8_lossy(&bytes).replace("\r\n", "\n");
                sent.typed.insert("text".to_owned(), text);
            }
        }
        let text = sent.typed.get("text").map_or("", String::as_str);
        if sent.wrong.is_empty() && text.trim().is_empty() {
            let told = "paste the table, or choose its file".to_owned();
            sent.wrong.push(("text".to_owned(), told));
        } else if text.len() > MOST_BYTES {
            let told = "this is more than 4 MB; keep it with gyle log keep".to_owned();
            sent.wrong.push(("text".to_owned(), told));
        }
        Ok(sent)
    }
}

//! The log of a batch: what came, what became of each row, and more to keep.

use std::collections::BTreeMap;
use std::str::FromStr;

use app::{App, HowFar, OpenBatch};
use axum::extract::multipart::Multipart;
use axum::extract::{DefaultBodyLimit, Path, Query};
use axum::http::StatusCode;
use axum::http::header::REFRESH;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use batch::log::{Guess, Mapping, Role, What, head, named, offset, read_table};
use store::Timestamp;

use super::document_id;
use super::files::chart_file;
use super::typed::{Pairs, value};
use crate::acting::Acting;
use crate::error::PageError;
use crate::settings::Settings;
use crate::views::log::{Asked, Desk, chart, keeping_page, page};

/// The longest table that a page takes; a longer one goes by the command line.
const MOST_BYTES: usize = 4 << 20;
/// A table longer than this is kept aside, and a page shows how far it is.
const LONG_BYTES: usize = 200 << 10;
/// Deliveries and remarks that a page shows.
const SHOWN: u32 = 200;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route(
            "/batch/{id}/log",
            get(show)
                .post(take)
                // A table comes twice: in its field, and as a file.
                .layer(DefaultBodyLimit::max(3 * MOST_BYTES)),
        )
        .route("/batch/{id}/log/keeping/{number}", get(how_far))
        .route("/batch/{id}/log/enter", post(enter))
        .route("/batch/{id}/log/chart/{name}", get(draw))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let asked = Asked {
        filter: query.into_iter().collect(),
        ..Asked::default()
    };
    answer(&app, settings, &open, &asked).await
}

async fn answer(
    app: &App,
    settings: Settings,
    open: &OpenBatch,
    asked: &Asked,
) -> Result<Response, PageError> {
    let channels = app.looked_over(open.id).await?;
    let arrivals = app.arrivals(open.id, SHOWN).await?;
    let desk = Desk {
        open,
        channels: &channels,
        arrivals: &arrivals,
        units: settings.units,
        asked,
    };
    let status = if asked.wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, page(&desk)).into_response())
}

async fn draw(
    Acting(app): Acting,
    settings: Settings,
    Path((id, name)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let channels = app.looked_over(document_id(&id)?).await?;
    chart_file(&name, |which| {
        let chart = (which == "log").then(|| chart(&channels, settings.units));
        chart.flatten().map(Box::new)
    })
}

/// Keeps a reading that was taken by hand.
async fn enter(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let mut asked = Asked::default();
    let mut wrong = |field: &str, why: String| {
        asked.wrong.insert(field.to_owned(), why);
    };
    let what = What::of_word(value(&form, "what"));
    if what.is_none() {
        wrong("what", "choose what was read".to_owned());
    }
    let reading = value(&form, "reading");
    let entered = what.map(|what| what.entered(reading));
    if let Some(Err(error)) = &entered {
        wrong("reading", error.to_string());
    }
    let instrument = match value(&form, "instrument") {
        "" => "by hand",
        named => named,
    };
    if let Err(why) = named(instrument) {
        wrong("instrument", why);
    }
    let at = match value(&form, "at") {
        "" => None,
        written => match written.parse::<Timestamp>() {
            Ok(at) => Some(at),
            Err(_) => {
                wrong(
                    "at",
                    "write it in UTC, as in 2026-03-16T18:30:00Z, or leave it empty for now"
                        .to_owned(),
                );
                None
            }
        },
    };
    let (Some(what), Some(Ok(entered)), true) = (what, entered, asked.wrong.is_empty()) else {
        asked.typed = form.into_iter().collect();
        return answer(&app, settings, &open, &asked).await;
    };
    app.keep_entered(open.id, what, entered, reading, instrument, at)
        .await?;
    Ok(back(&open))
}

fn back(open: &OpenBatch) -> Response {
    Redirect::to(&format!("/batch/{}/log#came", open.id)).into_response()
}

/// Looks at a table, or keeps one whose columns were confirmed.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    body: Multipart,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let mut asked = Asked {
        typed: fields(body).await?,
        ..Asked::default()
    };
    let text = asked.typed("text").to_owned();
    if text.trim().is_empty() {
        asked.wrong("text", "choose the file of the log, or paste it".to_owned());
    } else if text.len() > MOST_BYTES {
        asked.wrong(
            "text",
            "this is more than 4 MB; keep it with: gyle log keep BATCH FILE".to_owned(),
        );
    } else if text.trim_start().starts_with('[') {
        match app.keep_senml(open.id, &text).await {
            Ok(_) => return Ok(back(&open)),
            Err(app::AppError::Log(error)) => asked.wrong("text", error.to_string()),
            Err(other) => return Err(other.into()),
        }
    } else {
        match Guess::of(&text) {
            Err(error) => asked.wrong("text", error.to_string()),
            Ok(guess) => {
                let confirmed = asked.typed("do") == "keep";
                let mapping = confirmed.then(|| confirmed_mapping(&guess, &mut asked));
                asked.guess = Some(guess);
                if let Some(Some(mapping)) = mapping
                    && let Some(done) = keep(&app, &open, text, mapping, &mut asked).await?
                {
                    return Ok(done);
                }
            }
        }
    }
    answer(&app, settings, &open, &asked).await
}

/// Keeps a table: at once, or aside where it is long.
async fn keep(
    app: &App,
    open: &OpenBatch,
    text: String,
    mapping: Mapping,
    asked: &mut Asked,
) -> Result<Option<Response>, PageError> {
    let source = match asked.typed("name") {
        "" => "pasted".to_owned(),
        name => name.to_owned(),
    };
    if text.len() > LONG_BYTES {
        return match app.keep_aside(open.id, text, mapping, source) {
            Ok(number) => {
                let to = format!("/batch/{}/log/keeping/{number}", open.id);
                Ok(Some(Redirect::to(&to).into_response()))
            }
            Err(app::AppError::Log(error)) => {
                asked.wrong("columns", error.to_string());
                Ok(None)
            }
            Err(other) => Err(other.into()),
        };
    }
    match read_table(&text, &mapping) {
        Err(error) => {
            asked.wrong("columns", error.to_string());
            Ok(None)
        }
        Ok(rows) => {
            app.keep_log(open.id, rows, &source, |_| {}).await?;
            Ok(Some(back(open)))
        }
    }
}

/// How far a long log is; the page asks again by itself until it is kept.
async fn how_far(
    Acting(app): Acting,
    Path((id, number)): Path<(String, u64)>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let kept = app.how_far(number).filter(|kept| kept.batch == open.id);
    match kept {
        // It ended before this program began, or long ago: the log tells what came.
        None
        | Some(HowFar {
            end: Some(Ok(())), ..
        }) => Ok(back(&open)),
        Some(kept) if kept.end.is_none() => {
            Ok(([(REFRESH, "1")], keeping_page(&open, &kept)).into_response())
        }
        Some(kept) => Ok(keeping_page(&open, &kept).into_response()),
    }
}

/// The columns as they were confirmed; what is wrong with them is told at its field.
fn confirmed_mapping(guess: &Guess, asked: &mut Asked) -> Option<Mapping> {
    let mut mapping = guess.mapping.clone();
    for (n, column) in mapping.columns.iter_mut().enumerate() {
        let field = format!("column.{n}");
        match Role::from_str(asked.typed(&field)) {
            Ok(role) => *column = role,
            Err(error) => asked.wrong(&field, error.to_string()),
        }
    }
    if !asked.typed("instrument").is_empty() {
        mapping.instrument = asked.typed("instrument").to_owned();
    }
    match asked.typed("start") {
        "" => {}
        written => match written.parse::<Timestamp>() {
            Ok(start) => mapping.start_ms = Some(start.ms()),
            Err(_) => asked.wrong("start", "write it as 2026-03-14T09:00:00Z".to_owned()),
        },
    }
    match asked.typed("offset") {
        "" => {}
        written => match offset(written) {
            Some(found) => mapping.offset = found,
            None => asked.wrong("offset", "write it as +01:00, or Z for UTC".to_owned()),
        },
    }
    asked.wrong.is_empty().then_some(mapping)
}

/// The fields of the form; a file that was chosen takes the place of the pasted text.
async fn fields(mut body: Multipart) -> Result<BTreeMap<String, String>, PageError> {
    let whole = |_| {
        PageError::new(
            StatusCode::BAD_REQUEST,
            "The form did not arrive whole",
            "Go back and send it again; a longer log goes by: gyle log keep BATCH FILE",
        )
    };
    let mut typed = BTreeMap::new();
    while let Some(field) = body.next_field().await.map_err(whole)? {
        let name = field.name().unwrap_or_default().to_owned();
        let file = field.file_name().unwrap_or_default().to_owned();
        let bytes = field.bytes().await.map_err(whole)?;
        if name != "file" {
            typed
                .entry(name)
                .or_insert_with(|| String::from_utf8_lossy(&bytes).into_owned());
        } else if !bytes.is_empty() {
            typed.insert("text".to_owned(), head(&bytes, true));
            typed.insert("name".to_owned(), file);
        }
    }
    Ok(typed)
}

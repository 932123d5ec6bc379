//! Reading a report.

use std::collections::BTreeMap;
use std::str::FromStr;

use app::liquor::report::{Draft, Shelf};
use app::{App, AppError, Edited, LibraryKind, WaterPlace};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::extract::multipart::{Field, Multipart};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use batch::liquor::report::{ReadReport, read};
use store::{Day, DocumentId};
use water::report::Answers;

use crate::acting::Acting;
use crate::error::PageError;
use crate::views;
use crate::views::library::home;
use crate::views::liquor::report::{Fault, Sheet, Typed};

/// The longest report that is read.
const MOST_BYTES: usize = 1 << 20;

/// The pages.
pub fn routes() -> Router<App> {
    Router::new().route(
        "/waters/read",
        get(show)
            .post(answer)
            // A report comes twice: in its field, and as a file.
            .layer(DefaultBodyLimit::max(3 * MOST_BYTES)),
    )
}

/// The empty form.
async fn show(Acting(app): Acting) -> Result<Response, PageError> {
    page(&app, &Form::default()).await
}

/// Reads what was pasted, and keeps or uses it where that is asked for.
async fn answer(Acting(app): Acting, body: Multipart) -> Result<Response, PageError> {
    let mut form = Form::of(body).await?;
    if form.faults.is_empty() {
        match form.typed.get("do").map(String::as_str) {
            Some("keep") => {
                if let Some(water) = keep(&app, &mut form).await? {
                    return Ok(Redirect::to(&water).into_response());
                }
            }
            Some("use") => {
                if let Some(batch) = use_in(&app, &mut form).await? {
                    return Ok(Redirect::to(&batch).into_response());
                }
            }
            Some("forget") => form.typed.retain(|key, _| !key.starts_with("answer.")),
            _ => {}
        }
    }
    page(&app, &form).await
}

/// What was sent, and what is wrong with it.
#[derive(Default)]
struct Form {
    typed: Typed,
    faults: Vec<Fault>,
}

impl Form {
    async fn of(mut body: Multipart) -> Result<Self, PageError> {
        let mut form = Self::default();
        let whole = |_| {
            PageError::new(
                StatusCode::BAD_REQUEST,
                "The form did not arrive whole",
                "Go back and send it again; a report has at most 1 MB.",
            )
        };
        while let Some(field) = body.next_field().await.map_err(whole)? {
            let name = field.name().unwrap_or_default().to_owned();
            let bytes = bytes(field).await.map_err(whole)?;
            if name != "file" {
                let text = String::from_utf8_lossy(&bytes).replace("\r\n", "\n");
                form.typed.insert(name, text);
            } else if !bytes.is_empty() {
                match text_of(&bytes) {
                    Ok(text) => {
                        form.typed.insert("text".to_owned(), text);
                    }
                    Err(why) => form.fault("file", why),
                }
            }
        }
        let text = form.text();
        if text.len() > MOST_BYTES {
            form.fault(
                "text",
                "this is more than 1 MB; paste the pages with the figures",
            );
        } else if text.trim().is_empty() && form.faults.is_empty() {
            form.fault("text", "paste the report, or choose its file");
        }
        Ok(form)
    }

    fn text(&self) -> &str {
        self.typed.get("text").map_or("", String::as_str)
    }

    fn fault(&mut self, field: impl Into<String>, message: impl Into<String>) {
        self.faults.push(Fault {
            field: field.into(),
            message: message.into(),
        });
    }

    fn given(&self, field: &str) -> &str {
        self.typed.get(field).map_or("", |text| text.trim())
    }

    fn read(&self) -> Option<ReadReport> {
        let text = self.text();
        if text.trim().is_empty() || text.len() > MOST_BYTES {
            return None;
        }
        let answers = self
            .typed
            .iter()
            .filter_map(|(key, choice)| Some((key.strip_prefix("answer.")?, choice)))
            .filter(|(_, choice)| !choice.is_empty())
            .fold(Answers::default(), |all, (id, choice)| all.with(id, choice));
        Some(read(text, &answers))
    }

    /// What the brewer wrote where a water of the report has gaps.
    fn added(&self, water: usize) -> BTreeMap<String, String> {
        let prefix = format!("fill.{water}.");
        self.typed
            .iter()
            .filter_map(|(key, value)| Some((key.strip_prefix(&prefix)?.to_owned(), value.clone())))
            .collect()
    }

    /// Faults of figures go to the fields in which they can be mended.
    fn figures_refused(&mut self, water: usize, error: AppError) -> Result<(), PageError> {
        let AppError::Faulty { faults, .. } = error else {
            return Err(error.into());
        };
        for fault in faults {
            let field = if fault.path.is_empty() {
                format!("water.{water}")
            } else {
                format!("fill.{water}.{}", fault.path)
            };
            self.fault(field, format!("{}; {}", fault.message, fault.help));
        }
        Ok(())
    }
}

async fn bytes(field: Field<'_>) -> Result<Vec<u8>, axum::extract::multipart::MultipartError> {
    field.bytes().await.map(|bytes| bytes.to_vec())
}

/// The text of a file: UTF-8, or else the western one-byte code that spreadsheets
/// still write.
fn text_of(bytes: &[u8]) -> Result<String, &'static str> {
    if bytes.len() > MOST_BYTES {
        return Err("this file is larger than 1 MB; choose one with the figures alone");
    }
    if bytes.starts_with(b"%PDF") || bytes.contains(&0) {
        return Err(
            "this file is no plain text; open it, copy its text and paste it, or save the table as CSV",
        );
    }
    let text = String::from_utf8(bytes.to_vec())
        .unwrap_or_else(|_| bytes.iter().map(|&byte| char::from(byte)).collect());
    Ok(text.trim_start_matches('\u{feff}').replace("\r\n", "\n"))
}

/// Keeps the waters that are ticked; the address of the water they went to.
async fn keep(app: &App, form: &mut Form) -> Result<Option<String>, PageError> {
    let Some(read) = form.read() else {
        return Ok(None);
    };
    let mut drafts: Vec<Draft> = Vec::new();
    for (n, water) in read.waters.iter().enumerate() {
        if form.given(&format!("keep.{n}")).is_empty() {
            continue;
        }
        let field = format!("day.{n}");
        let Ok(day) = Day::from_str(form.given(&field)) else {
            form.fault(field, "write the day of the sample as 2026-03-14");
            continue;
        };
        if drafts.iter().any(|d| d.day == day) {
            form.fault(
                field,
                "two of these have the same day; untick one, or change its day",
            );
            continue;
        }
        let text = app.report_text(water, &form.added(n))?;
        match app.usable_report(&text) {
            Ok(()) => drafts.push(Draft { day, text }),
            Err(error) => form.figures_refused(n, error)?,
        }
    }
    if drafts.is_empty() && form.faults.is_empty() {
        form.fault("keep", "tick at least one of the waters that were read");
    }
    let place = read.waters.first().and_then(|w| w.analysis.place.clone());
    let shelf = match DocumentId::from_str(form.given("into")) {
        Ok(id) => Shelf::Beside(id),
        Err(_) => Shelf::New {
            name: form.given("name").to_owned(),
            place,
        },
    };
    if matches!(&shelf, Shelf::New { name, .. } if name.is_empty()) {
        form.fault(
            "name",
            "give the water a name, such as the street of the tap",
        );
    }
    if !form.faults.is_empty() {
        return Ok(None);
    }
    match app.keep_report(&shelf, &drafts).await {
        Ok(water) => Ok(Some(home(&water))),
        Err(AppError::Store(why @ store::StoreError::Impossible { .. })) => {
            form.fault("name", why.to_string());
            Ok(None)
        }
        Err(other) => Err(other.into()),
    }
}

/// Puts one water into a batch; the address of its water bench.
async fn use_in(app: &App, form: &mut Form) -> Result<Option<String>, PageError> {
    let Some(read) = form.read() else {
        return Ok(None);
    };
    let Ok(batch) = DocumentId::from_str(form.given("batch")) else {
        form.fault("batch", "choose a batch");
        return Ok(None);
    };
    let number = form.given("which").parse().unwrap_or(0);
    let Some(water) = read.waters.get(number) else {
        form.fault("which", "choose one of the waters that were read");
        return Ok(None);
    };
    let name = match form.given("name") {
        "" => water.reported.water.name.clone(),
        name => name.to_owned(),
    };
    let text = app.report_text(water, &form.added(number))?;
    let place = match form.given("beside") {
        "" => WaterPlace::InsteadOf(1),
        _ => WaterPlace::ByName,
    };
    match app.use_report(batch, &name, &text, place).await {
        Ok(Edited::Saved { .. }) => Ok(Some(format!("/batch/{batch}?bench=water"))),
        Ok(Edited::Refused { faults, .. }) => {
            for fault in faults {
                form.fault("batch", fault.to_string());
            }
            Ok(None)
        }
        Err(error @ AppError::Faulty { .. }) => {
            form.figures_refused(number, error)?;
            Ok(None)
        }
        Err(other) => Err(other.into()),
    }
}

async fn page(app: &App, form: &Form) -> Result<Response, PageError> {
    let read = form.read();
    let waters = app.library(LibraryKind::Water, "", 0).await?.rows;
    let batches = app.batches("", 0).await?.rows;
    let sheet = Sheet {
        typed: &form.typed,
        faults: &form.faults,
        read: read.as_ref(),
        waters: &waters,
        batches: &batches,
    };
    let status = if form.faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, views::liquor::report::page(&sheet)).into_response())
}

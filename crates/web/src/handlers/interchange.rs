//! Recipes from and to other programs, and everything as one archive.

use app::App;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, Path};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use interchange::MAX_BYTES;

use super::document_id;
use super::files::{bytes_file, file};
use crate::acting::Acting;
use crate::error::PageError;
use crate::views::interchange::{self as views, Refused};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route(
            "/recipes",
            get(show)
                .post(answer)
                // A file comes twice: in its field, and as a file.
                .layer(DefaultBodyLimit::max(3 * MAX_BYTES)),
        )
        .route("/batch/{id}/recipe", get(recipe))
        .route("/batch/{id}/recipe.json", get(download))
        .route("/everything.tar", get(everything))
}

/// The empty form.
async fn show() -> Response {
    views::page("", None, None).into_response()
}

/// Says what a file comes to, or keeps it.
async fn answer(Acting(app): Acting, body: Multipart) -> Result<Response, PageError> {
    let (text, keep) = match sent(body).await? {
        Ok(sent) => sent,
        Err((text, refused)) => return Ok(again(&text, &refused)),
    };
    match interchange::read(&text) {
        Err(error) => Ok(again(&text, &Refused::of(error))),
        Ok(read) if !keep => Ok(views::page(&text, Some(&read), None).into_response()),
        Ok(_) => {
            let taken = app.take_in(&text).await?;
            let home = match taken.kept.as_slice() {
                [(id, made)] => views::home(made, *id),
                _ => "/".to_owned(),
            };
            Ok(Redirect::to(&home).into_response())
        }
    }
}

fn again(text: &str, refused: &Refused) -> Response {
    let page = views::page(text, None, Some(refused));
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

type Sent = Result<(String, bool), (String, Refused)>;

/// The text of a form, from its field or its file, and whether it is to be kept.
async fn sent(mut body: Multipart) -> Result<Sent, PageError> {
    let whole = |_| {
        PageError::new(
            StatusCode::BAD_REQUEST,
            "The form did not arrive whole",
            "Go back and send it again; a file of recipes has at most 1 MB.",
        )
    };
    let (mut pasted, mut uploaded, mut keep) = (String::new(), None, false);
    while let Some(field) = body.next_field().await.map_err(whole)? {
        let name = field.name().unwrap_or_default().to_owned();
        let bytes = field.bytes().await.map_err(whole)?;
        match name.as_str() {
            "text" => pasted = String::from_utf8_lossy(&bytes).into_owned(),
            "file" if !bytes.is_empty() => uploaded = Some(bytes),
            "do" => keep = bytes.as_ref() == b"keep",
            _ => {}
        }
    }
    let text = match uploaded.map(|bytes| String::from_utf8(bytes.to_vec())) {
        Some(Ok(text)) => text,
        Some(Err(_)) => {
            let why = "this file is no text in UTF-8; choose a file that ends in .json";
            return Ok(Err((pasted, Refused::plain(why))));
        }
        None => pasted,
    };
    if text.trim().is_empty() {
        return Ok(Err((
            text,
            Refused::plain("choose a file, or paste what is in it"),
        )));
    }
    Ok(Ok((text, keep)))
}

/// What of a batch does not map, and the file.
async fn recipe(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let open = app.batch(id).await?;
    let written = app.write_recipe(id).await?;
    Ok(views::recipe(&open, &written).into_response())
}

/// The file.
async fn download(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let written = app.write_recipe(document_id(&id)?).await?;
    Ok(file("application/json", "recipe.json", written.text))
}

/// Everything that is kept, in one archive.
async fn everything(Acting(app): Acting) -> Result<Response, PageError> {
    let archive = app.everything().await?;
    Ok(bytes_file("application/x-tar", "gylewright.tar", archive))
}

//! What a reader prefers.

use axum::Form;
use axum::http::HeaderMap;
use axum::http::header::{REFERER, SET_COOKIE};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;

use crate::settings::UNITS_COOKIE;

/// The units chosen, and the page to go back to.
#[derive(Debug, Deserialize)]
pub struct Choice {
    units: String,
    back: Option<String>,
}

/// Remembers the units for a year.
pub async fn units(headers: HeaderMap, Form(choice): Form<Choice>) -> Response {
    let units = if choice.units == "us" { "us" } else { "metric" };
    let cookie =
        format!("{UNITS_COOKIE}={units}; Path=/; Max-Age=31536000; SameSite=Lax; HttpOnly");
    let _ = headers.get(REFERER);
    // Only a path of this server: an address from outside would lead away.
    let back = choice
        .back
        .filter(|b| b.starts_with('/') && !b.starts_with("//"))
        .unwrap_or_else(|| "/".to_owned());
    ([(SET_COOKIE, cookie)], Redirect::to(&back)).into_response()
}

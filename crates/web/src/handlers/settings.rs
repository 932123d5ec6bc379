//! What a reader prefers.

use axum::Form;
use axum::http::header::SET_COOKIE;
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
pub async fn units(Form(choice): Form<Choice>) -> Response {
    let units = if choice.units == "us" { "us" } else { "metric" };
    let cookie =
        format!("{UNITS_COOKIE}={units}; Path=/; Max-Age=31536000; SameSite=Lax; HttpOnly");
    let back = choice
        .back
        .filter(|back| is_path(back))
        .unwrap_or_else(|| "/".to_owned());
    ([(SET_COOKIE, cookie)], Redirect::to(&back)).into_response()
}

/// Only a path of this server: an address from outside would lead away. Browsers take a
/// backslash for a slash, and leave out tabs and line ends.
pub fn is_path(back: &str) -> bool {
    let plain = back.chars().all(|c| c.is_ascii_graphic() && c != '\\');
    plain && back.starts_with('/') && !back.starts_with("//")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_led_away() {
        for fine in ["/", "/batch/1?bench=mash#top", "/waters?find=%C3%BC"] {
            assert!(is_path(fine), "{fine}");
        }
        for away in [
            "",
            "//other.example",
            "/\\other.example",
            "/\t/other.example",
            "\\\\other.example",
            "https://other.example/",
            "javascript:alert(1)",
            "/\r\nset-cookie: a=b",
        ] {
            assert!(!is_path(away), "{away:?}");
        }
    }
}

//! What a reader prefers, kept in a cookie.

use std::convert::Infallible;

use axum::extract::FromRequestParts;
use axum::http::header::COOKIE;
use axum::http::request::Parts;
use quantity::Units;

/// The name of the cookie with the units.
pub const UNITS_COOKIE: &str = "gyle_units";

/// A reader's preferences.
#[derive(Debug, Clone, Copy, Default)]
pub struct Settings {
    /// Units of figures.
    pub units: Units,
}

impl<S: Send + Sync> FromRequestParts<S> for Settings {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, Infallible> {
        let us = parts
            .headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|v| v.to_str().ok())
            .flat_map(|v| v.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(name, value)| name == UNITS_COOKIE && value == "us");
        Ok(Self {
            units: if us { Units::Us } else { Units::Metric },
        })
    }
}

//! Who a request acts as.

use std::convert::Infallible;

use app::App;
use axum::extract::FromRequestParts;
use axum::http::Extensions;
use axum::http::request::Parts;

/// The application as whoever asks may use it: that of the whole server where there are no
/// accounts, else the one that the gate of a shared server laid with the request.
///
/// On a shared server the state of the router is an application that sees nothing, so a
/// request that came by another way than through the gate finds nothing.
pub struct Acting(pub App);

/// What the gate lays with a request.
#[derive(Clone)]
pub struct Scoped(pub App);

impl Acting {
    pub fn of(extensions: &Extensions, state: &App) -> Self {
        let scoped = extensions.get::<Scoped>().map(|Scoped(app)| app.clone());
        Self(scoped.unwrap_or_else(|| state.clone()))
    }
}

impl FromRequestParts<App> for Acting {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Infallible> {
        Ok(Self::of(&parts.extensions, app))
    }
}

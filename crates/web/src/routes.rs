//! All routes, and the layers that every request passes.

use std::time::Duration;

use app::{App, AppError};
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use axum::{Extension, Router};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::timeout::TimeoutLayer;

use crate::guard::{Hosts, guard, unguarded};
use crate::people::{Shared, Sharing};
use crate::phones::Phones;
use crate::{api, assets, handlers, people, telemetry};

/// The largest request: a document and its form encoding fit well.
const MAX_REQUEST_BYTES: usize = 4 << 20;
/// Longer than any request should take.
const TIMEOUT: Duration = Duration::from_secs(30);

/// Everything that is answered.
pub fn router(app: App, hosts: Hosts) -> Router {
    with_phones(app, hosts, Phones::default())
}

/// The same, beside a door for phones.
pub(crate) fn with_phones(app: App, hosts: Hosts, phones: Phones) -> Router {
    let all = everything().layer(Extension(phones));
    limited(all)
        .layer(from_fn_with_state(hosts, guard))
        .layer(from_fn(telemetry::count))
        .with_state(app)
}

/// The same for people with accounts: nothing is answered before it is known who asks.
///
/// # Errors
/// Where somebody acts in the application already.
pub fn shared_router(app: &App, hosts: Hosts, sharing: Sharing) -> Result<Router, AppError> {
    let shared = Shared::over(app, sharing)?;
    let all = everything()
        .merge(people::routes())
        .layer(Extension(Phones::default()))
        .layer(from_fn_with_state(shared.clone(), people::gate))
        .layer(Extension(shared));
    let router = limited(all)
        .layer(from_fn_with_state(hosts, guard))
        .layer(from_fn(telemetry::count))
        // Whatever does not come through the gate finds nothing.
        .with_state(app.seen_by_nobody());
    Ok(router)
}

/// All pages and the API.
fn everything() -> Router<App> {
    Router::new()
        .route("/", get(handlers::welcome::show))
        .route("/begin", post(handlers::welcome::begin))
        .route("/demo/{name}", post(handlers::welcome::demo))
        .route("/import", post(handlers::welcome::import))
        .route("/units", post(handlers::settings::units))
        .route("/batch/{id}", get(handlers::batch::show))
        .route("/batch/{id}/edit", post(handlers::batch::edit))
        .route("/batch/{id}/sheet", get(handlers::batch::sheet))
        .route(
            "/batch/{id}/text",
            get(handlers::batch::text).post(handlers::batch::save_text),
        )
        .route("/batch/{id}/document.toml", get(handlers::batch::download))
        .route("/batch/{id}/chart/{name}", get(handlers::batch::chart))
        .route("/batch/{id}/history", get(handlers::history::show))
        .route(
            "/batch/{id}/history/{revision}",
            get(handlers::history::revision),
        )
        .route("/batch/{id}/undo", post(handlers::history::undo))
        .route(
            "/batch/{id}/bring-back",
            post(handlers::history::bring_back),
        )
        .route("/batch/{id}/take-water", post(handlers::take::water))
        .route(
            "/batch/{id}/take-brewhouse",
            post(handlers::take::brewhouse),
        )
        .merge(library())
        .merge(handlers::liquor::routes())
        .merge(handlers::brew_day::routes())
        .merge(handlers::course::routes())
        .merge(handlers::inquiry::routes())
        .merge(handlers::interchange::routes())
        .merge(handlers::jobs::routes())
        .merge(handlers::measure::routes())
        .merge(handlers::pitch::routes())
        .merge(handlers::devices::routes())
        .merge(handlers::log::routes())
        .merge(handlers::instruments::routes())
        .merge(handlers::certainty::routes())
        .merge(handlers::learning::routes())
        .merge(handlers::comparing::routes())
        .merge(handlers::steer::routes())
        .merge(handlers::study::routes())
        .merge(handlers::matching::routes())
        .merge(handlers::cleaning::routes())
        .merge(handlers::report::routes())
        .merge(handlers::tasting::routes())
        .route("/assets/{name}", get(assets::serve))
        .merge(telemetry::routes())
        .merge(api::routes())
        .fallback(handlers::not_found)
}

/// What a device on the local network may ask for: to be rid of its readings. Whoever
/// has no token gets no further, so the name under which it asks does not matter.
pub(crate) fn of_readings(app: App) -> Router {
    limited(api::device_routes())
        .layer(from_fn(unguarded))
        .with_state(app)
}

/// The layers that bound what a request may take, on every door.
pub(crate) fn limited(router: Router<App>) -> Router<App> {
    router
        .layer(CatchPanicLayer::custom(handlers::defect))
        .layer(TimeoutLayer::with_status_code(
            axum::http::StatusCode::REQUEST_TIMEOUT,
            TIMEOUT,
        ))
        .layer(DefaultBodyLimit::max(MAX_REQUEST_BYTES))
}

/// Waters, brewhouses and stores: the same pages under each address.
fn library() -> Router<App> {
    use handlers::library as l;
    ["/waters", "/brewhouses", "/stores"]
        .into_iter()
        .fold(Router::new(), |router, shelf| {
            let at = |rest: &str| format!("{shelf}/{{id}}{rest}");
            router
                .route(shelf, get(l::list).post(l::begin))
                .route(&format!("{shelf}/demo"), post(l::demo))
                .route(&at(""), get(l::show))
                .route(&at("/edit"), post(l::edit))
                .route(&at("/text"), get(l::text).post(l::save_text))
                .route(&at("/document.toml"), get(l::download))
                .route(&at("/history"), get(l::history))
                .route(&at("/history/{revision}"), get(l::revision))
                .route(&at("/bring-back"), post(l::bring_back))
        })
        .route("/malts", get(l::malts))
        .route("/hops", get(l::hops))
        .route("/waters/{id}/analysis", post(handlers::waters::add))
        .route("/waters/{id}/chart/{name}", get(handlers::waters::chart))
}

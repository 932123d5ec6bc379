//! The HTTP API. Answers are JSON under the schemas of the OpenAPI document, and
//! every error is a problem (RFC 9457).
//!
//! A route stands on its handler, where its description stands too, so that no
//! route can be missing from the document. The bodies are forms of their own:
//! what a caller sees does not change with the types behind it.

mod asked;
mod batches;
mod boil;
mod brew_day;
mod certainty;
mod cleaning;
mod comparing;
mod convert;
mod course;
mod description;
mod extract;
mod failure;
mod forms;
mod history;
mod inquiry;
mod interchange;
mod jobs;
mod learning;
mod liquor;
mod mash;
mod matching;
mod measure;
mod model;
mod pitch;
mod readings;
mod steer;
mod study;
mod tables;
mod tasting;

use app::App;
use axum::Router;
use axum::middleware::from_fn;
use axum::routing::any;
use tower_http::catch_panic::CatchPanicLayer;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

pub use description::openapi;

/// Where everything here lives.
const PREFIX: &str = "/api";

/// The routes of the API.
pub fn routes() -> Router<App> {
    let (described, _) = described().split_for_parts();
    let answered = described
        .fallback(failure::no_such_route)
        .method_not_allowed_fallback(failure::wrong_method)
        .layer(from_fn(failure::in_time))
        .layer(CatchPanicLayer::custom(failure::defect));
    // A nested router does not see its own prefix with a slash behind it.
    let bare = any(failure::no_such_route);
    Router::new()
        .nest(PREFIX, answered)
        .route(&format!("{PREFIX}/"), bare)
}

/// The one route that devices use, for a door of their own.
pub fn device_routes() -> Router<App> {
    let sent = axum::routing::post(readings::sent);
    Router::new()
        .route(&format!("{PREFIX}/readings"), sent)
        .fallback(failure::no_such_route)
        .method_not_allowed_fallback(failure::wrong_method)
}

fn described() -> OpenApiRouter<App> {
    OpenApiRouter::with_openapi(description::about())
        .routes(routes!(description::document))
        .routes(routes!(model::schema))
        .routes(routes!(model::reckon))
        .routes(routes!(model::check))
        .routes(routes!(model::demos))
        .routes(routes!(model::demo))
        .routes(routes!(batches::list, batches::create))
        .routes(routes!(batches::read, batches::replace))
        .routes(routes!(batches::reckoning))
        .routes(routes!(batches::edit))
        .routes(routes!(history::list))
        .routes(routes!(history::revision))
        .routes(routes!(history::kept))
        .routes(routes!(history::bring_back))
        .merge(inquiry::routes())
        .merge(interchange::routes())
        .merge(liquor::routes())
        .merge(mash::routes())
        .merge(tables::routes())
        .merge(boil::routes())
        .merge(readings::routes())
        .merge(course::routes())
        .merge(measure::routes())
        .merge(pitch::routes())
        .merge(certainty::routes())
        .merge(learning::routes())
        .merge(comparing::routes())
        .merge(steer::routes())
        .merge(matching::routes())
        .merge(jobs::routes())
        .merge(study::routes())
        .merge(brew_day::routes())
        .merge(tasting::routes())
        .merge(cleaning::routes())
        .merge(crate::people::api_routes())
}

//! How the server fares: whether it lives, what it was asked, how long that took.
//!
//! Nothing here says who asked or for what: a route stands as its template, and no name,
//! identifier, text, token or query goes into a line or a count.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::{LazyLock, Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::Router;
use axum::extract::{MatchedPath, Request};
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use app::App;

use crate::acting::Acting;

/// Upper ends of the classes of durations \[s\].
const CLASSES_S: [f64; 11] = [
    0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0,
];

/// What is counted of one route, method and status.
#[derive(Debug, Default, Clone)]
struct Meter {
    classes: [u64; CLASSES_S.len()],
    count: u64,
    sum: Duration,
}

type Key = (String, &'static str, u16);

/// The counts of this process; they begin anew with it.
static METERS: LazyLock<Mutex<BTreeMap<Key, Meter>>> = LazyLock::new(Mutex::default);

/// Whether it lives and whether the store answers.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/health", get(health))
        .route("/ready", get(ready))
}

/// The door for whoever watches over the server.
pub fn of_metrics(app: App) -> Router {
    routes().route("/metrics", get(metrics)).with_state(app)
}

async fn health() -> &'static str {
    "alive\n"
}

async fn ready(Acting(app): Acting) -> Response {
    match app.answers().await {
        Ok(()) => "ready\n".into_response(),
        Err(error) => {
            tracing::error!(%error, "not ready");
            (
                StatusCode::SERVICE_UNAVAILABLE,
                "the store does not answer\n",
            )
                .into_response()
        }
    }
}

async fn metrics() -> Response {
    let kind = HeaderValue::from_static("text/plain; version=0.0.4; charset=utf-8");
    ([(CONTENT_TYPE, kind)], text()).into_response()
}

/// Counts a request and writes its line.
pub async fn count(request: Request, next: Next) -> Response {
    let begun = Instant::now();
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or_else(|| "none".to_owned(), |path| path.as_str().to_owned());
    let method = known(request.method());
    let number = request_number();
    let mut response = next.run(request).await;
    let took = begun.elapsed();
    let status = response.status().as_u16();
    tracing::info!(
        method,
        route,
        status,
        ms = took.as_secs_f64() * 1000.0,
        request = number,
        "answered"
    );
    if let Ok(value) = HeaderValue::from_str(&number) {
        let name = HeaderName::from_static("x-request-id");
        response.headers_mut().insert(name, value);
    }
    note((route, method, status), took);
    response
}

/// A number by which a line and an answer are found to belong together. Not a secret.
fn request_number() -> String {
    let mut bytes = [0u8; 8];
    // Without chance all are zero, and only finding is harder.
    let _ = getrandom::fill(&mut bytes);
    format!("{:016x}", u64::from_be_bytes(bytes))
}

/// A client may invent methods without end.
fn known(method: &Method) -> &'static str {
    match *method {
        Method::GET => "GET",
        Method::HEAD => "HEAD",
        Method::POST => "POST",
        Method::PUT => "PUT",
        Method::PATCH => "PATCH",
        Method::DELETE => "DELETE",
        Method::OPTIONS => "OPTIONS",
        _ => "OTHER",
    }
}

fn note(key: Key, took: Duration) {
    let mut meters = METERS.lock().unwrap_or_else(PoisonError::into_inner);
    let meter = meters.entry(key).or_default();
    meter.count += 1;
    meter.sum += took;
    let seconds = took.as_secs_f64();
    for (class, end) in meter.classes.iter_mut().zip(CLASSES_S) {
        *class += u64::from(seconds <= end);
    }
}

/// The counts in the text form of Prometheus, version 0.0.4.
fn text() -> String {
    let meters = METERS
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .clone();
    let mut out = String::from(
        "# HELP gyle_http_request_duration_seconds How long requests took.\n\
         # TYPE gyle_http_request_duration_seconds histogram\n",
    );
    for ((route, method, status), meter) in &meters {
        let labels = format!(
            "method=\"{method}\",route=\"{}\",status=\"{status}\"",
            label(route)
        );
        let name = "gyle_http_request_duration_seconds";
        for (class, end) in meter.classes.iter().zip(CLASSES_S) {
            let _ = writeln!(out, "{name}_bucket{{{labels},le=\"{end}\"}} {class}");
        }
        let _ = writeln!(out, "{name}_bucket{{{labels},le=\"+Inf\"}} {}", meter.count);
        let _ = writeln!(out, "{name}_sum{{{labels}}} {}", meter.sum.as_secs_f64());
        let _ = writeln!(out, "{name}_count{{{labels}}} {}", meter.count);
    }
    out
}

/// A route as the value of a label.
fn label(route: &str) -> String {
    route.replace('\\', "\\\\").replace('"', "\\\"")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_classes_of_a_route_add_up() {
        let key = || ("/of/{this}/test".to_owned(), "GET", 200);
        for ms in [3, 7, 700, 20_000] {
            note(key(), Duration::from_millis(ms));
        }
        let text = text();
        let line = |end: &str| {
            let start = "gyle_http_request_duration_seconds_bucket{method=\"GET\",route=\"/of/{this}/test\",status=\"200\",le=";
            let all = text
                .lines()
                .find(|l| l.starts_with(&format!("{start}\"{end}\"")));
            all.unwrap().rsplit(' ').next().unwrap().to_owned()
        };
        assert_eq!(
            ["0.005", "0.01", "0.5", "1", "10", "+Inf"].map(line),
            ["1", "2", "2", "3", "3", "4"]
        );
        assert!(
            text.contains("_sum{method=\"GET\",route=\"/of/{this}/test\",status=\"200\"} 20.71\n"),
            "{text}"
        );
    }
}

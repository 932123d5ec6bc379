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
use app::people::Counts;

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

async fn metrics(Acting(app): Acting) -> Response {
    let kind = HeaderValue::from_static("text/plain; version=0.0.4; charset=utf-8");
    // What this process counted is told whether the store answers or not.
    let counts = match app.counts().await {
        Ok(counts) => Some(counts),
        Err(error) => {
            tracing::error!(%error, "what is in the store is not counted");
            None
        }
    };
    let all = text() + &of_store(counts.as_ref());
    ([(CONTENT_TYPE, kind)], all).into_response()
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

/// What the store counts, the same from every process over it; without an answer only that
/// there is none.
fn of_store(counts: Option<&Counts>) -> String {
    let mut out = format!(
        "# HELP gyle_store_up Whether the store answers.\n\
         # TYPE gyle_store_up gauge\n\
         gyle_store_up {}\n",
        u8::from(counts.is_some())
    );
    let Some(counts) = counts else { return out };
    out.push_str(
        "# HELP gyle_jobs Jobs in the store, by state.\n\
         # TYPE gyle_jobs gauge\n",
    );
    for (state, count) in &counts.jobs {
        let _ = writeln!(out, "gyle_jobs{{state=\"{state}\"}} {count}");
    }
    let _ = write!(
        out,
        "# HELP gyle_sessions_open Sessions that are signed in.\n\
         # TYPE gyle_sessions_open gauge\n\
         gyle_sessions_open {}\n",
        counts.sessions
    );
    out
}

/// A route as the value of a label.
fn label(route: &str) -> String {
    route.replace('\\', "\\\\").replace('"', "\\\"")
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::{Body, to_bytes};
    use batch::certainty::Question;
    use batch::job::Work;
    use tower::ServiceExt;

    async fn asked(app: &App) -> String {
        let request = Request::builder().uri("/metrics");
        let request = request.body(Body::empty()).unwrap();
        let answer = of_metrics(app.clone()).oneshot(request).await.unwrap();
        let body = to_bytes(answer.into_body(), 1 << 20).await.unwrap();
        String::from_utf8(body.to_vec()).unwrap()
    }

    #[tokio::test]
    async fn jobs_and_sessions_are_counted_and_a_store_that_is_gone_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("store.db").as_path()).await;
        let app = app.unwrap().without_worker();
        let has = |text: &str, line: &str| text.lines().any(|l| l == line);
        let text = asked(&app).await;
        for line in [
            "gyle_store_up 1",
            "gyle_jobs{state=\"waiting\"} 0",
            "gyle_sessions_open 0",
        ] {
            assert!(has(&text, line), "{line}: {text}");
        }
        let work = Work::Certainty {
            text: String::new(),
            question: Question::default(),
        };
        let job = app.ask(&work, None).await.unwrap();
        let door = app.door().unwrap();
        let (_, invitation) = door.begin("Weir club").await.unwrap();
        let password = "ladle copper tide eleven";
        let entered = door.enter(&invitation, "zenobia", "", password).await;
        assert!(entered.is_ok(), "{entered:?}");
        let text = asked(&app).await;
        for line in ["gyle_jobs{state=\"waiting\"} 1", "gyle_sessions_open 1"] {
            assert!(has(&text, line), "{line}: {text}");
        }
        for hidden in ["zenobia", "Weir", &job.id.to_string()] {
            assert!(!text.contains(hidden), "{text}");
        }
        app.cancel_job(job.id).await.unwrap();
        let text = asked(&app).await;
        assert!(has(&text, "gyle_jobs{state=\"cancelled\"} 1"), "{text}");
        app.store().close().await;
        let text = asked(&app).await;
        assert!(has(&text, "gyle_store_up 0"), "{text}");
        assert!(!text.contains("gyle_jobs"), "{text}");
    }

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

//! What every request passes before a handler sees it.
//!
//! The server listens on loopback, but a page on the open web can still make a
//! browser talk to it. Two checks stop that: the `Host` must be one that this
//! server answers to (a name of somebody else's that resolves to 127.0.0.1 is
//! refused), and a request that changes something must come from a page of this
//! server (`Origin`, or `Sec-Fetch-Site` where a browser sends it).

use std::net::SocketAddr;
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HOST, ORIGIN, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS,
    X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::problem::ProblemDetails;

/// Nothing but this server's own files, and no script or style in the page.
const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'";

/// The names that this server answers to.
#[derive(Debug, Clone)]
pub struct Hosts {
    names: Arc<Vec<String>>,
}

impl Hosts {
    /// Loopback names, and those that were allowed when the server was started.
    #[must_use]
    pub fn new(extra: &[String]) -> Self {
        let mut names: Vec<String> = ["localhost", "127.0.0.1", "[::1]"]
            .map(str::to_owned)
            .to_vec();
        names.extend(extra.iter().map(|n| n.to_lowercase()));
        Self {
            names: Arc::new(names),
        }
    }

    /// The name of one address, and no other.
    pub(crate) fn of_address(at: SocketAddr) -> Self {
        let name = match at {
            SocketAddr::V4(v4) => v4.ip().to_string(),
            SocketAddr::V6(v6) => format!("[{}]", v6.ip()),
        };
        Self {
            names: Arc::new(vec![name]),
        }
    }

    fn answers_to(&self, host: &str) -> bool {
        let name = name_of(host).to_lowercase();
        self.names.contains(&name)
    }
}

/// Checks a request and puts the safety headers on its response.
pub async fn guard(State(hosts): State<Hosts>, request: Request, next: Next) -> Response {
    let mut response = match refusal(&hosts, &request) {
        Some(problem) => problem.into_response(),
        None => next.run(request).await,
    };
    make_safe(response.headers_mut());
    response
}

/// Puts the safety headers on the response to a request that needs no check: it shows a
/// token, and no browser does that by itself.
pub async fn unguarded(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    make_safe(response.headers_mut());
    response
}

fn make_safe(headers: &mut HeaderMap) {
    // A page that is a file to keep brings a policy of its own.
    if !headers.contains_key(CONTENT_SECURITY_POLICY) {
        put(headers, CONTENT_SECURITY_POLICY, CONTENT_POLICY);
    }
    put(headers, X_CONTENT_TYPE_OPTIONS, "nosniff");
    put(headers, X_FRAME_OPTIONS, "DENY");
    // "no-referrer" would make a browser send `Origin: null` with a form of the own page.
    put(headers, REFERRER_POLICY, "same-origin");
    for name in ["cross-origin-opener-policy", "cross-origin-resource-policy"] {
        put(headers, HeaderName::from_static(name), "same-origin");
    }
    if !headers.contains_key(CACHE_CONTROL) {
        put(headers, CACHE_CONTROL, "no-store");
    }
}

fn put(headers: &mut HeaderMap, name: HeaderName, value: &'static str) {
    headers.insert(name, HeaderValue::from_static(value));
}

fn refusal(hosts: &Hosts, request: &Request) -> Option<ProblemDetails> {
    let host = host_of(request.headers(), request.uri());
    let Some(host) = host.filter(|h| hosts.answers_to(h)) else {
        return Some(ProblemDetails::new(
            StatusCode::MISDIRECTED_REQUEST,
            "this server does not answer to that name",
            "open it by the address that it printed when it was started",
        ));
    };
    let changes = !matches!(
        *request.method(),
        Method::GET | Method::HEAD | Method::OPTIONS
    );
    if changes && !from_this_server(request.headers(), &host) {
        return Some(ProblemDetails::new(
            StatusCode::FORBIDDEN,
            "the request comes from another site",
            "open the page of this server and make the change there",
        ));
    }
    None
}

fn from_this_server(headers: &HeaderMap, host: &str) -> bool {
    let site = text(headers, &HeaderName::from_static("sec-fetch-site"));
    if site.is_some_and(|site| !matches!(site, "same-origin" | "none")) {
        return false;
    }
    match text(headers, &ORIGIN) {
        // A browser always says where a change comes from; a program that does
        // not is no browser, and cannot be misled by a page.
        None => true,
        Some(origin) => origin
            .split_once("://")
            .is_some_and(|(_, authority)| authority.eq_ignore_ascii_case(host)),
    }
}

fn host_of(headers: &HeaderMap, uri: &Uri) -> Option<String> {
    text(headers, &HOST)
        .map(str::to_owned)
        .or_else(|| uri.authority().map(ToString::to_string))
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|v| v.to_str().ok())
}

/// "localhost:4180" is "localhost", "\[::1\]:80" is "\[::1\]".
fn name_of(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if port.chars().all(|c| c.is_ascii_digit()) && !name.is_empty() => name,
        _ => host,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn request(method: &str, headers: &[(&str, &str)]) -> Request {
        let mut request = Request::builder().method(method).uri("/");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        request.body(axum::body::Body::empty()).unwrap()
    }

    fn status(method: &str, headers: &[(&str, &str)]) -> Option<u16> {
        refusal(&Hosts::new(&[]), &request(method, headers)).map(|p| p.status())
    }

    #[test]
    fn only_the_own_name_is_answered() {
        assert_eq!(status("GET", &[("host", "127.0.0.1:4180")]), None);
        assert_eq!(status("GET", &[("host", "localhost")]), None);
        assert_eq!(status("GET", &[("host", "[::1]:4180")]), None);
        for other in [
            "rebound.example:4180",
            "127.0.0.1.rebound.example",
            "",
            "localhost@evil.example",
        ] {
            assert_eq!(status("GET", &[("host", other)]), Some(421), "{other}");
        }
        assert_eq!(status("GET", &[]), Some(421));
    }

    #[test]
    fn changes_come_from_the_own_page() {
        let own = ("host", "localhost:4180");
        assert_eq!(
            status("POST", &[own, ("origin", "http://localhost:4180")]),
            None
        );
        assert_eq!(
            status(
                "POST",
                &[
                    own,
                    ("sec-fetch-site", "same-origin"),
                    ("origin", "http://localhost:4180")
                ]
            ),
            None
        );
        assert_eq!(status("POST", &[own]), None);
        for origin in [
            "http://evil.example",
            "null",
            "http://localhost:9999",
            "https://evil.example/localhost:4180",
        ] {
            assert_eq!(
                status("POST", &[own, ("origin", origin)]),
                Some(403),
                "{origin}"
            );
        }
        assert_eq!(
            status("POST", &[own, ("sec-fetch-site", "cross-site")]),
            Some(403)
        );
        assert_eq!(
            status("GET", &[own, ("sec-fetch-site", "cross-site")]),
            None
        );
    }
}

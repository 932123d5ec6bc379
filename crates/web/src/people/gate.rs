//! The gate of a shared server: who shows no session and no token comes to the door.

use app::AppError;
use axum::extract::{MatchedPath, Request, State};
use axum::http::header::{ACCEPT, AUTHORIZATION, ORIGIN, RETRY_AFTER, WWW_AUTHENTICATE};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use store::SignedIn;

use super::visitor::Visitor;
use super::{Shared, cookie};
use crate::acting::Scoped;
use crate::error::PageError;
use crate::problem::ProblemDetails;

/// How somebody showed who they are.
enum Shown {
    Session(SignedIn),
    Token(SignedIn),
}

/// What is answered to whoever comes.
const OPEN: [(&str, &str); 6] = [
    ("GET", "/sign-in"),
    ("POST", "/sign-in"),
    ("GET", "/invitation/{token}"),
    ("POST", "/invitation/{token}"),
    ("GET", "/assets/{name}"),
    ("GET", "/health"),
];
/// What needs no session and yet the whole store: a device shows a token of its own there,
/// and whether the store answers is nobody's secret.
const OF_THE_SERVER: [(&str, &str); 2] = [("POST", "/api/readings"), ("GET", "/ready")];

/// Lets a request through as whoever it comes from, or sends it to the door.
pub async fn gate(State(shared): State<Shared>, mut request: Request, next: Next) -> Response {
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map(|path| path.as_str().to_owned())
        .unwrap_or_default();
    let method = match request.method() {
        // Whoever may get it may ask for its head.
        &Method::HEAD => "GET",
        other => other.as_str(),
    }
    .to_owned();
    let is = |known: &(&str, &str)| known.0 == method && known.1 == route;
    if OF_THE_SERVER.iter().any(is) {
        request.extensions_mut().insert(Scoped(shared.app.clone()));
        return next.run(request).await;
    }
    let open = OPEN.iter().any(is);
    let of_api = request.uri().path().starts_with("/api");
    let shown = match shown(&shared, request.headers(), of_api).await {
        Ok(shown) => shown,
        Err(error) => return failed(error, of_api),
    };
    let who = match shown {
        None if open => {
            if changes(&method) && !says_where_from(request.headers()) {
                return says_nothing(of_api);
            }
            return next.run(request).await;
        }
        None => return to_the_door(&request, of_api),
        Some(Shown::Session(_)) if changes(&method) && !says_where_from(request.headers()) => {
            return says_nothing(of_api);
        }
        Some(Shown::Session(who) | Shown::Token(who)) => who,
    };
    let acting = Scoped(shared.app.acting_as(&who));
    request.extensions_mut().insert(acting);
    request.extensions_mut().insert(who.clone());
    Visitor::new(who, shared.budgets.clone())
        .during(next.run(request))
        .await
}

async fn shown(
    shared: &Shared,
    headers: &HeaderMap,
    of_api: bool,
) -> Result<Option<Shown>, AppError> {
    // A token is for programs, and those use the API.
    if let Some(token) = bearer(headers) {
        if !of_api {
            return Ok(None);
        }
        return Ok(shared.door.of_token(token).await?.map(Shown::Token));
    }
    for token in cookie::tokens(headers) {
        if let Some(who) = shared.door.session(token).await? {
            return Ok(Some(Shown::Session(who)));
        }
    }
    Ok(None)
}

/// The token of a request (RFC 6750, section 2.1).
fn bearer(headers: &HeaderMap) -> Option<&str> {
    let given = headers.get(AUTHORIZATION)?.to_str().ok()?;
    let (scheme, token) = given.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}

fn changes(method: &str) -> bool {
    !matches!(method, "GET" | "HEAD" | "OPTIONS")
}

/// A browser sends the cookie by itself, so a change that comes with it must say from which
/// page it comes; that it is one of this server, the guard has seen to.
fn says_where_from(headers: &HeaderMap) -> bool {
    headers.contains_key(ORIGIN) || headers.contains_key("sec-fetch-site")
}

fn says_nothing(of_api: bool) -> Response {
    refusal(
        of_api,
        StatusCode::FORBIDDEN,
        "the request does not say which page it comes from",
        "make the change on a page of this server; a program shows a token instead of a session",
    )
}

fn to_the_door(request: &Request, of_api: bool) -> Response {
    let accepts = request.headers().get(ACCEPT);
    let for_a_person = accepts.is_none_or(|v| v.as_bytes().starts_with(b"text/html"));
    if !of_api && request.method() == Method::GET && for_a_person {
        let path = request.uri().path_and_query().map_or("/", |p| p.as_str());
        let to = match path {
            "/" => "/sign-in".to_owned(),
            path => format!("/sign-in?to={}", escaped(path)),
        };
        return Redirect::to(&to).into_response();
    }
    let mut response = refusal(
        of_api,
        StatusCode::UNAUTHORIZED,
        "sign in first",
        "open /sign-in in a browser; a program sends Authorization: Bearer and a token that was made on the page /you",
    );
    let challenge = HeaderValue::from_static("Bearer");
    response.headers_mut().insert(WWW_AUTHENTICATE, challenge);
    response
}

/// A path as a value of a query.
fn escaped(path: &str) -> String {
    let letter = |b: u8| match b {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'.' | b'_' => {
            char::from(b).to_string()
        }
        other => format!("%{other:02X}"),
    };
    path.bytes().map(letter).collect()
}

fn failed(error: AppError, of_api: bool) -> Response {
    if of_api {
        ProblemDetails::from(error).into_response()
    } else {
        PageError::from(error).into_response()
    }
}

fn refusal(of_api: bool, status: StatusCode, title: &str, detail: &str) -> Response {
    if of_api {
        ProblemDetails::new(status, title, detail).into_response()
    } else {
        PageError::new(status, capital(title), detail).into_response()
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Says after how long it is worth another try.
pub fn retry_after(mut response: Response, wait_s: u64) -> Response {
    response
        .headers_mut()
        .insert(RETRY_AFTER, HeaderValue::from(wait_s));
    response
}

//! What a request holds, read strictly: whatever cannot be read is a problem
//! that says what would work.

use std::str::FromStr;

use app::App;
use axum::Json;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::header::{CONTENT_TYPE, IF_MATCH};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName, StatusCode};
use serde::de::DeserializeOwned;
use store::{DocumentId, Kind, RevisionNumber, SideId, StoreError};

use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// A batch document, sent as TOML or as plain text.
pub struct Toml(pub String);

/// A body of JSON.
pub struct JsonBody<T>(pub T);

/// The query of the address.
pub struct QueryOf<T>(pub T);

/// The batch that the address names.
pub struct BatchAt(pub DocumentId);

/// The batch and the revision that the address names.
pub struct RevisionAt(pub DocumentId, pub RevisionNumber);

/// The batch and the kept version that the address names.
pub struct KeptAt(pub DocumentId, pub SideId);

/// A single name in the address.
pub struct NameAt(pub String);

/// The revision that a change was made on.
pub struct IfMatch(pub RevisionNumber);

impl<S: Send + Sync> FromRequest<S> for Toml {
    type Rejection = ProblemDetails;

    async fn from_request(request: Request, state: &S) -> Result<Self, ProblemDetails> {
        if !is_plain_text(request.headers()) {
            return Err(ProblemDetails::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "the body is not said to be a document",
                "send the document in UTF-8 as application/toml or text/plain",
            ));
        }
        utf8(request, state).await.map(Self)
    }
}

/// The body as text.
pub(super) async fn utf8<S: Send + Sync>(
    request: Request,
    state: &S,
) -> Result<String, ProblemDetails> {
    let bytes = Bytes::from_request(request, state)
        .await
        .map_err(|e| unread(&e))?;
    String::from_utf8(bytes.into()).map_err(|e| {
        let place = e.utf8_error().valid_up_to();
        bad(format!(
            "the body is not UTF-8 from byte {place} on; send it as UTF-8"
        ))
    })
}

fn is_plain_text(headers: &HeaderMap) -> bool {
    let Some(given) = text(headers, &CONTENT_TYPE) else {
        return false;
    };
    let mut parts = given
        .split(';')
        .map(|part| part.trim().to_ascii_lowercase());
    let known = matches!(
        parts.next().as_deref(),
        Some("application/toml" | "text/plain")
    );
    known
        && parts.all(|parameter| {
            parameter
                .strip_prefix("charset=")
                .is_none_or(|set| matches!(set.trim_matches('"'), "utf-8" | "us-ascii"))
        })
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for JsonBody<T> {
    type Rejection = ProblemDetails;

    async fn from_request(request: Request, state: &S) -> Result<Self, ProblemDetails> {
        let read = Json::<T>::from_request(request, state).await;
        read.map(|Json(body)| Self(body))
            .map_err(|rejection| match rejection.status() {
                StatusCode::PAYLOAD_TOO_LARGE => too_large(),
                StatusCode::UNSUPPORTED_MEDIA_TYPE => ProblemDetails::new(
                    StatusCode::UNSUPPORTED_MEDIA_TYPE,
                    "the body is not said to be JSON",
                    "send it as application/json",
                ),
                status => {
                    ProblemDetails::new(status, "the body cannot be read", rejection.body_text())
                }
            })
    }
}

fn unread(rejection: &BytesRejection) -> ProblemDetails {
    match rejection.status() {
        StatusCode::PAYLOAD_TOO_LARGE => too_large(),
        _ => bad("the body did not arrive whole; send it again"),
    }
}

fn too_large() -> ProblemDetails {
    ProblemDetails::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        "the body is too large",
        "send a shorter one: a batch document takes a few kilobytes",
    )
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for QueryOf<T> {
    type Rejection = ProblemDetails;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ProblemDetails> {
        let read = Query::<T>::from_request_parts(parts, state).await;
        read.map(|Query(query)| Self(query))
            .map_err(|e| bad(e.body_text()))
    }
}

impl FromRequestParts<App> for BatchAt {
    type Rejection = ProblemDetails;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ProblemDetails> {
        let id: String = at(parts, app).await?;
        Ok(Self(batch(parts, app, &id).await?))
    }
}

impl FromRequestParts<App> for RevisionAt {
    type Rejection = ProblemDetails;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ProblemDetails> {
        let (id, number): (String, String) = at(parts, app).await?;
        let number = named(&number)?;
        Ok(Self(batch(parts, app, &id).await?, number))
    }
}

impl FromRequestParts<App> for KeptAt {
    type Rejection = ProblemDetails;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, ProblemDetails> {
        let (id, side): (String, String) = at(parts, app).await?;
        let side = named(&side)?;
        Ok(Self(batch(parts, app, &id).await?, side))
    }
}

/// The document of that name, if it is a batch: the store holds other kinds too.
async fn batch(parts: &Parts, state: &App, name: &str) -> Result<DocumentId, ProblemDetails> {
    let id = named(name)?;
    let Acting(app) = Acting::of(&parts.extensions, state);
    match app.store().document(id).await?.kind {
        Kind::Batch => Ok(id),
        _ => Err(StoreError::NoSuchDocument { id }.into()),
    }
}

impl<S: Send + Sync> FromRequestParts<S> for NameAt {
    type Rejection = ProblemDetails;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ProblemDetails> {
        Ok(Self(at(parts, state).await?))
    }
}

async fn at<S: Send + Sync, T: DeserializeOwned + Send>(
    parts: &mut Parts,
    state: &S,
) -> Result<T, ProblemDetails> {
    let read = Path::<T>::from_request_parts(parts, state).await;
    read.map(|Path(segments)| segments)
        .map_err(|e| bad(e.body_text()))
}

fn named<T: FromStr<Err = StoreError>>(text: &str) -> Result<T, ProblemDetails> {
    text.parse().map_err(|e: StoreError| bad(e.to_string()))
}

impl<S: Send + Sync> FromRequestParts<S> for IfMatch {
    type Rejection = ProblemDetails;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, ProblemDetails> {
        let given = text(&parts.headers, &IF_MATCH).ok_or_else(|| {
            ProblemDetails::new(
                StatusCode::PRECONDITION_REQUIRED,
                "say which revision you changed",
                "send the ETag of the batch as you read it, such as If-Match: \"3\"",
            )
        })?;
        // "*" would overwrite whatever is there, and a list leaves open which
        // revision the text was written on.
        given
            .trim()
            .strip_prefix('"')
            .and_then(|rest| rest.strip_suffix('"'))
            .and_then(|number| number.parse().ok())
            .map(Self)
            .ok_or_else(|| bad("If-Match names one revision in quotes, such as If-Match: \"3\""))
    }
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

fn bad(detail: impl Into<String>) -> ProblemDetails {
    ProblemDetails::new(
        StatusCode::BAD_REQUEST,
        "the request cannot be read",
        detail,
    )
}

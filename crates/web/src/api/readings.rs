//! Readings of a batch: sensors send SenML, anybody reads what was kept.

use app::{App, LoggedChannel};
use axum::Json;
use axum::http::header::{AUTHORIZATION, CONTENT_TYPE, WWW_AUTHENTICATE};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use batch::wire::log::Log;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::BatchAt;
use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// Deliveries and remarks in an answer.
const MOST_ARRIVALS: u32 = 1000;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(read, send))
        .routes(routes!(sent))
}

/// What the instruments of a batch said, channel by channel, and what looks odd in it.
///
/// With it stand the deliveries that brought it and the rows of them to look at.
#[utoipa::path(
    get,
    path = "/batches/{id}/readings",
    operation_id = "read_readings",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.")),
    responses(
        (status = 200, description = "The channels.", body = ref("#/components/schemas/Log")),
        (status = 404, description = "There is no such batch."),
    )
)]
pub async fn read(Acting(app): Acting, BatchAt(id): BatchAt) -> Result<Json<Log>, ProblemDetails> {
    let arrivals = app.arrivals(id, MOST_ARRIVALS).await?;
    Ok(Json(
        arrivals.beside(LoggedChannel::wire(&app.logged(id).await?)),
    ))
}

/// Keeps a SenML pack (RFC 8428) with a batch.
///
/// Each record has its fate; what is there already changes nothing, so that a sensor may
/// send again what it is not sure of.
#[utoipa::path(
    post,
    path = "/batches/{id}/readings",
    operation_id = "send_readings",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.")),
    request_body(
        description = "A pack: units Cel, K, pH, Pa, kPa; gravity by a name that ends in sg (unit /) or plato (unit %).",
        content((Vec<Object> = "application/senml+json"), (Vec<Object> = "application/json"))
    ),
    responses(
        (status = 200, description = "What became of it.", body = ref("#/components/schemas/Log")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 404, description = "There is no such batch."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be SenML."),
        (status = 422, description = "The body is no SenML pack."),
    )
)]
pub async fn send(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
    Pack(pack): Pack,
) -> Result<Json<Log>, ProblemDetails> {
    Ok(Json(app.keep_senml(id, &pack).await?.wire()))
}

/// Keeps a SenML pack (RFC 8428) of a device with the batch that it writes to.
///
/// The device shows its token. Each record has its fate; what is there already changes
/// nothing, so that a device may send again what it is not sure of.
#[utoipa::path(
    post,
    path = "/readings",
    operation_id = "send_readings_of_device",
    tag = "batches",
    params(("authorization" = Option<String>, Header, description = "Bearer and the token of the device, as gyle device add showed it.")),
    request_body(
        description = "A pack: units Cel, K, pH, Pa, hPa, kPa; gravity by a name that ends in sg (unit /) or plato (unit %).",
        content((Vec<Object> = "application/senml+json"), (Vec<Object> = "application/json"))
    ),
    responses(
        (status = 200, description = "What became of it.", body = ref("#/components/schemas/Log")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 401, description = "No device has that token."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be SenML."),
        (status = 422, description = "The body is no SenML pack."),
    )
)]
pub async fn sent(
    Acting(app): Acting,
    headers: HeaderMap,
    Pack(pack): Pack,
) -> Result<Json<Log>, Response> {
    let kept = match bearer(&headers) {
        None => None,
        Some(token) => app
            .keep_sent(token, &pack)
            .await
            .map_err(|error| ProblemDetails::from(error).into_response())?,
    };
    kept.map(|sent| Json(sent.kept.wire())).ok_or_else(unknown)
}

/// The token of a request (RFC 6750, section 2.1).
fn bearer(headers: &HeaderMap) -> Option<&str> {
    let given = headers.get(AUTHORIZATION)?.to_str().ok()?;
    let (scheme, token) = given.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}

fn unknown() -> Response {
    let problem = ProblemDetails::new(
        StatusCode::UNAUTHORIZED,
        "no device has that token",
        "send the token that was shown when the device was made as Authorization: Bearer TOKEN; a revoked or lost one is made anew",
    );
    let mut response = problem.into_response();
    let challenge = HeaderValue::from_static("Bearer");
    response.headers_mut().insert(WWW_AUTHENTICATE, challenge);
    response
}

/// The text of a SenML pack.
pub struct Pack(String);

impl<S: Send + Sync> axum::extract::FromRequest<S> for Pack {
    type Rejection = ProblemDetails;

    async fn from_request(
        request: axum::extract::Request,
        state: &S,
    ) -> Result<Self, ProblemDetails> {
        let kind = request.headers().get(CONTENT_TYPE);
        let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
        let kind = kind.split(';').next().unwrap_or_default().trim();
        if !["application/senml+json", "application/json"].contains(&kind) {
            return Err(ProblemDetails::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "the body is not said to be SenML",
                "send it as application/senml+json",
            ));
        }
        super::extract::utf8(request, state).await.map(Self)
    }
}

//! Readings of a batch: sensors send SenML, anybody reads what was kept.

use app::{App, LoggedChannel};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use batch::wire::log::Log;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::BatchAt;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(read, send))
}

/// What the instruments of a batch said, channel by channel, and what looks odd in it.
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
pub async fn read(
    State(app): State<App>,
    BatchAt(id): BatchAt,
) -> Result<Json<Log>, ProblemDetails> {
    Ok(Json(LoggedChannel::wire(&app.logged(id).await?)))
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
    State(app): State<App>,
    BatchAt(id): BatchAt,
    Pack(pack): Pack,
) -> Result<Json<Log>, ProblemDetails> {
    Ok(Json(app.keep_senml(id, &pack).await?.wire()))
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

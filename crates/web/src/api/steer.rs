//! The course of a batch that serves a wish best.

use app::{App, Outcome};
use axum::Json;
use batch::Reckoning;
use batch::log::LogReading;
use batch::steer::TypedSteer;
use batch::wire::steer::SteeredCourse;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::reckoned;
use super::extract::{BatchAt, QueryOf, Toml};
use crate::acting::Acting;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(of_kept))
        .routes(routes!(of_document))
}

/// A wish. A figure is wished in words: "at most 0.1 mg/L", "at least 2 mg/L", "least",
/// "most", or "most weight 2".
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct SteerQuery {
    /// Ready after this time at the latest.
    #[param(example = "12 d")]
    by: Option<String>,
    /// As few days as can be: "yes", or a weight.
    #[param(example = "yes")]
    soon: Option<String>,
    /// Diacetyl, there and to come.
    #[param(example = "at most 0.1 mg/L")]
    butter: Option<String>,
    /// Isoamyl acetate.
    #[param(example = "most")]
    banana: Option<String>,
    /// 4-Vinylguaiacol.
    #[param(example = "at least 0.05 mg/L")]
    clove: Option<String>,
    /// Ethyl acetate.
    #[param(example = "at most 40 mg/L")]
    esters: Option<String>,
    /// Isoamyl alcohol.
    #[param(example = "least")]
    fusel: Option<String>,
    /// Gravity at the end.
    #[param(example = "at most 1.012")]
    gravity: Option<String>,
    /// The coldest that can be had; left out, where the yeast still works.
    #[param(example = "16 °C")]
    coldest: Option<String>,
    /// The warmest that can be had.
    #[param(example = "24 °C")]
    warmest: Option<String>,
    /// The most that it may change in an hour.
    #[param(example = "0.25 K")]
    steepest: Option<String>,
    /// The least yeast, as a factor on what is at hand.
    #[param(example = "0.8")]
    yeast_least: Option<String>,
    /// The most yeast.
    #[param(example = "1.5")]
    yeast_most: Option<String>,
    /// What to hold against the days: butter, banana, clove, esters, fusel or gravity.
    #[param(example = "fusel")]
    against: Option<String>,
    /// "yes" plans the rest of a running batch from the readings that are kept with it.
    #[param(example = "yes")]
    running: Option<String>,
    /// Plan the rest of a running batch, from this long after pitching on.
    #[param(example = "3 d")]
    now: Option<String>,
    /// Its readings: time, gravity and, if read, temperature; a semicolon between them.
    #[param(example = "2 d, 1.040; 3 d, 1.030, 20 °C")]
    read: Option<String>,
}

impl From<SteerQuery> for TypedSteer {
    fn from(q: SteerQuery) -> Self {
        let given = [
            ("by", q.by),
            ("soon", q.soon),
            ("butter", q.butter),
            ("banana", q.banana),
            ("clove", q.clove),
            ("esters", q.esters),
            ("fusel", q.fusel),
            ("gravity", q.gravity),
            ("coldest", q.coldest),
            ("warmest", q.warmest),
            ("steepest", q.steepest),
            ("yeast_least", q.yeast_least),
            ("yeast_most", q.yeast_most),
            ("against", q.against),
            ("running", q.running),
            ("now", q.now),
            ("read", q.read),
        ];
        let given = given.into_iter();
        given.filter_map(|(key, text)| Some((key, text?))).collect()
    }
}

async fn answer(
    r: Reckoning,
    query: SteerQuery,
    kept: Vec<LogReading>,
) -> Result<Json<SteeredCourse>, ProblemDetails> {
    let typed = TypedSteer::from(query);
    let done = aside(move || {
        let found = r.steered(&typed, &kept);
        found.map(|found| SteeredCourse::of(&found, &r))
    });
    let found = done
        .await?
        .map_err(|faults| ProblemDetails::readings(&faults))?;
    Ok(Json(found))
}

/// Finds the temperatures, the pitch and the days of a batch that serve a wish best.
///
/// With readings, the rest of a running batch. Nothing is kept.
#[utoipa::path(
    get,
    path = "/batches/{id}/steer",
    operation_id = "steer_batch",
    tag = "batches",
    params(("id" = String, Path, description = "The batch.", format = "uuid"), SteerQuery),
    responses(
        (status = 200, description = "What was found.", body = ref("#/components/schemas/SteeredCourse")),
        (status = 400, description = "The identifier or the query cannot be read."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults, or the wish cannot be used; each fault says where and what would work."),
    )
)]
pub async fn of_kept(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
    QueryOf(query): QueryOf<SteerQuery>,
) -> Result<Json<SteeredCourse>, ProblemDetails> {
    let open = app.batch(id).await?;
    let kept = app.readings(id).await?;
    match open.outcome {
        Outcome::Reckoned(reckoning) => answer(*reckoning, query, kept).await,
        Outcome::Faulty(faults) => Err(ProblemDetails::faults(&faults, &open.text)),
    }
}

/// The same for a batch document. Nothing is kept.
#[utoipa::path(
    post,
    path = "/yeast/steer",
    operation_id = "steer_document",
    tag = "yeast",
    params(SteerQuery),
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "What was found.", body = ref("#/components/schemas/SteeredCourse")),
        (status = 400, description = "The query cannot be read, or the body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults, or the wish cannot be used; each says where and what would work."),
    )
)]
pub async fn of_document(
    QueryOf(query): QueryOf<SteerQuery>,
    Toml(text): Toml,
) -> Result<Json<SteeredCourse>, ProblemDetails> {
    answer(reckoned(&text)?, query, Vec::new()).await
}

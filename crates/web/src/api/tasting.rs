//! Tastings: the plan, the document, answers, the result.

use std::collections::BTreeMap;

use app::{App, AppError, OpenTasting};
use axum::Json;
use axum::http::StatusCode;
use axum::http::header::LOCATION;
use axum::response::IntoResponse;
use batch::tasting::{OneGlass, Plan, PlanQuestion};
use batch::wire::tasting::{TastingOneGlass, TastingPlan, TastingResult};
use glass::tasting::{ANotA, Protocol};
use serde::Deserialize;
use store::DocumentId;
use utoipa::openapi::{self, RefOr, ResponseBuilder, ResponsesBuilder};
use utoipa::{IntoResponses, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::{JsonBody, NameAt, Toml};
use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(plan))
        .routes(routes!(one_glass))
        .routes(routes!(create))
        .routes(routes!(result))
        .routes(routes!(answer))
        .routes(routes!(score))
}

/// A plan of a tasting.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanOfTasting {
    /// How it is asked: triangle, tetrad, duo-trio, paired, paired-either, 3-afc or
    /// a-not-a.
    #[schema(example = "triangle")]
    protocol: String,
    /// How many tastings.
    #[schema(example = 6)]
    tastings: u32,
    /// The difference that matters, as d'.
    #[schema(example = 1.0)]
    d_prime: f64,
    /// The risk of a false alarm; left out, 0.05.
    #[serde(default = "usual_alarm")]
    false_alarm: f64,
    /// The risk of missing the difference; left out, 0.10.
    #[serde(default = "usual_miss")]
    missed: f64,
}

/// Points of one taster.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ScoresOfTaster {
    /// Who scored.
    #[schema(example = "Ann")]
    taster: String,
    /// Each attribute with its points.
    scores: Vec<ScoreOfAttribute>,
}

/// Points of an attribute in both glasses.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ScoreOfAttribute {
    /// What was scored, as the tasting names it.
    #[schema(example = "bitterness")]
    attribute: String,
    /// The points of both glasses.
    points: Vec<PointsOfGlass>,
}

/// Points of a glass.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PointsOfGlass {
    /// Its code.
    #[schema(example = 417)]
    code: u16,
    /// From 0, none, to 10, very strong.
    #[schema(example = 6.5)]
    points: f64,
}

const fn usual_alarm() -> f64 {
    0.05
}

const fn usual_miss() -> f64 {
    0.10
}

/// An answer to one tasting.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AnswerToTasting {
    /// Which tasting, from 1.
    #[schema(example = 3)]
    tasting: u32,
    /// The code of the glass that was named; two for a tetrad.
    #[schema(example = "417")]
    glass: String,
}

/// Says before pouring what a number of tastings can show.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/tastings/plan",
    operation_id = "plan_tasting",
    tag = "tastings",
    request_body = PlanOfTasting,
    responses(
        (status = 200, description = "What they can show.", body = ref("#/components/schemas/TastingPlan")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The plan cannot be reckoned; the detail says what would work."),
    )
)]
pub async fn plan(
    JsonBody(asked): JsonBody<PlanOfTasting>,
) -> Result<Json<TastingPlan>, ProblemDetails> {
    let refused = |detail: String| {
        ProblemDetails::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "the plan cannot be reckoned",
            detail,
        )
    };
    let protocol = Protocol::find(&asked.protocol).ok_or_else(|| {
        refused(format!(
            "the protocol may be {}",
            Protocol::OFFERED.map(Protocol::word).join(", ")
        ))
    })?;
    let plan = Plan::of(PlanQuestion {
        protocol,
        tastings: asked.tastings,
        difference: asked.d_prime,
        false_alarm: asked.false_alarm,
        missed: asked.missed,
    })
    .map_err(|error| refused(error.to_string()))?;
    Ok(Json(TastingPlan::from(&plan)))
}

/// Answers to glasses that were served one at a time.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SingleGlasses {
    /// Glasses of the batch that were called another beer than the reference.
    #[schema(example = 10)]
    batch_called_other: u32,
    /// Glasses of the batch.
    #[schema(example = 20)]
    batch_glasses: u32,
    /// Glasses of the reference that were called another beer.
    #[schema(example = 3)]
    reference_called_other: u32,
    /// Glasses of the reference.
    #[schema(example = 20)]
    reference_glasses: u32,
    /// The risk of a false alarm; left out, 0.05.
    #[serde(default = "usual_alarm")]
    false_alarm: f64,
}

/// Judges glasses that were served one at a time.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/tastings/one-glass",
    operation_id = "judge_single_glasses",
    tag = "tastings",
    request_body = SingleGlasses,
    responses(
        (status = 200, description = "What they say.", body = ref("#/components/schemas/TastingOneGlass")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The counts cannot be; the detail says what would work."),
    )
)]
pub async fn one_glass(
    JsonBody(given): JsonBody<SingleGlasses>,
) -> Result<Json<TastingOneGlass>, ProblemDetails> {
    let answers = ANotA {
        hits: given.batch_called_other,
        batch_glasses: given.batch_glasses,
        false_alarms: given.reference_called_other,
        reference_glasses: given.reference_glasses,
    };
    let one = OneGlass::of(answers, given.false_alarm).map_err(|error| {
        ProblemDetails::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "the counts cannot be judged",
            error.to_string(),
        )
    })?;
    Ok(Json(TastingOneGlass::from(&one)))
}

/// Keeps a tasting document.
#[utoipa::path(
    post,
    path = "/tastings",
    operation_id = "create_tasting",
    tag = "tastings",
    request_body(
        description = "A tasting document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 201, description = "What it says so far.", body = ref("#/components/schemas/TastingResult"), headers(
            ("Location" = String, description = "Its address."),
        )),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults."),
    )
)]
pub async fn create(
    Acting(app): Acting,
    Toml(text): Toml,
) -> Result<impl IntoResponse, ProblemDetails> {
    let open = kept(app.keep_tasting(&text).await)?;
    let place = [(LOCATION, format!("/api/tastings/{}", open.id))];
    Ok((StatusCode::CREATED, place, Json(said(&open)?)))
}

/// What a tasting says so far, and what it cannot say.
#[utoipa::path(
    get,
    path = "/tastings/{id}",
    operation_id = "read_tasting",
    tag = "tastings",
    params(("id" = String, Path, description = "The tasting.", format = "uuid")),
    responses(
        (status = 200, description = "The result.", body = ref("#/components/schemas/TastingResult")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such tasting."),
        (status = 422, description = "The document has faults."),
    )
)]
pub async fn result(
    Acting(app): Acting,
    NameAt(id): NameAt,
) -> Result<Json<TastingResult>, ProblemDetails> {
    Ok(Json(said(&app.tasting(number(&id)?).await?)?))
}

/// Why nothing can be recorded at all.
enum Unrecorded {}

impl IntoResponses for Unrecorded {
    fn responses() -> BTreeMap<String, RefOr<openapi::Response>> {
        let told = |text| ResponseBuilder::new().description(text);
        ResponsesBuilder::new()
            .response("400", told("The identifier or the body cannot be read."))
            .response("404", told("There is no such tasting."))
            .response("413", told("The body is too large."))
            .response("415", told("The body is not said to be JSON."))
            .build()
            .into()
    }
}

/// Records an answer. What was answered once stays.
#[utoipa::path(
    post,
    path = "/tastings/{id}/answers",
    operation_id = "answer_tasting",
    tag = "tastings",
    params(("id" = String, Path, description = "The tasting.", format = "uuid")),
    request_body = AnswerToTasting,
    responses(
        (status = 200, description = "What the tasting says now.", body = ref("#/components/schemas/TastingResult")),
        Unrecorded,
        (status = 422, description = "There is no such tasting or glass, or it is answered already."),
    )
)]
pub async fn answer(
    Acting(app): Acting,
    NameAt(id): NameAt,
    JsonBody(given): JsonBody<AnswerToTasting>,
) -> Result<Json<TastingResult>, ProblemDetails> {
    let done = app
        .answer_tasting(number(&id)?, given.tasting, &given.glass)
        .await;
    Ok(Json(said(&kept(done)?)?))
}

/// Records a taster's points for both glasses, blind: all of them or none.
#[utoipa::path(
    post,
    path = "/tastings/{id}/scores",
    operation_id = "score_tasting",
    tag = "tastings",
    params(("id" = String, Path, description = "The tasting.", format = "uuid")),
    request_body = ScoresOfTaster,
    responses(
        (status = 200, description = "What the tasting says now.", body = ref("#/components/schemas/TastingResult")),
        Unrecorded,
        (status = 422, description = "There is no such taster or glass, or it is scored already."),
    )
)]
pub async fn score(
    Acting(app): Acting,
    NameAt(id): NameAt,
    JsonBody(given): JsonBody<ScoresOfTaster>,
) -> Result<Json<TastingResult>, ProblemDetails> {
    let points: Vec<_> = given.scores.into_iter().map(by_code).collect();
    let done = app.score_blind(number(&id)?, &given.taster, &points).await;
    Ok(Json(said(&kept(done)?)?))
}

fn by_code(of: ScoreOfAttribute) -> (String, Vec<(u16, String)>) {
    let points = of.points.into_iter();
    let points = points.map(|given| (given.code, given.points.to_string()));
    (of.attribute, points.collect())
}

fn number(id: &str) -> Result<DocumentId, ProblemDetails> {
    id.parse().map_err(|_| {
        ProblemDetails::new(
            StatusCode::BAD_REQUEST,
            "that is no identifier of a tasting",
            "take it from the Location of the tasting as it was kept",
        )
    })
}

fn kept(done: Result<OpenTasting, AppError>) -> Result<OpenTasting, ProblemDetails> {
    done.map_err(|error| match error {
        AppError::Faulty { faults, text } => ProblemDetails::faults(&faults, &text),
        other => other.into(),
    })
}

fn said(open: &OpenTasting) -> Result<TastingResult, ProblemDetails> {
    match &open.contents {
        Ok((tasting, judged)) => Ok(TastingResult::of(tasting, judged)),
        Err(faults) => Err(ProblemDetails::faults(faults, &open.text)),
    }
}

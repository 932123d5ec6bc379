//! The lauter and the corrections of a brew day.

use app::App;
use axum::Json;
use batch::brew_day::TypedReading;
use batch::wire::brew_day::{WortCorrect, WortLauter};
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use wort::correct::Point;

use crate::api::asked::{reckoned, refused};
use crate::api::extract::JsonBody;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(lauter))
        .routes(routes!(correct))
}

/// A batch document whose tun is run off.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LauterQuestion {
    /// The batch document.
    document: String,
}

/// A batch document, and a reading beside those that it keeps. Quantities are written
/// as in the document.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CorrectQuestion {
    /// The batch document.
    document: String,
    /// Where on the day: first wort, last runnings, kettle full, boil, end of boil,
    /// fermenter; left out, where the document's last reading is.
    #[serde(default)]
    #[schema(example = "kettle full")]
    at: String,
    /// During the boil: how long after it began.
    #[serde(default)]
    #[schema(example = "")]
    after: String,
    /// How much wort there is.
    #[serde(default)]
    #[schema(example = "27.5 L")]
    volume: String,
    /// How warm that wort is.
    #[serde(default)]
    #[schema(example = "95 °C")]
    volume_at: String,
    /// What the hydrometer shows.
    #[serde(default)]
    #[schema(example = "1.040")]
    gravity: String,
    /// How warm the sample is; left out, 20 °C.
    #[serde(default)]
    #[schema(example = "20 °C")]
    gravity_at: String,
}

/// Follows the run-off of a batch.
///
/// Gravity and pH of the runnings, where to stop, the efficiency and what would move
/// it. Nothing is kept.
#[utoipa::path(
    post,
    path = "/wort/lauter",
    operation_id = "follow_lauter",
    tag = "wort",
    request_body = LauterQuestion,
    responses(
        (status = 200, description = "The run-off.", body = ref("#/components/schemas/WortLauter")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, or nothing is mashed; the detail says what would work."),
    )
)]
pub async fn lauter(
    JsonBody(asked): JsonBody<LauterQuestion>,
) -> Result<Json<WortLauter>, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let found = reckoning
        .lautering()
        .map_err(|error| refused("nothing runs off", error))?;
    Ok(Json(WortLauter::from(&found)))
}

/// Says what a reading makes of the rest of a brew day.
///
/// And what would bring it back to the plan. Nothing is kept.
#[utoipa::path(
    post,
    path = "/wort/correct",
    operation_id = "correct_wort",
    tag = "wort",
    request_body = CorrectQuestion,
    responses(
        (status = 200, description = "Where the day stands and what can be done.", body = ref("#/components/schemas/WortCorrect")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, or the reading cannot be; the detail says what would work."),
    )
)]
pub async fn correct(
    JsonBody(asked): JsonBody<CorrectQuestion>,
) -> Result<Json<WortCorrect>, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let typed = TypedReading {
        at: asked.at,
        after: asked.after,
        volume: asked.volume,
        volume_at: asked.volume_at,
        gravity: asked.gravity,
        gravity_at: asked.gravity_at,
    };
    let (at, beside) = if typed == TypedReading::default() {
        let at = reckoning.day_is_at().unwrap_or(Point::KettleFull);
        (at, vec![])
    } else {
        let reading = typed.read().map_err(|wrong| {
            let said: Vec<String> = wrong.iter().map(ToString::to_string).collect();
            refused("the reading cannot be used as it is", said.join("; "))
        })?;
        let at = reading.as_ref().map(|r| r.at);
        let at = at.or_else(|| typed.point().ok());
        (
            at.unwrap_or(Point::KettleFull),
            reading.into_iter().collect(),
        )
    };
    let found = reckoning
        .corrections(at, &beside)
        .map_err(|error| refused("the reading cannot be", error))?;
    Ok(Json(WortCorrect::from(&found)))
}

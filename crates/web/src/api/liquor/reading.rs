//! A pH read in the mash.

use app::App;
use axum::Json;
use batch::liquor::reading::{Typed, TypedAddition, readings};
use batch::wire::liquor::reading::WaterMash;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use water::mash_reading::Reading;

use crate::api::asked::{reckoned, refused};
use crate::api::extract::JsonBody;
use crate::problem::ProblemDetails;

/// The most readings of one mash.
const MOST: usize = 50;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(advise))
}

/// A batch document, and readings beside those that it keeps. Quantities are written
/// as in the document.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MashReadingQuestion {
    /// The batch document.
    document: String,
    /// Readings, in the order of time, after those of the document; at most 50.
    #[serde(default)]
    readings: Vec<MashReading>,
}

/// A pH read in the mash.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MashReading {
    /// What the meter shows, with its uncertainty if that is known.
    #[schema(example = "5.62 ± 0.03")]
    ph: String,
    /// Temperature of the sample; left out, 20 °C.
    #[serde(default)]
    #[schema(example = "20 °C")]
    temperature: String,
    /// How long after mashing in; left out, 15 min.
    #[serde(default)]
    #[schema(example = "15 min")]
    after: String,
    /// For a meter that does not compensate for temperature: what it is set to.
    #[serde(default)]
    #[schema(example = "")]
    set_to: String,
    /// What went in since the reading before.
    #[serde(default)]
    added: Vec<MashAddition>,
}

/// Something given to the mash.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MashAddition {
    /// An acid, a salt, or acidulated malt.
    #[schema(example = "lactic acid 80 %")]
    what: String,
    /// How much.
    #[schema(example = "2 mL")]
    amount: String,
}

impl From<MashReading> for Typed {
    fn from(reading: MashReading) -> Self {
        Self {
            ph: reading.ph,
            temperature: reading.temperature,
            after: reading.after,
            set_to: reading.set_to,
            added: reading
                .added
                .into_iter()
                .map(|added| TypedAddition {
                    what: added.what,
                    amount: added.amount,
                })
                .collect(),
        }
    }
}

/// Says what readings of the mash mean and what to add.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/water/mash-reading",
    operation_id = "read_mash",
    tag = "water",
    request_body = MashReadingQuestion,
    responses(
        (status = 200, description = "Where the mash stands, what to do, what was learned.", body = ref("#/components/schemas/WaterMash")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, a reading cannot be, or the water must not be used; the detail says what would work."),
    )
)]
pub async fn advise(
    JsonBody(asked): JsonBody<MashReadingQuestion>,
) -> Result<Json<WaterMash>, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let mut all = readings(&reckoning.document);
    all.extend(typed(asked.readings)?);
    let refused_by_model =
        |error: water::WaterError| refused("there is no advice for this mash", error);
    let advice = reckoning.mash_advice(&all).map_err(refused_by_model)?;
    let table = reckoning.if_it_reads().map_err(refused_by_model)?;
    Ok(Json(WaterMash::of(&reckoning, &advice, &table)))
}

fn typed(given: Vec<MashReading>) -> Result<Vec<Reading>, ProblemDetails> {
    let title = "the readings cannot be used as they are";
    if given.len() > MOST {
        return Err(refused(title, format!("send at most {MOST} readings")));
    }
    let mut said = vec![];
    let mut readings = vec![];
    for (n, reading) in given.into_iter().enumerate() {
        match Typed::from(reading).read() {
            Ok(reading) => readings.push(reading),
            Err(wrong) => {
                said.extend(wrong.iter().map(|w| format!("reading {}, {w}", n + 1)));
            }
        }
    }
    if said.is_empty() {
        Ok(readings)
    } else {
        Err(refused(title, said.join("; ")))
    }
}

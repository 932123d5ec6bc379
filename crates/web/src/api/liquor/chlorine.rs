//! Chlorine and chloramine.

use std::collections::BTreeMap;

use app::App;
use axum::Json;
use batch::liquor::chlorine::{BreakpointQuestion, Question};
use batch::wire::liquor::chlorine::{Breakpoint, WaysOut};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::api::asked::{reckoned, refused, unusable};
use crate::api::extract::{JsonBody, QueryOf};
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(compare))
        .routes(routes!(breakpoint))
}

/// A batch document and what is at hand. Quantities are written as in the document.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChlorineQuestion {
    /// The batch document.
    document: String,
    /// What is at hand: reagents as powder, "activated carbon", "distilled water",
    /// "air pump"; left out, what the plan of the batch uses.
    #[serde(default)]
    have: Option<Vec<String>>,
    /// How long there is until the water is needed; left out, twelve hours.
    #[serde(default)]
    #[schema(example = "12 h")]
    time: String,
    /// Purity of the powder; left out, 95 %.
    #[serde(default)]
    #[schema(example = "95 %")]
    purity: String,
    /// The reagent of tablets at hand.
    #[serde(default)]
    #[schema(example = "sodium metabisulfite")]
    tablet: String,
    /// Active salt in a tablet.
    #[serde(default)]
    #[schema(example = "0.44 g")]
    tablet_mass: String,
    /// The step of the scale.
    #[serde(default)]
    #[schema(example = "0.1 g")]
    scale: String,
    /// The heater of the kettle.
    #[serde(default)]
    #[schema(example = "2.5 kW")]
    heater: String,
    /// Whether someone is sensitive to sulfite.
    #[serde(default)]
    sensitive: bool,
    /// Volume of the carbon at hand; left out, that of the plan or a household block.
    #[serde(default)]
    #[schema(example = "0.62 L")]
    carbon_volume: String,
    /// Prices in units of money, by what they are of.
    #[serde(default)]
    prices: BTreeMap<String, String>,
}

impl ChlorineQuestion {
    fn question(self, usual: Question) -> Question {
        let Self {
            document: _,
            have,
            time,
            purity,
            tablet,
            tablet_mass,
            scale,
            heater,
            sensitive,
            carbon_volume,
            prices,
        } = self;
        let mut fields = match have {
            Some(have) => have.into_iter().map(|w| ("have".to_owned(), w)).collect(),
            None if tablet.is_empty() && purity.is_empty() => usual.fields().to_vec(),
            None => vec![],
        };
        let sensitive = if sensitive { "yes" } else { "" }.to_owned();
        let plain = [
            ("time", time),
            ("purity", purity),
            ("tablet", tablet),
            ("tablet_mass", tablet_mass),
            ("scale", scale),
            ("heater", heater),
            ("sensitive", sensitive),
            ("carbon_volume", carbon_volume),
        ];
        fields.extend(plain.map(|(name, value)| (name.to_owned(), value)));
        fields.extend(
            prices
                .into_iter()
                .map(|(of, price)| (format!("price.{of}"), price)),
        );
        Question::of(fields)
    }
}

/// Compares the ways of taking chlorine out of the water of a batch.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/water/chlorine",
    operation_id = "compare_ways_out_of_chlorine",
    tag = "model",
    request_body = ChlorineQuestion,
    responses(
        (status = 200, description = "The ways, the better first.", body = ref("#/components/schemas/WaysOut")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults or the question cannot be used; the detail says what would work."),
    )
)]
pub async fn compare(
    JsonBody(asked): JsonBody<ChlorineQuestion>,
) -> Result<Json<WaysOut>, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let question = asked.question(Question::usual(&reckoning));
    let read = question
        .read(&reckoning)
        .map_err(|wrong| unusable(&wrong))?;
    let answer = reckoning
        .ways_out(&read)
        .map_err(|error| refused("the water cannot be followed", error))?;
    Ok(Json(WaysOut::of(&reckoning, &answer)))
}

/// What the curve holds for; what is left out is a tap in moderate climate.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct BreakpointQuery {
    /// pH.
    #[param(example = "7.5")]
    ph: String,
    /// Temperature.
    #[param(example = "20 °C")]
    temperature: String,
    /// Free ammonia, as ammonium.
    #[param(example = "0.5 mg/L")]
    ammonia: String,
    /// Alkalinity.
    #[param(example = "100 mg/L as CaCO3")]
    alkalinity: String,
    /// How long chlorine and ammonia are together.
    #[param(example = "60 min")]
    contact: String,
}

/// Tells what chlorine becomes in water that holds ammonia.
#[utoipa::path(
    get,
    path = "/water/breakpoint",
    operation_id = "reckon_breakpoint",
    tag = "model",
    params(BreakpointQuery),
    responses(
        (status = 200, description = "The curve.", body = ref("#/components/schemas/Breakpoint")),
        (status = 400, description = "The query cannot be read."),
        (status = 422, description = "A figure is none, or beyond the model; the detail says what would work."),
    )
)]
pub async fn breakpoint(
    QueryOf(asked): QueryOf<BreakpointQuery>,
) -> Result<Json<Breakpoint>, ProblemDetails> {
    let question = BreakpointQuestion {
        ph: asked.ph,
        temperature: asked.temperature,
        ammonia: asked.ammonia,
        alkalinity: asked.alkalinity,
        contact: asked.contact,
    };
    let found = question.or(BreakpointQuestion::usual()).answer();
    let found = found.map_err(|wrong| unusable(&wrong))?;
    Ok(Json(Breakpoint::from(&found)))
}

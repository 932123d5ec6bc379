//! Salts and acids by search.

use app::App;
use axum::Json;
use batch::liquor::minerals::{AtHand, Have, Question, found, sure};
use batch::wire::liquor::minerals::Minerals;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::api::asked::{reckoned, refused, unusable};
use crate::api::extract::JsonBody;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(search))
}

/// A batch document and what is at hand. Quantities are written as in the document.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MineralsQuestion {
    /// The batch document.
    document: String,
    /// What is at hand; left out, the usual salts and acid and those of the batch.
    #[serde(default)]
    have: Option<Vec<AtHandEntry>>,
    /// The step of the scale.
    #[serde(default)]
    #[schema(example = "0.1 g")]
    scale: String,
    /// The step of the syringe.
    #[serde(default)]
    #[schema(example = "0.1 mL")]
    syringe: String,
    /// The most kinds of addition.
    #[serde(default)]
    #[schema(nullable = false)]
    most: Option<u8>,
    /// Whether the shares of the waters may change.
    #[serde(default)]
    free_blend: bool,
    /// Whether a water may be boiled first.
    #[serde(default)]
    boiled: bool,
    /// Whether a water may be limed first.
    #[serde(default)]
    limed: bool,
    /// Whether what can be tasted is a limit.
    #[serde(default)]
    taste: bool,
    /// The pH of the sparge liquor just after its acid.
    #[serde(default)]
    #[schema(example = "5.6")]
    sparge_ph: String,
    /// Whether the sparge liquor gets the ions of the mash liquor.
    #[serde(default)]
    sparge_alike: bool,
}

/// Something at hand.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AtHandEntry {
    /// A salt or an acid by its name, "acidulated malt" or "distilled water".
    #[schema(example = "gypsum")]
    what: String,
    /// How much there is; left out, plenty.
    #[serde(default)]
    #[schema(example = "50 g")]
    amount: String,
    /// What a kilogram costs, or a litre of what is measured.
    #[serde(default)]
    #[schema(example = "6.50")]
    price: String,
}

impl From<AtHandEntry> for Have {
    fn from(entry: AtHandEntry) -> Self {
        Self {
            what: entry.what,
            amount: entry.amount,
            price: entry.price,
        }
    }
}

/// Finds salts and acid for the aim of a batch.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/water/minerals",
    operation_id = "find_minerals",
    tag = "model",
    request_body = MineralsQuestion,
    responses(
        (status = 200, description = "What comes nearest to the aim.", body = ref("#/components/schemas/Minerals")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, the question cannot be used, or there is no answer; the detail says what would work."),
    )
)]
pub async fn search(
    JsonBody(asked): JsonBody<MineralsQuestion>,
) -> Result<Json<Minerals>, ProblemDetails> {
    aside(move || answer(asked)).await?.map(Json)
}

fn answer(asked: MineralsQuestion) -> Result<Minerals, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let have = match asked.have {
        Some(have) => have.into_iter().map(Have::from).collect(),
        None => Question::usual(&reckoning).have,
    };
    let question = Question {
        have,
        scale: asked.scale,
        syringe: asked.syringe,
        most: asked.most.map(|most| most.to_string()).unwrap_or_default(),
        worth: String::new(),
        free_blend: asked.free_blend,
        boiled: asked.boiled,
        limed: asked.limed,
        taste: asked.taste,
        sparge_ph: asked.sparge_ph,
        sparge_alike: asked.sparge_alike,
    };
    let at_hand = AtHand::of(&question).map_err(|wrong| unusable(&wrong))?;
    let found = found(&reckoning, &at_hand).map_err(|error| refused("nothing is found", error))?;
    let sure = sure(&asked.document, &reckoning, &found);
    Ok(Minerals::of(&found, sure.as_deref()))
}

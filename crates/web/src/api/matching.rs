//! Recipes that meet an aim, and the same beer elsewhere.

use std::collections::BTreeMap;

use app::App;
use axum::Json;
use batch::library::Stores;
use batch::matching::{AtHand, Destination, MatchError, TypedMatch, matched, moved};
use batch::wire::matching::{MatchedAim, MovedMatch};
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::refused;
use super::extract::JsonBody;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(find))
        .routes(routes!(relocate))
}

/// A batch document and what is asked of it.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MatchQuestion {
    /// The batch document.
    document: String,
    /// Aims by the key of their figure, in words as in "28 ± 4 IBU", "at most 30 IBU",
    /// "free"; and `move`, `lock`, `limits`, `prices`, `most`, `malt_scale`, `hop_scale`,
    /// `only_stores`, `only_best`, `draws`, `label_alcohol`, `label_colour`,
    /// `sample_gravity`, `sample_refractometer`, `tasted` ("clove clear; banana faint").
    #[serde(default)]
    #[schema(example = json!({"colour": "12 ± 1 EBC", "lock": "Perle"}))]
    question: BTreeMap<String, String>,
    /// A document of stores whose malts, hops and salts may go in.
    #[serde(default)]
    #[schema(nullable = false)]
    stores: Option<String>,
}

/// A batch document and where it goes.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveQuestion {
    /// The batch document.
    document: String,
    /// Wort into the fermenter there; left out, as it is.
    #[serde(default)]
    #[schema(example = "50 L")]
    volume: String,
    /// Height of the place above the sea; left out, as it is.
    #[serde(default)]
    #[schema(example = "1500 m")]
    altitude: String,
    /// The document of the brewhouse there.
    #[serde(default)]
    #[schema(nullable = false)]
    brewhouse: Option<String>,
    /// An analysis of the water there.
    #[serde(default)]
    #[schema(nullable = false)]
    water: Option<String>,
    /// What that water is called.
    #[serde(default)]
    #[schema(example = "the water there")]
    water_name: String,
    /// As in a match.
    #[serde(default)]
    #[schema(example = json!({"lock": "Perle"}))]
    question: BTreeMap<String, String>,
    /// A document of stores whose malts, hops and salts may go in.
    #[serde(default)]
    #[schema(nullable = false)]
    stores: Option<String>,
}

/// Finds recipes that meet an aim.
///
/// Documents with what each trades; or what comes nearest, and what stands against the aim.
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/match",
    operation_id = "match_aim",
    tag = "batches",
    request_body = MatchQuestion,
    responses(
        (status = 200, description = "What was found.", body = ref("#/components/schemas/MatchedAim")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, or the question cannot be used; each fault says where and what would work."),
    )
)]
pub async fn find(
    JsonBody(asked): JsonBody<MatchQuestion>,
) -> Result<Json<MatchedAim>, ProblemDetails> {
    let work = move || {
        let typed: TypedMatch = asked.question.into_iter().collect();
        let stores = stores(asked.stores.as_deref())?;
        let at_hand = at_hand(&stores, asked.stores.as_deref());
        matched(&asked.document, &typed, at_hand.as_ref(), &|_, _| true)
            .map(|found| Json(MatchedAim::from(&found)))
            .map_err(|error| told(error, &asked.document))
    };
    aside(work).await?
}

/// Moves a batch to another volume, place, kit or water.
///
/// What it comes to as it stands is the aim there. Nothing is kept.
#[utoipa::path(
    post,
    path = "/move",
    operation_id = "move_batch",
    tag = "batches",
    request_body = MoveQuestion,
    responses(
        (status = 200, description = "What multiplying alone would give, and what was found.", body = ref("#/components/schemas/MovedMatch")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "A document has faults, or the question cannot be used; each fault says where and what would work."),
    )
)]
pub async fn relocate(
    JsonBody(asked): JsonBody<MoveQuestion>,
) -> Result<Json<MovedMatch>, ProblemDetails> {
    let work = move || {
        let typed: TypedMatch = asked.question.into_iter().collect();
        let stores = stores(asked.stores.as_deref())?;
        let at_hand = at_hand(&stores, asked.stores.as_deref());
        let name = if asked.water_name.is_empty() {
            "the water there".to_owned()
        } else {
            asked.water_name
        };
        let to = Destination {
            volume: asked.volume,
            altitude: asked.altitude,
            brewhouse: asked.brewhouse,
            water: asked.water.map(|analysis| (name, analysis)),
        };
        moved(&asked.document, &to, &typed, at_hand.as_ref(), &|_, _| true)
            .map(|found| Json(MovedMatch::from(&found)))
            .map_err(|error| told(error, &asked.document))
    };
    aside(work).await?
}

fn stores(text: Option<&str>) -> Result<Option<Stores>, ProblemDetails> {
    let read = |text: &str| {
        Stores::read(text)
            .map(|(stores, _)| stores)
            .map_err(|faults| ProblemDetails::faults(&faults, text))
    };
    text.map(read).transpose()
}

fn at_hand<'s>(stores: &'s Option<Stores>, text: Option<&'s str>) -> Option<AtHand<'s>> {
    let (stores, text) = (stores.as_ref()?, text?);
    Some(AtHand { stores, text })
}

fn told(error: MatchError, document: &str) -> ProblemDetails {
    match error {
        MatchError::Document(faults) => ProblemDetails::faults(&faults, document),
        MatchError::Question(faults) => ProblemDetails::readings(&faults),
        other => refused("nothing is found", other),
    }
}

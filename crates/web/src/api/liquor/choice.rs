//! Which water for a batch.

use app::App;
use axum::Json;
use batch::library::Analysis;
use batch::liquor::choice::{Kept, KeptAnalysis, Question, Wanted, chosen};
use batch::liquor::minerals;
use batch::wire::liquor::choice::WaterChoice;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::minerals::AtHandEntry;
use crate::api::asked::{reckoned, refused};
use crate::api::extract::JsonBody;
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(choose))
}

/// A batch document, the waters to choose from and what can be added. Quantities are
/// written as in the document.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChoiceQuestion {
    /// The batch document.
    document: String,
    /// The waters; left out, the sources of the document.
    #[serde(default)]
    waters: Option<Vec<WaterAtHand>>,
    /// What can be added; left out, the usual salts and acid and those of the batch.
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
    /// Whether what can be tasted is a limit.
    #[serde(default)]
    taste: bool,
}

/// A water to choose from.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaterAtHand {
    /// What it is called; without analyses, a source of the document of this name.
    #[schema(example = "town mains")]
    name: String,
    /// Its analyses, the oldest first.
    #[serde(default)]
    analyses: Vec<AnalysisFrom>,
    /// What a litre costs; what has a price is carried home.
    #[serde(default)]
    #[schema(example = "0.40")]
    price: String,
    /// How much there is; left out, plenty.
    #[serde(default)]
    #[schema(example = "20 L")]
    amount: String,
}

/// An analysis and from when it holds.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AnalysisFrom {
    /// The day of the sample or its month; left out, it holds all year.
    #[serde(default)]
    #[schema(example = "2027-03-14")]
    from: String,
    /// Its figures, as the keys of a source of a batch document.
    text: String,
}

impl WaterAtHand {
    fn kept(&self) -> Result<Option<Kept>, ProblemDetails> {
        let mut analyses = vec![];
        for dated in &self.analyses {
            let (analysis, _) = Analysis::read(&self.name, &dated.text)
                .map_err(|faults| ProblemDetails::faults(&faults, &dated.text))?;
            analyses.push(KeptAnalysis {
                from: dated.from.clone(),
                analysis,
                text: dated.text.clone(),
            });
        }
        analyses.sort_by(|a, b| a.from.cmp(&b.from));
        Ok((!analyses.is_empty()).then(|| Kept {
            key: self.name.clone(),
            name: self.name.clone(),
            analyses,
        }))
    }
}

/// Chooses a water for a batch.
///
/// Every water and every blend of two is designed for the aim, season by season.
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/water/choice",
    operation_id = "choose_water",
    tag = "water",
    request_body = ChoiceQuestion,
    responses(
        (status = 200, description = "The waters and blends, the best first.", body = ref("#/components/schemas/WaterChoice")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "A document has faults, the question cannot be used, or there is nothing to choose for; the detail says what would work."),
    )
)]
pub async fn choose(
    JsonBody(asked): JsonBody<ChoiceQuestion>,
) -> Result<Json<WaterChoice>, ProblemDetails> {
    aside(move || answer(asked)).await?.map(Json)
}

fn answer(asked: ChoiceQuestion) -> Result<WaterChoice, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let given = asked.waters.unwrap_or_default();
    let mut kept = vec![];
    for water in &given {
        kept.extend(water.kept()?);
    }
    let mut question = Question::usual(&reckoning, &[]);
    if !given.is_empty() {
        question.waters = given
            .into_iter()
            .map(|water| Wanted {
                water: water.name,
                price: water.price,
                amount: water.amount,
            })
            .collect();
    }
    if let Some(have) = asked.have {
        question.minerals.have = have.into_iter().map(minerals::Have::from).collect();
    }
    question.minerals.scale = asked.scale;
    question.minerals.syringe = asked.syringe;
    question.minerals.most = asked.most.map(|most| most.to_string()).unwrap_or_default();
    question.minerals.taste = asked.taste;
    let found = chosen(&reckoning, &kept, &question)
        .map_err(|error| refused("no water can be chosen", error))?;
    Ok(WaterChoice::from(&found))
}

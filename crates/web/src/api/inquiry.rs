//! Why a batch is off.

use app::App;
use axum::Json;
use batch::inquiry::{Said, Story};
use batch::wire::inquiry::Inquiry;
use batch::wire::story::{InquirySearch, InquiryStory};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, refused};
use super::extract::{BatchAt, JsonBody, QueryOf, Toml};
use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(inquire))
        .routes(routes!(of_batch))
        .routes(routes!(story_of_batch))
        .routes(routes!(story))
        .routes(routes!(search))
}

/// A batch document, and what was found and tested beside what it keeps. Keys are those
/// of the document's `finding` and `test`.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InquiryQuestion {
    /// The batch document.
    document: String,
    /// What is there.
    #[serde(default)]
    #[schema(example = json!(["medicinal"]))]
    found: Vec<String>,
    /// What was looked for and is not there.
    #[serde(default)]
    #[schema(example = json!(["butter"]))]
    absent: Vec<String>,
    /// What is no fault here.
    #[serde(default)]
    wanted: Vec<String>,
    /// Tests that came out positive.
    #[serde(default)]
    positive: Vec<String>,
    /// Tests that came out negative.
    #[serde(default)]
    negative: Vec<String>,
}

/// Says what could be behind a fault, and which tests would settle it.
///
/// Causes with what speaks for and against them, tests by the certainty that they buy for
/// their price, remedies. Nothing is kept.
#[utoipa::path(
    post,
    path = "/inquiry",
    operation_id = "inquire",
    tag = "inquiry",
    request_body = InquiryQuestion,
    responses(
        (status = 200, description = "Causes and tests.", body = ref("#/components/schemas/Inquiry")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The document has faults, or a finding or test is not known; the detail says what would work."),
    )
)]
pub async fn inquire(
    JsonBody(asked): JsonBody<InquiryQuestion>,
) -> Result<Json<Inquiry>, ProblemDetails> {
    let reckoning = reckoned(&asked.document)?;
    let said = Said {
        found: asked.found,
        absent: asked.absent,
        wanted: asked.wanted,
        positive: asked.positive,
        negative: asked.negative,
    };
    let answer = reckoning
        .inquire(&reckoning.question_with(&said))
        .map_err(|error| refused("the question cannot be used as it is", error))?;
    Ok(Json(Inquiry::from(&answer)))
}

/// The same for a batch of the store, with what the other batches of the house say.
///
/// Those speak that share its water, its yeast or its kit, and in which something was
/// found, tested or called sound.
#[utoipa::path(
    get,
    path = "/batches/{id}/inquiry",
    operation_id = "inquire_batch",
    tag = "inquiry",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "Causes and tests.", body = ref("#/components/schemas/Inquiry")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults, or what was found cannot be weighed."),
    )
)]
pub async fn of_batch(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<Json<Inquiry>, ProblemDetails> {
    let open = app.batch(id).await?;
    let reckoning = reckoned(&open.text)?;
    let history = app.house_of(&open).await?;
    let answer = reckoning
        .inquire_in(&history.house, &history.weigh(&reckoning).question())
        .map_err(|error| refused("what was found cannot be weighed", error))?;
    let mut form = Inquiry::from(&answer);
    form.tasters = history.weighed.into_iter().map(|w| w.words).collect();
    form.house = history.spoke.into_iter().map(|s| s.words).collect();
    Ok(Json(form))
}

/// The inquiry into a batch of the store as a story, with the batches brewed after it.
///
/// What was found, what it could be, what was tested, what it was, what was changed in the
/// next batch, and what came of it.
#[utoipa::path(
    get,
    path = "/batches/{id}/inquiry/story",
    operation_id = "inquiry_story_of_batch",
    tag = "inquiry",
    params(("id" = String, Path, description = "The batch.", format = "uuid")),
    responses(
        (status = 200, description = "The story.", body = ref("#/components/schemas/InquiryStory")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such batch."),
        (status = 422, description = "The document of the batch has faults, or what was found cannot be weighed."),
    )
)]
pub async fn story_of_batch(
    Acting(app): Acting,
    BatchAt(id): BatchAt,
) -> Result<Json<InquiryStory>, ProblemDetails> {
    let open = app.batch(id).await?;
    reckoned(&open.text)?;
    let told = app.story_of(&open).await?;
    let (story, history) = told.ok_or_else(|| refused("the batch cannot be told", "mend it"))?;
    let story = story.map_err(|error| refused("what was found cannot be weighed", error))?;
    let mut form = InquiryStory::from(&story);
    form.looked_back_on = history.looked_back_on;
    form.answer.house = history.spoke.into_iter().map(|s| s.words).collect();
    Ok(Json(form))
}

/// The inquiry that a batch document keeps as a story. Nothing is kept.
#[utoipa::path(
    post,
    path = "/inquiry/story",
    operation_id = "inquiry_story",
    tag = "inquiry",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The story.", body = ref("#/components/schemas/InquiryStory")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults, or what was found cannot be weighed."),
    )
)]
pub async fn story(Toml(text): Toml) -> Result<Json<InquiryStory>, ProblemDetails> {
    let reckoning = reckoned(&text)?;
    let story = Story::of(&text, &reckoning, &inquiry::House::default(), &[])
        .map_err(|error| refused("what was found cannot be weighed", error))?;
    Ok(Json(InquiryStory::from(&story)))
}

/// Words to look for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SearchQuery {
    /// Words of flavour, of a cause or of a test.
    #[param(example = "wet cardboard")]
    q: String,
}

/// Findings, causes and tests by the words of tasters, the best first.
#[utoipa::path(
    get,
    path = "/inquiry/search",
    operation_id = "search_inquiry",
    tag = "inquiry",
    params(SearchQuery),
    responses(
        (status = 200, description = "What the words may mean; empty lists where nothing has them.", body = ref("#/components/schemas/InquirySearch")),
        (status = 400, description = "The query cannot be read."),
    )
)]
pub async fn search(
    QueryOf(query): QueryOf<SearchQuery>,
) -> Result<Json<InquirySearch>, ProblemDetails> {
    Ok(Json(InquirySearch::of(&query.q)))
}

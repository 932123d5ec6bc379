//! Work that takes long: asked for, looked at, stopped.

use std::collections::BTreeMap;

use app::{App, job_row};
use axum::Json;
use axum::http::StatusCode;
use axum::http::header::LOCATION;
use axum::response::{IntoResponse, Response};
use batch::certainty;
use batch::comparing;
use batch::job::Work;
use batch::matching::Destination;
use batch::watch::Moments;
use batch::wire::job::Job as JobForm;
use ferment::watch::Sampling;
use serde::Deserialize;
use store::{DocumentId, Job, JobId};
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::PREFIX;
use super::extract::{JsonBody, NameAt};
use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(ask))
        .routes(routes!(read))
        .routes(routes!(cancel))
}

/// A question that takes long to answer.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub enum JobQuestion {
    /// Recipes that meet an aim; all as in POST /match.
    Match {
        /// The batch document.
        document: String,
        /// Aims by the key of their figure, and what may move.
        #[serde(default)]
        question: BTreeMap<String, String>,
        /// A document of stores.
        #[serde(default)]
        #[schema(nullable = false)]
        stores: Option<String>,
    },
    /// The same beer elsewhere; all as in POST /move.
    Move {
        /// The batch document.
        document: String,
        /// Wort into the fermenter there; left out, as it is.
        #[serde(default)]
        volume: String,
        /// Height of the place; left out, as it is.
        #[serde(default)]
        altitude: String,
        /// The document of the brewhouse there.
        #[serde(default)]
        #[schema(nullable = false)]
        brewhouse: Option<String>,
        /// An analysis of the water there.
        #[serde(default)]
        #[schema(nullable = false)]
        water: Option<String>,
        /// As in a match.
        #[serde(default)]
        question: BTreeMap<String, String>,
        /// A document of stores.
        #[serde(default)]
        #[schema(nullable = false)]
        stores: Option<String>,
    },
    /// How sure a batch is.
    Certainty {
        /// The batch document.
        document: String,
        /// Draws for the intervals, 32 to 65536.
        #[serde(default = "draws")]
        draws: usize,
        /// Points for the shares, up to 65536; 0 for none.
        #[serde(default = "points")]
        points: usize,
        /// The same seed gives the same answer.
        #[serde(default = "seed")]
        seed: u32,
    },
    /// Batches beside each other.
    Compare {
        /// The batch documents, two to six.
        documents: Vec<String>,
        /// Draws for how sure each figure is, 32 to 4096; 0 for none.
        #[serde(default = "draws_of_each")]
        draws: usize,
        /// Everything that differs by itself.
        #[serde(default)]
        finely: bool,
    },
    /// The whole posterior of the fermentation of a batch that is kept, by its readings.
    Posterior {
        /// The batch.
        batch: String,
    },
}

fn draws() -> usize {
    certainty::Question::default().draws
}

fn points() -> usize {
    certainty::Question::default().points
}

fn seed() -> u32 {
    certainty::Question::default().seed
}

fn draws_of_each() -> usize {
    comparing::Question::default().draws
}

impl JobQuestion {
    async fn work(self, app: &App) -> Result<(Work, Option<DocumentId>), ProblemDetails> {
        let work = match self {
            Self::Match {
                document,
                question,
                stores,
            } => Work::Match {
                text: document,
                typed: question.into_iter().collect(),
                stores,
            },
            Self::Move {
                document,
                volume,
                altitude,
                brewhouse,
                water,
                question,
                stores,
            } => Work::Move {
                text: document,
                to: Destination {
                    volume,
                    altitude,
                    brewhouse,
                    water: water.map(|analysis| ("the water there".to_owned(), analysis)),
                },
                typed: question.into_iter().collect(),
                stores,
            },
            Self::Certainty {
                document,
                draws,
                points,
                seed,
            } => Work::Certainty {
                text: document,
                question: certainty::Question {
                    draws,
                    points,
                    seed,
                },
            },
            Self::Compare {
                documents,
                draws,
                finely,
            } => Work::Compare {
                texts: documents,
                question: comparing::Question {
                    draws,
                    finely,
                    ..comparing::Question::default()
                },
            },
            Self::Posterior { batch } => {
                let id: DocumentId = batch.parse()?;
                let work = Work::Posterior {
                    text: app.batch(id).await?.text,
                    readings: app.readings(id).await?,
                    moments: Moments::default(),
                    sampling: Sampling::default(),
                };
                return Ok((work, Some(id)));
            }
        };
        Ok((work, None))
    }
}

async fn form(app: &App, job: &Job) -> Result<Json<JobForm>, ProblemDetails> {
    let (_, outcome) = app.job_answer(job.id).await?;
    Ok(Json(JobForm::of(job_row(job), outcome.as_ref())))
}

async fn seen(app: &App, id: &str) -> Result<Job, ProblemDetails> {
    let id: JobId = id.parse().map_err(|error: store::StoreError| {
        ProblemDetails::new(
            StatusCode::BAD_REQUEST,
            "this is no identifier",
            error.to_string(),
        )
    })?;
    Ok(app.job(id).await?)
}

/// Asks for work that takes long.
///
/// A job of the same question is joined: where it is done, its answer is there at once. What
/// is found is kept for a week. An answer that is wanted within the request is asked of
/// /match, /move, /certainty and /compare.
#[utoipa::path(
    post,
    path = "/jobs",
    operation_id = "ask_job",
    tag = "batches",
    request_body = JobQuestion,
    responses(
        (status = 202, description = "The job; Location says where to look for its answer.", body = ref("#/components/schemas/Job"),
            headers(("Location" = String, description = "The job."))),
        (status = 400, description = "The body cannot be read."),
        (status = 404, description = "There is no such batch."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The question cannot be kept."),
        (status = 429, description = "As many jobs of the group wait or run as may.",
            headers(("Retry-After" = u64, description = "Seconds after which it is worth another try."))),
    )
)]
pub async fn ask(
    Acting(app): Acting,
    JsonBody(asked): JsonBody<JobQuestion>,
) -> Result<Response, ProblemDetails> {
    let (work, document) = asked.work(&app).await?;
    let job = app.ask(&work, document).await?;
    let at = format!("{PREFIX}/jobs/{}", job.id);
    let form = form(&app, &job).await?;
    Ok((StatusCode::ACCEPTED, [(LOCATION, at)], form).into_response())
}

/// How a job stands, and what came of it.
#[utoipa::path(
    get,
    path = "/jobs/{id}",
    operation_id = "read_job",
    tag = "batches",
    params(("id" = String, Path, description = "The job.", format = "uuid")),
    responses(
        (status = 200, description = "The job.", body = ref("#/components/schemas/Job")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such job, or it ended long ago."),
    )
)]
pub async fn read(
    Acting(app): Acting,
    NameAt(id): NameAt,
) -> Result<Json<JobForm>, ProblemDetails> {
    let job = seen(&app, &id).await?;
    form(&app, &job).await
}

/// Stops a job.
///
/// At once where it waits, soon where a worker holds it. One that has ended stays as it is.
#[utoipa::path(
    post,
    path = "/jobs/{id}/cancel",
    operation_id = "cancel_job",
    tag = "batches",
    params(("id" = String, Path, description = "The job.", format = "uuid")),
    responses(
        (status = 200, description = "The job.", body = ref("#/components/schemas/Job")),
        (status = 400, description = "The identifier is not written like one."),
        (status = 404, description = "There is no such job, or it ended long ago."),
    )
)]
pub async fn cancel(
    Acting(app): Acting,
    NameAt(id): NameAt,
) -> Result<Json<JobForm>, ProblemDetails> {
    let id = seen(&app, &id).await?.id;
    let job = app.cancel_job(id).await?;
    form(&app, &job).await
}

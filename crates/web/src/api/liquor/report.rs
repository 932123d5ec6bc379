//! Reading a report.

use std::collections::BTreeMap;

use app::App;
use axum::Json;
use axum::http::StatusCode;
use batch::liquor::report::read;
use batch::wire::liquor::report::WaterReport;
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;
use water::report::Answers;

use crate::api::extract::JsonBody;
use crate::problem::ProblemDetails;

/// The longest report that is read.
const MOST_BYTES: usize = 1 << 20;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(read_report))
}

/// A report to read.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReportToRead {
    /// The text, as it was pasted or loaded; at most 1 MB.
    #[schema(example = "Calcium 96 mg/L\nAlkalinity 230 mg/L")]
    text: String,
    /// Answers to questions of an earlier reading: the id of the question and the
    /// key of the choice.
    #[serde(default)]
    answers: BTreeMap<String, String>,
}

/// Reads a report of a water: line by line, with what is open. Nothing is kept.
#[utoipa::path(
    post,
    path = "/water/report",
    operation_id = "read_water_report",
    tag = "water",
    request_body = ReportToRead,
    responses(
        (status = 200, description = "What it was read as.", body = ref("#/components/schemas/WaterReport")),
        (status = 400, description = "The body cannot be read."),
        (status = 413, description = "The report is too large."),
        (status = 415, description = "The body is not said to be JSON."),
        (status = 422, description = "The body is JSON and not a report to read."),
    )
)]
pub async fn read_report(
    JsonBody(asked): JsonBody<ReportToRead>,
) -> Result<Json<WaterReport>, ProblemDetails> {
    if asked.text.len() > MOST_BYTES {
        return Err(ProblemDetails::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            "the report is too large",
            "send at most 1 MB: the pages with the figures",
        ));
    }
    let answers = asked
        .answers
        .iter()
        .fold(Answers::default(), |all, (id, choice)| all.with(id, choice));
    Ok(Json(WaterReport::from(&read(&asked.text, &answers))))
}

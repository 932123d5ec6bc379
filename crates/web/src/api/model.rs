//! The model itself, without the store: a document in, a reckoning out.

use app::{Demo, Outcome, demos as all_demos};
use axum::Json;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use batch::certainty::glance;
use batch::{Document, wire};
use utoipa::openapi::schema::Type;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

use super::asked::reckoned;
use super::extract::{NameAt, Toml};
use super::forms::{DemoList, DemoRow, DemoText};
use crate::problem::ProblemDetails;
use crate::work::aside;

/// The JSON Schema of a form.
#[utoipa::path(
    get,
    path = "/schema/{name}",
    operation_id = "read_schema",
    tag = "documents",
    params(("name" = inline(SchemaName), Path, description = "Which form.")),
    responses(
        (status = 200, description = "A JSON Schema of the draft 2020-12.", body = Object, content_type = "application/schema+json"),
        (status = 400, description = "The name is not UTF-8."),
        (status = 404, description = "There is no such form."),
    )
)]
pub async fn schema(NameAt(name): NameAt) -> Result<Response, ProblemDetails> {
    let schema = app::schema(&name).ok_or_else(|| {
        let known = app::schema_names().join(", ");
        none(
            &format!("there is no form {name:?}"),
            &format!("ask for one of {known}"),
        )
    })?;
    Ok(([(CONTENT_TYPE, "application/schema+json")], Json(schema)).into_response())
}

/// The name of a form that has a schema. It only describes: a name is read as text, so
/// that an unknown one is a 404.
enum SchemaName {}

impl PartialSchema for SchemaName {
    fn schema() -> RefOr<Schema> {
        let names = app::schema_names();
        let words = ObjectBuilder::new().schema_type(Type::String);
        words.enum_values(Some(names)).into()
    }
}

impl ToSchema for SchemaName {}

/// Reckons a batch document, from tap to glass.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/reckon",
    operation_id = "reckon_document",
    tag = "model",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The whole stream, with intervals.", body = ref("#/components/schemas/Reckoning")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults; each says where it stands and what would work."),
    )
)]
pub async fn reckon(Toml(text): Toml) -> Result<Json<wire::Reckoning>, ProblemDetails> {
    let reckoned = move || {
        let plan = wire::Reckoning::from(&reckoned(&text)?);
        Ok(plan.sure(glance(&text).as_ref()))
    };
    aside(reckoned).await?.map(Json)
}

/// The reckoning of a document that is open, or its faults as a problem.
pub fn reckoning_of(outcome: &Outcome, text: &str) -> Result<wire::Reckoning, ProblemDetails> {
    match outcome {
        Outcome::Reckoned(reckoning) => Ok(reckoning.as_ref().into()),
        Outcome::Faulty(faults) => Err(ProblemDetails::faults(faults, text)),
    }
}

/// Reads a batch document without reckoning it.
///
/// The answer tells its faults, and the gaps that defaults would fill.
#[utoipa::path(
    post,
    path = "/check",
    operation_id = "check_document",
    tag = "model",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "What reading it found, faults or none.", body = ref("#/components/schemas/Check")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
    )
)]
pub async fn check(Toml(text): Toml) -> Json<wire::Check> {
    Json(match Document::read(&text) {
        Ok((document, assumptions)) => wire::Check::fine(&document, &assumptions),
        Err(faults) => wire::Check::faulty(&faults, &text),
    })
}

/// The demo documents.
///
/// Beers, town and waters are invented.
#[utoipa::path(
    get,
    path = "/demos",
    operation_id = "list_demos",
    tag = "documents",
    responses((status = 200, description = "All demos.", body = DemoList))
)]
pub async fn demos() -> Json<DemoList> {
    Json(DemoList {
        demos: all_demos().iter().map(DemoRow::from).collect(),
    })
}

/// A demo document.
#[utoipa::path(
    get,
    path = "/demos/{name}",
    operation_id = "read_demo",
    tag = "documents",
    params(("name" = String, Path, description = "The name of the demo.", example = "lantern-pale")),
    responses(
        (status = 200, description = "The document.", body = DemoText),
        (status = 400, description = "The name is not UTF-8."),
        (status = 404, description = "There is no such demo."),
    )
)]
pub async fn demo(NameAt(name): NameAt) -> Result<Json<DemoText>, ProblemDetails> {
    let demo = Demo::find(&name).ok_or_else(|| {
        none(
            &format!("there is no demo {name:?}"),
            "/api/demos lists them all",
        )
    })?;
    Ok(Json(demo.into()))
}

fn none(title: &str, detail: &str) -> ProblemDetails {
    ProblemDetails::new(StatusCode::NOT_FOUND, title, detail)
}

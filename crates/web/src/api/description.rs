//! The OpenAPI document: what stands on the handlers, and the forms of `batch`.

use std::sync::LazyLock;

use axum::Json;
use batch::wire;
use serde_json::{Map, Value, json};
use utoipa::OpenApi;

use super::{PREFIX, described};
use crate::problem::{PROBLEM_JSON, ProblemDetails};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "gylewright",
        description = "Batches of beer from the tap to the glass: documents, reckonings, history. \
            Reckonings are estimates with their sources beside them; a reading decides. \
            Where health, pressure or the law is concerned, local codes and licensed practice decide.",
        license(name = "MIT OR Apache-2.0", identifier = "MIT OR Apache-2.0"),
    ),
    tags(
        (name = "documents", description = "What the API takes and answers."),
        (name = "model", description = "The model without the store."),
        (name = "measure", description = "What the instruments beside the kettle say."),
        (name = "water", description = "What is asked about water."),
        (name = "wort", description = "What is asked about wort."),
        (name = "inquiry", description = "Why a batch is off."),
        (name = "yeast", description = "What is asked about yeast."),
        (name = "package", description = "How safely a batch is packed, and what vessels are cleaned with."),
        (name = "tastings", description = "A batch beside the beer that was its aim, blind."),
        (name = "batches", description = "Batches that are kept."),
        (name = "history", description = "Earlier revisions, and versions that were refused and kept."),
        (name = "people", description = "On a server with accounts: whom a program acts for."),
    ),
    components(schemas(ProblemDetails)),
)]
struct About;

/// The document before any route.
pub fn about() -> utoipa::openapi::OpenApi {
    About::openapi()
}

static DOCUMENT: LazyLock<Value> = LazyLock::new(openapi);

/// This document, OpenAPI 3.1.
#[utoipa::path(
    get,
    path = "/openapi.json",
    operation_id = "read_openapi",
    tag = "documents",
    responses((status = 200, description = "The document.", body = Object))
)]
pub async fn document() -> Json<&'static Value> {
    Json(&DOCUMENT)
}

/// The forms of other crates, by the names that the routes know them under.
fn forms() -> Vec<(&'static str, Value)> {
    vec![
        ("Reckoning", wire::reckoning_schema()),
        ("Check", wire::check_schema()),
        ("Measurement", wire::measurement_schema()),
        ("RecipesRead", interchange::wire::recipes_read_schema()),
        ("RecipeWritten", interchange::wire::recipe_written_schema()),
        ("WaterReport", wire::water_report_schema()),
        ("WaysOut", wire::water_chlorine_schema()),
        ("Breakpoint", wire::water_breakpoint_schema()),
        ("Minerals", wire::liquor::minerals::minerals_schema()),
        ("Inquiry", wire::inquiry::inquiry_schema()),
        ("InquiryStory", wire::story::inquiry_story_schema()),
        ("InquirySearch", wire::story::inquiry_search_schema()),
        ("Comparison", wire::comparing::comparison_schema()),
        ("Job", wire::job::job_schema()),
        ("Study", wire::consent::study_schema()),
        ("WortMash", wire::mash::wort_mash_schema()),
        ("IngredientTable", wire::tables::ingredient_table_schema()),
        ("WortBoil", wire::boil::wort_boil_schema()),
        ("WaterChoice", wire::liquor::choice::water_choice_schema()),
        ("WortLauter", wire::brew_day::wort_lauter_schema()),
        ("WortCorrect", wire::brew_day::wort_correct_schema()),
        ("WaterMash", wire::liquor::reading::water_mash_schema()),
        ("TastingPlan", wire::tasting::tasting_plan_schema()),
        ("TastingOneGlass", wire::tasting::tasting_one_glass_schema()),
        ("TastingResult", wire::tasting::tasting_result_schema()),
        (
            "WaterDissolved",
            wire::liquor::dissolved::water_dissolved_schema(),
        ),
        ("Log", wire::log::log_schema()),
        (
            "FermentationCourse",
            wire::watch::fermentation_course_schema(),
        ),
        ("Pitch", wire::pitch::pitch_schema()),
        ("Certainty", wire::certainty::certainty_schema()),
        ("Learning", wire::learning::learning_schema()),
        ("SteeredCourse", wire::steer::steer_schema()),
        ("MatchedAim", wire::matching::match_schema()),
        ("MovedMatch", wire::matching::move_schema()),
        ("Bottling", wire::bottling::bottling_schema()),
        ("CleaningAgents", wire::cleaning::cleaning_agents_schema()),
        ("CleaningMix", wire::cleaning::cleaning_mix_schema()),
        (
            "CleaningTogether",
            wire::cleaning::cleaning_together_schema(),
        ),
    ]
}

/// The OpenAPI document of the HTTP API.
#[must_use]
pub fn openapi() -> Value {
    let (_, bare) = described().split_for_parts();
    let nested = about().nest(PREFIX, bare);
    // Turning plain data into JSON cannot fail; a test reads the whole document.
    let mut document = serde_json::to_value(nested).unwrap_or_default();
    if let Some(schemas) = object(&mut document, "/components/schemas") {
        for (name, schema) in forms() {
            hoist(schemas, name, schema);
        }
    }
    if let Some(paths) = object(&mut document, "/paths") {
        let operations = paths
            .values_mut()
            .filter_map(Value::as_object_mut)
            .flat_map(Map::values_mut);
        operations.for_each(describe_errors);
    }
    document
}

fn object<'v>(value: &'v mut Value, pointer: &str) -> Option<&'v mut Map<String, Value>> {
    value.pointer_mut(pointer)?.as_object_mut()
}

/// Puts a schema with all that it defines among the components, where readers of
/// OpenAPI look for them.
fn hoist(schemas: &mut Map<String, Value>, name: &str, mut schema: Value) {
    point_to_components(&mut schema);
    if let Some(map) = schema.as_object_mut() {
        map.remove("$schema");
        map.remove("$id");
        if let Some(Value::Object(parts)) = map.remove("$defs") {
            schemas.extend(parts);
        }
    }
    schemas.insert(name.to_owned(), schema);
}

fn point_to_components(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            if let Some(Value::String(reference)) = map.get_mut("$ref") {
                *reference = reference.replace("#/$defs/", "#/components/schemas/");
            }
            map.values_mut().for_each(point_to_components);
        }
        Value::Array(items) => items.iter_mut().for_each(point_to_components),
        _ => {}
    }
}

/// Every error is a problem, also one that the operation does not name.
fn describe_errors(operation: &mut Value) {
    let Some(responses) = object(operation, "/responses") else {
        return;
    };
    let any = json!({ "description": "Any other error." });
    responses.insert("default".to_owned(), any);
    for (status, response) in responses {
        let is_error = status.starts_with(['4', '5']) || status == "default";
        if let Some(response) = response.as_object_mut().filter(|_| is_error) {
            let schema = json!({ "schema": { "$ref": "#/components/schemas/ProblemDetails" } });
            response.insert("content".to_owned(), json!({ PROBLEM_JSON: schema }));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(schema: &Value) -> Map<String, Value> {
        let mut schema = schema.clone();
        point_to_components(&mut schema);
        let parts = schema["$defs"].as_object().cloned();
        parts.unwrap_or_default()
    }

    #[test]
    fn no_two_schemas_share_a_name() {
        let (_, bare) = described().split_for_parts();
        let own = serde_json::to_value(bare).unwrap()["components"]["schemas"].clone();
        let own = own.as_object().unwrap();
        let mut known: Map<String, Value> = own.clone();
        for (name, schema) in forms() {
            assert!(!known.contains_key(name), "{name} is a name of two forms");
            for (part, schema) in parts(&schema) {
                let before = known.insert(part.clone(), schema.clone());
                assert!(
                    before.is_none_or(|other| other == schema),
                    "{part} of {name} is a name of two forms"
                );
            }
        }
    }
}

//! Answers against the OpenAPI document.

use std::collections::HashMap;
use std::sync::{Arc, LazyLock, Mutex};

use serde_json::{Value, json};

use crate::bench::Answer;

pub static DOCUMENT: LazyLock<Value> = LazyLock::new(web::openapi);

/// Panics unless the answer is one that the document describes for this route
/// and status, with nothing in it that is not described.
pub fn hold(method: &str, path: &str, answer: &Answer) {
    let what = format!("{method} {path}: {}", answer.status);
    let kind = answer.header("content-type");
    if answer.status >= 400 {
        assert_eq!(kind, "application/problem+json", "{what}");
        assert_eq!(answer.body["status"], answer.status, "{what}");
        for key in ["type", "title", "detail"] {
            assert!(
                answer.body[key].as_str().is_some_and(|t| !t.is_empty()),
                "{what}: {key}"
            );
        }
    }
    let Some(operation) = operation(method, path) else {
        assert!(answer.status >= 400, "{what}: answered, and not described");
        return conforms(
            &json!({ "$ref": "#/components/schemas/ProblemDetails" }),
            &answer.body,
            &what,
        );
    };
    let responses = &operation["responses"];
    let response = match &responses[answer.status.to_string()] {
        // What any request can meet, wherever it goes.
        Value::Null if matches!(answer.status, 403 | 408 | 421 | 500) => &responses["default"],
        Value::Null => panic!("{what}: this status is not described"),
        response => response,
    };
    for name in response["headers"]
        .as_object()
        .into_iter()
        .flat_map(|h| h.keys())
    {
        assert!(!answer.header(name).is_empty(), "{what}: no header {name}");
    }
    let schema = &response["content"][kind]["schema"];
    assert!(schema.is_object(), "{what}: {kind} is not described");
    conforms(schema, &answer.body, &what);
}

/// The operation of a request.
fn operation(method: &str, path: &str) -> Option<&'static Value> {
    let path = path.split('?').next().unwrap();
    let given: Vec<&str> = path.split('/').collect();
    let fits = |template: &str| {
        let steps: Vec<&str> = template.split('/').collect();
        steps.len() == given.len()
            && steps
                .iter()
                .zip(&given)
                .all(|(step, segment)| step.starts_with('{') || step == segment)
    };
    let (_, item) = DOCUMENT["paths"]
        .as_object()
        .unwrap()
        .iter()
        .find(|(t, _)| fits(t))?;
    item.get(method.to_lowercase())
}

pub fn conforms(schema: &Value, body: &Value, what: &str) {
    // A schema is compiled once: with all components it is long.
    static COMPILED: LazyLock<Mutex<HashMap<String, Arc<jsonschema::Validator>>>> =
        LazyLock::new(Mutex::default);
    let validator = {
        let mut compiled = COMPILED.lock().unwrap();
        Arc::clone(
            compiled
                .entry(schema.to_string())
                .or_insert_with(|| Arc::new(validator_of(schema))),
        )
    };
    let faults: Vec<String> = validator
        .iter_errors(body)
        .map(|e| format!("{} at {}", e, e.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{what}: {faults:#?}");
}

fn validator_of(schema: &Value) -> jsonschema::Validator {
    let mut schema = schema.clone();
    if schema.get("$ref").is_some() {
        schema["unevaluatedProperties"] = json!(false);
    }
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["components"] = DOCUMENT["components"].clone();
    jsonschema::options()
        .should_validate_formats(true)
        .build(&schema)
        .unwrap()
}

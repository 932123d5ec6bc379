//! The OpenAPI document itself.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::bench::Bench;
use crate::described::{DOCUMENT, conforms};

const METHODS: [&str; 5] = ["get", "post", "put", "patch", "delete"];

fn operations() -> impl Iterator<Item = (&'static str, &'static str, &'static Value)> {
    DOCUMENT["paths"]
        .as_object()
        .unwrap()
        .iter()
        .flat_map(|(path, item)| {
            let item = item.as_object().unwrap();
            item.iter()
                .map(move |(method, operation)| (path.as_str(), method.as_str(), operation))
        })
}

/// A path with something in the place of its names.
fn filled(template: &str) -> String {
    let id = "019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61";
    template
        .replace("{id}", id)
        .replace("{version}", id)
        .replace("{n}", "1")
        .replace("{name}", "batch")
}

#[test]
fn the_routes_are_those() {
    let described: BTreeSet<String> = operations()
        .map(|(path, method, _)| format!("{method} {path}"))
        .collect();
    let known = [
        "get /api/batches",
        "get /api/batches/{id}",
        "get /api/batches/{id}/course",
        "get /api/batches/{id}/history",
        "get /api/batches/{id}/history/{n}",
        "get /api/batches/{id}/kept/{version}",
        "get /api/batches/{id}/learning",
        "get /api/batches/{id}/readings",
        "get /api/batches/{id}/inquiry",
        "get /api/batches/{id}/inquiry/story",
        "get /api/batches/{id}/recipe",
        "get /api/batches/{id}/reckoning",
        "get /api/cleaning/agents",
        "get /api/demos",
        "get /api/demos/{name}",
        "get /api/group",
        "get /api/hops",
        "get /api/inquiry/search",
        "get /api/jobs/{id}",
        "get /api/malts",
        "get /api/me",
        "get /api/measure/alcohol",
        "get /api/measure/thermometer-check",
        "get /api/measure/hydrometer-check",
        "get /api/measure/electrode",
        "get /api/measure/agree",
        "get /api/measure/cells",
        "get /api/measure/starter",
        "get /api/yeast/pitch",
        "get /api/batches/{id}/steer",
        "post /api/yeast/steer",
        "post /api/match",
        "post /api/move",
        "post /api/yeast/pitch",
        "get /api/measure/bottle-oxygen",
        "get /api/measure/dilute",
        "get /api/measure/extract",
        "get /api/measure/hydrometer",
        "get /api/measure/keg",
        "get /api/measure/line",
        "get /api/measure/priming-wort",
        "get /api/measure/purge",
        "get /api/measure/store",
        "get /api/measure/refractometer",
        "get /api/measure/glass",
        "get /api/measure/spirit",
        "get /api/openapi.json",
        "get /api/schema/{name}",
        "get /api/study",
        "get /api/tastings/{id}",
        "post /api/batches",
        "post /api/batches/{id}/bring-back",
        "post /api/batches/{id}/edits",
        "post /api/batches/{id}/readings",
        "post /api/certainty",
        "post /api/check",
        "post /api/cleaning/mix",
        "post /api/cleaning/together",
        "post /api/compare",
        "post /api/package",
        "post /api/inquiry",
        "post /api/inquiry/story",
        "post /api/jobs",
        "post /api/jobs/{id}/cancel",
        "post /api/reckon",
        "post /api/readings",
        "post /api/recipes",
        "post /api/recipes/read",
        "post /api/study",
        "post /api/tastings",
        "post /api/tastings/one-glass",
        "post /api/tastings/plan",
        "post /api/tastings/{id}/answers",
        "post /api/tastings/{id}/scores",
        "post /api/water/dissolved",
        "post /api/water/mash-reading",
        "post /api/water/report",
        "get /api/water/breakpoint",
        "post /api/water/chlorine",
        "post /api/water/choice",
        "post /api/water/minerals",
        "post /api/wort/boil",
        "post /api/wort/correct",
        "post /api/wort/lauter",
        "post /api/wort/mash",
        "put /api/batches/{id}",
    ];
    assert_eq!(described, known.map(str::to_owned).into());
}

#[tokio::test]
async fn what_is_described_is_answered_and_nothing_else() {
    let bench = Bench::new().await;
    for (path, item) in DOCUMENT["paths"].as_object().unwrap() {
        for method in METHODS {
            let answer = bench
                .send(&method.to_uppercase(), &filled(path), &[], "")
                .await;
            if item.get(method).is_some() {
                assert_ne!(answer.status, 405, "{method} {path}");
                assert_ne!(
                    answer.body["title"], "there is no such route",
                    "{method} {path}"
                );
            } else {
                assert_eq!(
                    answer.problem(405),
                    "this route does not take that method",
                    "{method} {path}"
                );
                for allowed in item.as_object().unwrap().keys() {
                    assert!(
                        answer.header("allow").contains(&allowed.to_uppercase()),
                        "{method} {path}"
                    );
                }
            }
        }
    }
}

#[tokio::test]
async fn it_is_served_as_it_is_made() {
    let served = Bench::new().await.get("/api/openapi.json").await;
    assert_eq!(served.status, 200);
    assert_eq!(served.body, *DOCUMENT);
    assert!(served.body["openapi"].as_str().unwrap().starts_with("3.1."));
}

#[test]
fn every_reference_leads_somewhere() {
    fn references<'v>(value: &'v Value, found: &mut BTreeSet<&'v str>) {
        match value {
            Value::Object(map) => {
                found.extend(map.get("$ref").and_then(Value::as_str));
                map.values().for_each(|v| references(v, found));
            }
            Value::Array(items) => items.iter().for_each(|v| references(v, found)),
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    references(&DOCUMENT, &mut found);
    assert!(found.contains("#/components/schemas/Reckoning"));
    for reference in found {
        let pointer = reference.strip_prefix('#').unwrap();
        assert!(DOCUMENT.pointer(pointer).is_some(), "{reference}");
    }
}

#[test]
fn every_component_is_a_json_schema() {
    for (name, schema) in DOCUMENT["components"]["schemas"].as_object().unwrap() {
        if let Err(fault) = jsonschema::draft202012::meta::validate(schema) {
            panic!("{name}: {fault}");
        }
        let described = ["description", "$ref", "type"]
            .iter()
            .any(|key| schema.get(key).is_some());
        assert!(
            described || schema.get("oneOf").is_some() || schema.get("allOf").is_some(),
            "{name}"
        );
    }
}

#[test]
fn every_operation_says_what_it_is() {
    let mut names = BTreeSet::new();
    for (path, method, operation) in operations() {
        let text = |key: &str| operation[key].as_str().unwrap_or_default().to_owned();
        let summary = text("summary");
        assert!(
            summary.ends_with('.') && !summary.contains('\n'),
            "{method} {path}: {summary}"
        );
        assert!(
            names.insert(text("operationId")),
            "{method} {path}: {} is taken",
            text("operationId")
        );
        for (status, response) in operation["responses"].as_object().unwrap() {
            assert!(
                !response["description"].as_str().unwrap().is_empty(),
                "{method} {path} {status}"
            );
        }
        let parameters = operation["parameters"].as_array();
        let in_path = parameters
            .into_iter()
            .flatten()
            .filter(|p| p["in"] == "path")
            .count();
        assert_eq!(in_path, path.matches('{').count(), "{method} {path}");
    }
}

#[test]
fn the_examples_are_what_the_schema_takes() {
    for name in ["EditRequest", "BringBack"] {
        let schema = json!({ "$ref": format!("#/components/schemas/{name}") });
        let example = &DOCUMENT["components"]["schemas"][name]["example"];
        assert!(example.is_object(), "{name}");
        conforms(&schema, example, name);
    }
}

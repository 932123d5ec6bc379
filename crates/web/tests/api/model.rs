//! The model without the store.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

#[tokio::test]
async fn a_document_is_reckoned() {
    let bench = Bench::new().await;
    for kind in [
        "application/toml",
        "text/plain; charset=UTF-8",
        "TEXT/PLAIN",
    ] {
        let answer = bench
            .send("POST", "/api/reckon", &[("content-type", kind)], demo())
            .await;
        assert_eq!(answer.status, 200, "{kind}: {}", answer.body);
        assert_eq!(answer.body["name"], "Lantern Pale, second brewing");
    }
    // Nothing was kept.
    assert_eq!(bench.get("/api/batches").await.body["total"], 0);
}

#[tokio::test]
async fn the_reckoning_is_the_one_of_the_model() {
    let answer = Bench::new().await.post_toml("/api/reckon", demo()).await;
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let sure = batch::certainty::glance(demo()).unwrap();
    let ours = batch::wire::Reckoning::from(&reckoning).sure(Some(&sure));
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
    let of_gravity = |i: &&Value| i["key"] == "original_gravity";
    let intervals = answer.body["intervals"].as_array().unwrap();
    let gravity = intervals.iter().find(of_gravity).unwrap();
    assert!(
        gravity["low"].as_f64() < gravity["high"].as_f64(),
        "{gravity}"
    );
}

#[tokio::test]
async fn faults_say_where_they_stand() {
    let text = faulty();
    let answer = Bench::new().await.post_toml("/api/reckon", &text).await;
    assert_eq!(answer.problem(422), "the document cannot be used as it is");
    let fault = &answer.body["faults"][0];
    assert_eq!(fault["path"], "batch.volume");
    let line = text.lines().position(|l| l.contains("bathtub")).unwrap() + 1;
    assert_eq!(fault["line"], line);
    let from = usize::try_from(fault["from_byte"].as_u64().unwrap()).unwrap();
    assert!(text[from..].starts_with("a bathtub"), "{fault}");
}

#[tokio::test]
async fn what_is_not_toml_is_a_fault_of_the_document() {
    let bench = Bench::new().await;
    assert!(
        !bench.post_toml("/api/reckon", "[batch").await.body["faults"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    assert_eq!(bench.post_toml("/api/reckon", "").await.status, 422);
}

#[tokio::test]
async fn a_check_answers_whether_a_document_can_be_used() {
    let bench = Bench::new().await;
    let fine = bench.post_toml("/api/check", demo()).await;
    assert_eq!((fine.status, &fine.body["fine"]), (200, &json!(true)));
    assert!(!fine.body["assumptions"].as_array().unwrap().is_empty());
    let not = bench.post_toml("/api/check", &faulty()).await;
    assert_eq!((not.status, &not.body["fine"]), (200, &json!(false)));
    assert_eq!(not.body["faults"][0]["path"], "batch.volume");
}

#[tokio::test]
async fn demos_are_listed_and_can_be_reckoned() {
    let bench = Bench::new().await;
    let list = bench.get("/api/demos").await;
    let demos = list.body["demos"].as_array().unwrap();
    assert_eq!(demos.len(), app::demos().len());
    for demo in demos {
        let name = demo["name"].as_str().unwrap();
        let text = bench.get(&format!("/api/demos/{name}")).await;
        assert_eq!(text.status, 200);
        let reckoned = bench
            .post_toml("/api/reckon", text.body["text"].as_str().unwrap())
            .await;
        assert_eq!(reckoned.status, 200, "{name}: {}", reckoned.body);
    }
    let none = bench.get("/api/demos/moonshine").await;
    assert_eq!(none.problem(404), "there is no demo \"moonshine\"");
}

#[tokio::test]
async fn the_schemas_are_served_and_fit() {
    let bench = Bench::new().await;
    let reckoning = bench.get("/api/schema/reckoning").await;
    let check = bench.get("/api/schema/check").await;
    for name in app::schema_names() {
        let answer = bench.get(&format!("/api/schema/{name}")).await;
        assert_eq!(answer.status, 200, "{name}");
        assert_eq!(answer.header("content-type"), "application/schema+json");
        let id = answer.body["$id"].as_str().unwrap();
        assert!(
            id.starts_with(&format!("urn:gylewright:schema:{name}:")),
            "{id}"
        );
    }
    let fits = |schema, body| jsonschema::validator_for(schema).unwrap().is_valid(body);
    let reckoned = bench.post_toml("/api/reckon", demo()).await.body;
    let checked = bench.post_toml("/api/check", demo()).await.body;
    assert!(fits(&reckoning.body, &reckoned) && !fits(&reckoning.body, &checked));
    assert!(fits(&check.body, &checked) && !fits(&check.body, &reckoned));
    let none = bench.get("/api/schema/cellar").await;
    assert_eq!(none.problem(404), "there is no form \"cellar\"");
    assert!(
        none.body["detail"]
            .as_str()
            .unwrap()
            .contains("ingredient-table")
    );
}

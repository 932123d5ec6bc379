//! Packing safely and cleaning.

use serde_json::json;

use crate::bench::{Bench, TOML, demo, faulty};

#[tokio::test]
async fn a_package_is_judged_as_by_the_model() {
    let bench = Bench::new().await;
    let answer = bench.send("POST", "/api/package", &[TOML], demo()).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let ours = batch::wire::bottling::Bottling::from(&reckoning);
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
    let faults = bench.send("POST", "/api/package", &[TOML], faulty()).await;
    faults.problem(422);
}

#[tokio::test]
async fn a_stop_comes_with_its_steps() {
    let weak = demo().replace("bottle = \"heavy-returnable\"", "bottle = \"unknown\"");
    let bench = Bench::new().await;
    let answer = bench.send("POST", "/api/package", &[TOML], weak).await;
    assert_eq!(answer.body["package"]["safety"], "stop");
    assert!(answer.body["at_risk"].as_array().unwrap().len() > 4);
    let package = &answer.body["package"];
    let bar = |key: &str| package[key].as_f64().unwrap();
    assert!(bar("least_pressure_bar") < bar("likely_pressure_bar"));
    assert!(bar("likely_pressure_bar") < bar("highest_pressure_bar"));
}

#[tokio::test]
async fn a_solution_is_mixed_and_what_cannot_be_is_told() {
    let bench = Bench::new().await;
    let at = "/api/cleaning/mix";
    let asked = json!({ "agent": "hypochlorite", "to": "200 mg/L", "volume": "10 L" });
    let answer = bench.post_json(at, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert!((answer.body["amount_ml"].as_f64().unwrap() - 38.095).abs() < 0.01);
    let wrong = bench
        .post_json(at, json!({ "agent": "hypochlorite", "to": "much" }))
        .await;
    wrong.problem(422);
    assert!(
        wrong.body["detail"].as_str().unwrap().starts_with("to:"),
        "{}",
        wrong.body
    );
    bench
        .post_json(at, json!({ "agnet": "hypochlorite" }))
        .await
        .problem(422);
}

#[tokio::test]
async fn what_must_never_meet_is_told() {
    let bench = Bench::new().await;
    let at = "/api/cleaning/together";
    let answer = bench
        .post_json(
            at,
            json!({ "one": "peracetic-acid", "other": "hypochlorite" }),
        )
        .await;
    assert_eq!(answer.status, 200);
    assert!(
        answer.body["sentence"]
            .as_str()
            .unwrap()
            .contains("chlorine gas")
    );
    let cautions = answer.body["cautions"].as_array().unwrap();
    assert!(cautions.iter().any(|c| c["key"] == "chlorine-mixtures"));
    bench
        .post_json(at, json!({ "one": "soap", "other": "hypochlorite" }))
        .await
        .problem(422);
    let all = bench.get("/api/cleaning/agents").await;
    assert!(all.body["agents"].as_array().unwrap().len() >= 10);
}

//! The yeast that a wort needs.

use batch::wire::pitch::Pitch;

use crate::bench::{Bench, demo, faulty};

const PITCH: &str = "/api/yeast/pitch";

#[tokio::test]
async fn the_answer_is_that_of_the_model() {
    let bench = Bench::new().await;
    let answer = bench.post_toml(PITCH, demo()).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let ours = Pitch::from(&reckoning.pitching().unwrap());
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
    assert_eq!(answer.body["cases"].as_array().unwrap().len(), 5);
}

/// Rate × extract × volume: 12 °P, 20 L and 2.0 million/mL/°P are 480 billion (common
/// practice for lager pitched cold).
#[tokio::test]
async fn a_wort_without_a_batch_is_pitched_too() {
    let bench = Bench::new().await;
    let answer = bench
        .get(&format!(
            "{PITCH}?gravity=12%20%C2%B0P&volume=20%20L&class=lager&aim=clean&form=liquid&cells=200%20billion"
        ))
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let needed = answer.body["cells_needed_billions"].as_f64().unwrap();
    assert!((needed - 480.0).abs() < 1e-6, "{needed}");
    let ways = answer.body["ways"].as_array().unwrap();
    let starter = ways.iter().find(|w| w["kind"] == "starter").unwrap();
    assert!(starter["steps"][0]["dried_extract_g"].as_f64().unwrap() > 0.0);
    let cautions = answer.body["cautions"].as_array().unwrap();
    assert!(cautions.iter().any(|c| c["key"] == "starter"));
}

#[tokio::test]
async fn what_cannot_be_used_is_told_by_name() {
    let bench = Bench::new().await;
    let answer = bench
        .get(&format!("{PITCH}?gravity=heavy&class=ale&form=dry"))
        .await;
    assert_eq!(
        answer.problem(422),
        "the readings cannot be used as they are"
    );
    let faults = answer.body["faults"].as_array().unwrap();
    for path in ["gravity", "volume", "form"] {
        assert!(faults.iter().any(|f| f["path"] == path), "{faults:?}");
    }
    let unknown = bench.get(&format!("{PITCH}?colour=8")).await;
    assert_eq!(unknown.problem(400), "the request cannot be read");
    bench.post_toml(PITCH, &faulty()).await.problem(422);
}

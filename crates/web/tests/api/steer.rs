//! The course that serves a wish best.

use batch::steer::TypedSteer;
use batch::wire::steer::SteeredCourse;

use crate::bench::{Bench, demo, faulty};

const STEER: &str = "/api/yeast/steer";

#[tokio::test]
async fn the_answer_is_that_of_the_model() {
    let bench = Bench::new().await;
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let wish = [
        ("by", "10 d"),
        ("butter", "at most 0.1 mg/L"),
        ("banana", "most"),
    ];
    let found = reckoning
        .steered(&TypedSteer::from_iter(wish), &[])
        .unwrap();
    let ours = serde_json::to_value(SteeredCourse::of(&found, &reckoning)).unwrap();
    let query = "by=10%20d&butter=at%20most%200.1%20mg/L&banana=most";
    let answer = bench.post_toml(&format!("{STEER}?{query}"), demo()).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body, ours);
    assert_eq!(answer.body["kept"], true);
    let days = answer.body["choices"][0]["figures"]["days"]
        .as_f64()
        .unwrap();
    assert!(days <= 10.001, "{days}");

    // The same of a batch that is kept.
    let made = bench.post_toml("/api/batches", demo()).await;
    let id = made.body["id"].as_str().unwrap().to_owned();
    let kept = bench.get(&format!("/api/batches/{id}/steer?{query}")).await;
    assert_eq!(kept.status, 200, "{}", kept.body);
    assert_eq!(kept.body, ours);
}

#[tokio::test]
async fn a_wish_that_cannot_be_used_is_told_by_field() {
    let bench = Bench::new().await;
    let query = "butter=none&by=soon&coldest=30%20%C2%B0C";
    let answer = bench.post_toml(&format!("{STEER}?{query}"), demo()).await;
    assert_eq!(
        answer.problem(422),
        "the readings cannot be used as they are"
    );
    let faults = answer.body["faults"].as_array().unwrap();
    for path in ["butter", "by"] {
        assert!(faults.iter().any(|f| f["path"] == path), "{faults:?}");
    }
    let unknown = bench.post_toml(&format!("{STEER}?colour=8"), demo()).await;
    assert_eq!(unknown.problem(400), "the request cannot be read");
    bench.post_toml(STEER, &faulty()).await.problem(422);
    let none = "00000000-0000-0000-0000-000000000000";
    bench
        .get(&format!("/api/batches/{none}/steer"))
        .await
        .problem(404);
}

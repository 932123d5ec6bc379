//! Recipes that meet an aim, and the same beer elsewhere.

use batch::matching::{TypedMatch, matched};
use batch::wire::matching::MatchedAim;
use serde_json::json;

use crate::bench::{Bench, demo, faulty};

#[tokio::test]
async fn the_answer_is_that_of_the_search() {
    let bench = Bench::new().await;
    let question = [
        ("bitterness", "23 ± 2 IBU"),
        ("lock", "water"),
        ("draws", "32"),
    ];
    let typed: TypedMatch = question.into_iter().collect();
    let found = matched(demo(), &typed, None, &|_, _| true).unwrap();
    let ours = serde_json::to_value(MatchedAim::from(&found)).unwrap();
    let body = json!({
        "document": demo(),
        "question": {"bitterness": "23 ± 2 IBU", "lock": "water", "draws": "32"},
    });
    let answer = bench.post_json("/api/match", body).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body, ours);
    assert_eq!(answer.body["met"], true);
    let document = answer.body["answers"][0]["document"].as_str().unwrap();
    assert!(batch::Document::read(document).is_ok());
}

#[tokio::test]
async fn a_batch_that_moves_is_answered() {
    let bench = Bench::new().await;
    let body = json!({
        "document": demo(),
        "volume": "40 L",
        "question": {"draws": "0", "only_best": "yes", "lock": "water"},
    });
    let answer = bench.post_json("/api/move", body).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body["schema"], "gylewright/move/1");
    assert_eq!(answer.body["factor"], 2.0);
    let wrong = json!({"document": demo(), "volume": "many"});
    let told = bench.post_json("/api/move", wrong).await;
    told.problem(422);
    assert_eq!(told.body["faults"][0]["path"], "volume");
}

#[tokio::test]
async fn a_question_that_cannot_be_used_is_told_by_field() {
    let bench = Bench::new().await;
    let body = json!({"document": demo(), "question": {"colour": "dark", "move": "kettle"}});
    let told = bench.post_json("/api/match", body).await;
    told.problem(422);
    let faults = told.body["faults"].as_array().unwrap();
    for path in ["colour", "move"] {
        assert!(faults.iter().any(|f| f["path"] == path), "{faults:?}");
    }
    let body = json!({"document": faulty()});
    bench.post_json("/api/match", body).await.problem(422);
    let body = json!({"document": demo(), "stores": "[stores"});
    bench.post_json("/api/match", body).await.problem(422);
}

//! The ways out of chlorine, and the breakpoint.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/water/chlorine";

#[tokio::test]
async fn the_ways_are_those_of_the_model() {
    use batch::liquor::chlorine::Question;
    let answer = Bench::new()
        .await
        .post_json(AT, json!({ "document": demo() }))
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let read = Question::usual(&reckoning).read(&reckoning).unwrap();
    let found = reckoning.ways_out(&read).unwrap();
    let ours = batch::wire::liquor::chlorine::WaysOut::of(&reckoning, &found);
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
}

#[tokio::test]
async fn what_is_at_hand_and_who_drinks_decide() {
    let bench = Bench::new().await;
    let question = json!({
        "document": demo(),
        "have": ["potassium metabisulfite", "sodium ascorbate"],
        "sensitive": true,
        "time": "1 h",
        "prices": { "an hour of work": "0" },
    });
    let answer = bench.post_json(AT, question).await;
    assert_eq!(answer.body["take"]["way"], "sodium ascorbate");
    let ways = answer.body["ways"].as_array().unwrap();
    let standing = ways.iter().find(|w| w["way"] == "standing").unwrap();
    assert_eq!(standing["time_h"], 1.0);
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    let ask = async |question: Value| bench.post_json(AT, question).await;
    let unread = ask(json!({ "document": faulty() })).await;
    unread.problem(422);
    assert_eq!(unread.body["faults"][0]["path"], "batch.volume");
    let unknown = ask(json!({ "document": demo(), "have": ["hope"], "time": "soon" })).await;
    unknown.problem(422);
    let detail = unknown.body["detail"].as_str().unwrap();
    assert!(
        detail.contains("time: ") && detail.contains("activated carbon"),
        "{detail}"
    );
    ask(json!({ "docment": demo() })).await.problem(422);
}

#[tokio::test]
async fn a_breakpoint_is_reckoned_from_the_address() {
    let bench = Bench::new().await;
    let usual = bench.get("/api/water/breakpoint").await;
    assert_eq!(usual.status, 200, "{}", usual.body);
    let more = bench.get("/api/water/breakpoint?ammonia=1%20mg%2FL").await;
    let dose = |answer: &Value| answer["theoretical_mg_per_l"].as_f64().unwrap();
    assert!((dose(&more.body) / dose(&usual.body) - 2.0).abs() < 1e-9);
    let none = bench.get("/api/water/breakpoint?ammonia=0%20mg%2FL").await;
    none.problem(422);
    bench
        .get("/api/water/breakpoint?amonia=1")
        .await
        .problem(400);
}

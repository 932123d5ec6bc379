//! Which water for a batch.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/water/choice";
const WINTER: &str = include_str!("../../../../examples/library/harrowmere-mains/2026-02-10.toml");
const AUTUMN: &str = include_str!("../../../../examples/library/harrowmere-mains/2026-09-24.toml");

#[tokio::test]
async fn the_answer_is_the_one_of_the_model() {
    use batch::liquor::choice::{Question, chosen};
    let asked = json!({ "document": demo() });
    let answer = Bench::new().await.post_json(AT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let found = chosen(&reckoning, &[], &Question::usual(&reckoning, &[])).unwrap();
    let ours = batch::wire::liquor::choice::WaterChoice::from(&found);
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
}

#[tokio::test]
async fn waters_with_dated_analyses_are_chosen_from() {
    let dated = json!([
        { "from": "2026-09-24", "text": AUTUMN },
        { "from": "2026-02-10", "text": WINTER },
    ]);
    let waters = json!([
        { "name": "mains", "analyses": dated },
        { "name": "Cold Fell spring, bottled", "price": "0.40" },
    ]);
    let asked = json!({ "document": demo(), "waters": waters });
    let answer = Bench::new().await.post_json(AT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let ranked = answer.body["ranked"].as_array().unwrap();
    let mains = ranked.iter().find(|r| r["name"] == "mains").unwrap();
    let from: Vec<&Value> = mains["seasons"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| &s["from"])
        .collect();
    assert_eq!(from, ["2026-02-10", "2026-09-24"]);
    assert_eq!(mains["carried_home_l"], 0.0);
    let spring = ranked
        .iter()
        .find(|r| r["waters"].as_array().unwrap().len() == 1 && r["name"] != "mains");
    assert!(spring.unwrap()["carried_home_l"].as_f64().unwrap() > 20.0);
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    let ask = async |question: Value| bench.post_json(AT, question).await;
    let faults = ask(json!({ "document": faulty() })).await;
    faults.problem(422);
    assert_eq!(faults.body["faults"][0]["path"], "batch.volume");
    let unknown = ask(json!({ "document": demo(), "waters": [{ "name": "pond" }] })).await;
    unknown.problem(422);
    let detail = unknown.body["detail"].as_str().unwrap();
    assert!(detail.contains("Cold Fell spring, bottled"), "{detail}");
    let bad = json!([{ "name": "pond", "analyses": [{ "text": "calcium = 12" }] }]);
    let bad = ask(json!({ "document": demo(), "waters": bad })).await;
    bad.problem(422);
    assert!(!bad.body["faults"].as_array().unwrap().is_empty());
    ask(json!({ "docment": demo() })).await.problem(422);
}

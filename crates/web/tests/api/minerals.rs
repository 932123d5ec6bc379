//! The search for salts and acid.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/water/minerals";

#[tokio::test]
async fn the_answer_is_the_one_of_the_model() {
    use batch::liquor::minerals::{AtHand, Question, found, sure};
    let answer = Bench::new()
        .await
        .post_json(AT, json!({ "document": demo() }))
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let at_hand = AtHand::of(&Question::usual(&reckoning)).unwrap();
    let found = found(&reckoning, &at_hand).unwrap();
    let sure = sure(demo(), &reckoning, &found);
    assert!(sure.is_some());
    let ours = batch::wire::liquor::minerals::Minerals::of(&found, sure.as_deref());
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
}

#[tokio::test]
async fn only_what_is_at_hand_is_used() {
    let question = json!({ "document": demo(), "have": [{ "what": "gypsum" }], "most": 1 });
    let answer = Bench::new().await.post_json(AT, question).await;
    let additions = answer.body["additions"].as_array().unwrap();
    // The reagent that takes the chlorine out is the batch's own.
    let own = "potassium metabisulfite";
    let added: Vec<&Value> = additions.iter().map(|a| &a["what"]).collect();
    assert!(added.contains(&&json!("gypsum")), "{added:?}");
    assert!(added.iter().all(|w| *w == "gypsum" || *w == own));
    let met = |aim: &Value| aim["met"] == true;
    assert!(!answer.body["aims"].as_array().unwrap().iter().all(met));
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    let ask = async |question: Value| bench.post_json(AT, question).await;
    let faulty = ask(json!({ "document": faulty() })).await;
    faulty.problem(422);
    assert_eq!(faulty.body["faults"][0]["path"], "batch.volume");
    let unknown = ask(json!({ "document": demo(), "have": [{ "what": "gypsun" }] })).await;
    unknown.problem(422);
    assert!(
        unknown.body["detail"]
            .as_str()
            .unwrap()
            .contains("write gypsum")
    );
    let step = ask(json!({ "document": demo(), "scale": "two spoons" })).await;
    step.problem(422);
    ask(json!({ "docment": demo() })).await.problem(422);
}

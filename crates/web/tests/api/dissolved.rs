//! What is dissolved in a water.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/water/dissolved";

#[tokio::test]
async fn the_answer_is_the_one_of_the_model() {
    use batch::liquor::dissolved::{Question, dissolved, sure};
    let asked = json!({ "document": demo(), "of": "sparge", "to": "5.6" });
    let answer = Bench::new().await.post_json(AT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let question = Question {
        of: "sparge".to_owned(),
        to: "5.6".to_owned(),
        ..Question::default()
    };
    let found = dissolved(&reckoning, &question).unwrap();
    let sure = sure(demo(), &found);
    assert!(sure.is_some());
    let ours = batch::wire::liquor::dissolved::WaterDissolved::of(&found, sure.as_ref());
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    let ask = async |question: Value| bench.post_json(AT, question).await;
    ask(json!({ "document": faulty() })).await.problem(422);
    let sour = ask(json!({ "document": demo(), "to": "sour" })).await;
    sour.problem(422);
    let told = sour.body["detail"].as_str().unwrap();
    assert!(told.contains("write it such as 5.6"), "{told}");
    let ph = demo().replacen("[[water.source]]", "[[water.source]]\nph = \"13.5\"", 1);
    let no_water = ask(json!({ "document": ph })).await;
    no_water.problem(422);
    assert!(
        no_water.body["detail"]
            .as_str()
            .unwrap()
            .contains("leave the pH out")
    );
    ask(json!({ "docment": demo() })).await.problem(422);
}

#[tokio::test]
async fn water_that_must_not_be_used_gets_no_dose() {
    let unfit = demo().replacen("[[water.source]]", "[[water.source]]\nnotice = \"boil\"", 1);
    let answer = Bench::new()
        .await
        .post_json(AT, json!({ "document": unfit }))
        .await;
    assert_eq!(answer.status, 200);
    assert!(
        answer.body["refused"]
            .as_str()
            .unwrap()
            .contains("must not be used")
    );
    assert_eq!(
        (&answer.body["acid"], &answer.body["lime"]),
        (&Value::Null, &Value::Null)
    );
}

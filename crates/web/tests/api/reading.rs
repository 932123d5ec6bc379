//! A pH read in the mash.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/water/mash-reading";

#[tokio::test]
async fn the_answer_is_the_one_of_the_model() {
    use batch::liquor::reading::Typed;
    let asked =
        json!({ "document": demo(), "readings": [{ "ph": "5.80 ± 0.03", "after": "15 min" }] });
    let answer = Bench::new().await.post_json(AT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let typed = Typed {
        ph: "5.80 ± 0.03".to_owned(),
        ..Typed::default()
    };
    let advice = reckoning.mash_advice(&[typed.read().unwrap()]).unwrap();
    let table = reckoning.if_it_reads().unwrap();
    let ours = batch::wire::liquor::reading::WaterMash::of(&reckoning, &advice, &table);
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
    assert_eq!(answer.body["action"], "lower");
}

#[tokio::test]
async fn readings_of_the_document_come_first() {
    let reading = "[[mash.reading]]\nph = \"5.80\"\nafter = \"15 min\"\n\n[boil]";
    let document = demo().replacen("[boil]", reading, 1);
    let bench = Bench::new().await;
    let added = json!([{ "what": "lactic acid 80 %", "amount": "2 mL" }]);
    let second = json!([{ "ph": "5.6", "after": "25 min", "added": added }]);
    let asked = json!({ "document": document, "readings": second });
    let answer = bench.post_json(AT, asked).await;
    assert_eq!(answer.body["readings"].as_array().unwrap().len(), 2);
    assert!(answer.body["learned"]["malts"][0]["name"].is_string());
    let none = bench.post_json(AT, json!({ "document": demo() })).await;
    assert_eq!(
        (&none.body["action"], &none.body["learned"]),
        (&json!("read"), &Value::Null)
    );
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    let ask = async |question: Value| bench.post_json(AT, question).await;
    ask(json!({ "document": faulty() })).await.problem(422);
    let wrong = json!([{ "ph": "sour" }, { "ph": "5.5", "added": [{ "what": "gypsum", "amount": "2 mL" }] }]);
    let wrong = ask(json!({ "document": demo(), "readings": wrong })).await;
    wrong.problem(422);
    let told = wrong.body["detail"].as_str().unwrap();
    assert!(
        told.contains("reading 1, ph") && told.contains("reading 2, added"),
        "{told}"
    );
    let impossible = ask(json!({ "document": demo(), "readings": [{ "ph": "1" }] })).await;
    impossible.problem(422);
    let unfit = demo().replacen("[[water.source]]", "[[water.source]]\nnotice = \"boil\"", 1);
    let unfit = ask(json!({ "document": unfit })).await;
    unfit.problem(422);
    assert!(
        unfit.body["detail"]
            .as_str()
            .unwrap()
            .contains("must not be used")
    );
    let many = vec![json!({ "ph": "5.5" }); 51];
    ask(json!({ "document": demo(), "readings": many }))
        .await
        .problem(422);
}

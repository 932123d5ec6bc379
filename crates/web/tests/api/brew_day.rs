//! The lauter and the corrections of a brew day.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, faulty};

const LAUTER: &str = "/api/wort/lauter";
const CORRECT: &str = "/api/wort/correct";

fn reckoning() -> batch::Reckoning {
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    batch::Reckoning::of(document, assumptions).unwrap()
}

#[tokio::test]
async fn the_answers_are_those_of_the_model() {
    use batch::brew_day::TypedReading;
    use batch::wire::brew_day::{WortCorrect, WortLauter};
    let bench = Bench::new().await;
    let answer = bench.post_json(LAUTER, json!({ "document": demo() })).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let ours = WortLauter::from(&reckoning().lautering().unwrap());
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());

    let asked = json!({
        "document": demo(), "at": "kettle full",
        "volume": "27.5 L", "volume_at": "95 °C", "gravity": "1.036",
    });
    let answer = bench.post_json(CORRECT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let typed = TypedReading {
        at: "kettle full".to_owned(),
        volume: "27.5 L".to_owned(),
        volume_at: "95 °C".to_owned(),
        gravity: "1.036".to_owned(),
        ..TypedReading::default()
    };
    let reading = typed.read().unwrap().unwrap();
    let found = reckoning().corrections(reading.at, &[reading]).unwrap();
    let ours = WortCorrect::from(&found);
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
    assert!(answer.body["ways"][0]["rank"].as_f64().unwrap() > 0.0);
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    let ask = async |question: Value| bench.post_json(CORRECT, question).await;
    ask(json!({ "document": faulty() })).await.problem(422);
    let wrong = ask(json!({ "document": demo(), "at": "cellar", "volume": "27 L" })).await;
    wrong.problem(422);
    let told = wrong.body["detail"].as_str().unwrap();
    assert!(
        told.contains("no place of the day") && told.contains("volume_at"),
        "{told}"
    );
    let hot = json!({
        "document": demo(), "at": "kettle full", "volume": "27 L", "volume_at": "140 °C",
    });
    ask(hot).await.problem(422);
    ask(json!({ "document": demo(), "sugar": "1 kg" }))
        .await
        .problem(422);
    bench
        .post_json(LAUTER, json!({ "document": faulty() }))
        .await
        .problem(422);
}

#[tokio::test]
async fn without_a_reading_the_plan_stands() {
    let bench = Bench::new().await;
    let answer = bench
        .post_json(CORRECT, json!({ "document": demo() }))
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body["learned"], Value::Null);
    for (key, aim) in answer.body["aim"].as_object().unwrap() {
        let (aim, now) = (
            aim.as_f64().unwrap(),
            answer.body["now"][key].as_f64().unwrap(),
        );
        assert!(
            (aim - now).abs() < 1e-9 * (1.0 + aim.abs()),
            "{key}: {aim} {now}"
        );
    }
}

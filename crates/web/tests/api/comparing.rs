//! Batches side by side.

use batch::comparing::{Question, compare};
use batch::wire::comparing::Comparison;
use serde_json::json;

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/compare";

fn stronger() -> String {
    demo().replace("3.55 kg", "4.15 kg")
}

#[tokio::test]
async fn the_answer_is_that_of_the_model() {
    let bench = Bench::new().await;
    let question = Question {
        draws: 32,
        seed: 3,
        ..Question::default()
    };
    let found = compare(&[demo(), &stronger()], &question, &|_, _| true).unwrap();
    let ours = serde_json::to_value(Comparison::from(&found)).unwrap();
    let of = json!([{ "document": demo() }, { "document": stronger() }]);
    let asked = json!({ "of": of, "draws": 32, "seed": 3 });
    let answer = bench.post_json(AT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body, ours);
}

#[tokio::test]
async fn batches_of_the_store_and_their_revisions_are_compared() {
    let bench = Bench::new().await;
    let at = bench.batch().await;
    let id = at.rsplit('/').next().unwrap();
    let saved = bench.put(&at, "\"1\"", &stronger()).await;
    assert_eq!(saved.status, 200, "{}", saved.body);
    let of = json!([{ "batch": format!("{id}@1") }, { "batch": id }]);
    let answer = bench.post_json(AT, json!({ "of": of, "draws": 0 })).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let parts = &answer.body["against"][0]["parts"];
    assert_eq!(parts[0]["words"], "0.6 kg more pilsner malt");
    let gone = json!([{ "batch": format!("{id}@9") }, { "batch": id }]);
    bench
        .post_json(AT, json!({ "of": gone }))
        .await
        .problem(404);
}

#[tokio::test]
async fn what_cannot_be_compared_says_what_would_work() {
    let bench = Bench::new().await;
    let one = json!([{ "document": demo() }]);
    for (of, more, told) in [
        (one, 0, "from 2 to 6"),
        (json!([{ "document": demo() }, {}]), 0, "one of the two"),
        (
            json!([{ "document": demo() }, { "document": demo() }]),
            2000,
            "up to 1024",
        ),
        (
            json!([{ "document": demo() }, { "document": demo() }]),
            3,
            "from 32",
        ),
    ] {
        let answer = bench
            .post_json(AT, json!({ "of": of, "draws": more }))
            .await;
        answer.problem(422);
        assert!(
            answer.body["detail"].as_str().unwrap().contains(told),
            "{}",
            answer.body
        );
    }
    let of = json!([{ "document": demo() }, { "document": faulty() }]);
    let answer = bench.post_json(AT, json!({ "of": of })).await;
    answer.problem(422);
    assert!(!answer.body["faults"].as_array().unwrap().is_empty());
}

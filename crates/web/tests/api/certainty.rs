//! How sure a batch is.

use batch::certainty::{Question, certainty};
use batch::wire::certainty::Certainty;

use crate::bench::{Bench, demo, faulty};

const CERTAINTY: &str = "/api/certainty";

#[tokio::test]
async fn the_answer_is_that_of_the_model() {
    let bench = Bench::new().await;
    let question = Question {
        draws: 32,
        points: 4,
        seed: 5,
    };
    let found = certainty(demo(), &question, &|_, _| true).unwrap();
    let ours = serde_json::to_value(Certainty::from(&found)).unwrap();
    let asked = format!("{CERTAINTY}?draws=32&points=4&seed=5");
    let answer = bench.post_toml(&asked, demo()).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body, ours);
}

#[tokio::test]
async fn what_cannot_be_drawn_is_told() {
    let bench = Bench::new().await;
    for (query, told) in [
        ("draws=3", "from 32"),
        ("draws=9000", "up to 8192"),
        ("points=513", "512 points"),
    ] {
        let answer = bench
            .post_toml(&format!("{CERTAINTY}?{query}"), demo())
            .await;
        assert_eq!(answer.status, 422, "{query}");
        assert!(answer.body.to_string().contains(told), "{}", answer.body);
    }
    let answer = bench.post_toml(CERTAINTY, &faulty()).await;
    assert_eq!(answer.status, 422, "{}", answer.body);
}

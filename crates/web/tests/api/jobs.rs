//! Work that takes long.

use batch::certainty::{Question, certainty};
use batch::wire::certainty::Certainty;
use serde_json::{Value, json};

use crate::bench::{Answer, Bench, demo};

const JOBS: &str = "/api/jobs";

/// Looks until the job has ended.
async fn ended(bench: &Bench, asked: &Answer) -> Value {
    let at = asked.header("location").to_owned();
    loop {
        let job = bench.get(&at).await;
        assert_eq!(job.status, 200, "{}", job.body);
        if !matches!(job.body["state"].as_str(), Some("waiting" | "running")) {
            return job.body;
        }
        tokio::time::sleep(std::time::Duration::from_millis(10)).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_answer_of_a_job_is_that_of_the_model() {
    let bench = Bench::new().await;
    let question = json!({ "kind": "certainty", "document": demo(), "draws": 32, "points": 2 });
    let asked = bench.post_json(JOBS, question.clone()).await;
    assert_eq!(asked.status, 202, "{}", asked.body);
    let job = ended(&bench, &asked).await;
    assert_eq!(
        (&job["state"], &job["kind"]),
        (&json!("done"), &json!("certainty"))
    );
    let question_of_model = Question {
        draws: 32,
        points: 2,
        seed: 1,
    };
    let found = certainty(demo(), &question_of_model, &|_, _| true).unwrap();
    let direct = serde_json::to_string(&Certainty::from(&found)).unwrap();
    assert_eq!(
        job["answer"],
        serde_json::from_str::<Value>(&direct).unwrap()
    );
    // Asked again, it is there; and what is done is not cancelled.
    let again = bench.post_json(JOBS, question).await;
    assert_eq!(
        (&again.body["id"], &again.body["state"]),
        (&job["id"], &json!("done"))
    );
    let at = format!("{}/cancel", again.header("location"));
    let kept = bench.send("POST", &at, &[], "").await;
    assert_eq!((kept.status, &kept.body["state"]), (200, &json!("done")));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_is_cancelled() {
    let bench = Bench::new().await;
    let long = json!({ "kind": "certainty", "document": demo(), "draws": 65536, "points": 65536 });
    let asked = bench.post_json(JOBS, long).await;
    let at = format!("{}/cancel", asked.header("location"));
    let cancelled = bench.send("POST", &at, &[], "").await;
    assert_eq!(cancelled.status, 200, "{}", cancelled.body);
    let job = ended(&bench, &asked).await;
    assert_eq!(job["state"], "cancelled");
    assert!(job["answer"].is_null() && job["refused"].is_null());
}

#[tokio::test(flavor = "multi_thread")]
async fn what_cannot_be_asked_is_told() {
    let bench = Bench::new().await;
    let match_of = |wish: &str| json!({ "kind": "match", "document": demo(), "question": { "colour": wish, "draws": "0" } });
    let asked = bench.post_json(JOBS, match_of("dark")).await;
    let job = ended(&bench, &asked).await;
    assert_eq!(
        (&job["state"], job["answer"].is_null()),
        (&json!("done"), true)
    );
    assert_eq!(job["refused"]["faults"][0]["path"], "colour");
    for (body, status) in [
        (json!({ "kind": "certainty" }), 422),
        (json!({ "kind": "tea", "document": demo() }), 422),
        (
            json!({ "kind": "certainty", "document": demo(), "colour": 1 }),
            422,
        ),
        (json!({ "kind": "posterior", "batch": "one" }), 422),
        (
            json!({ "kind": "posterior", "batch": "019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61" }),
            404,
        ),
    ] {
        let answer = bench.post_json(JOBS, body.clone()).await;
        assert_eq!(answer.status, status, "{body}: {}", answer.body);
    }
    let nobody = format!("{JOBS}/019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61");
    for (at, status) in [(nobody.as_str(), 404), ("/api/jobs/one", 400)] {
        assert_eq!(bench.get(at).await.status, status);
        let cancel = bench.send("POST", &format!("{at}/cancel"), &[], "").await;
        assert_eq!(cancel.status, status);
    }
}

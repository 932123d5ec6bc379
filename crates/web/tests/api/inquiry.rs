//! Why a batch is off.

use serde_json::json;

use crate::bench::{Bench, demo, faulty};

const AT: &str = "/api/inquiry";

#[tokio::test]
async fn the_answer_is_the_one_of_the_model() {
    let asked = json!({ "document": demo(), "found": ["cooked-corn"], "absent": ["butter"] });
    let answer = Bench::new().await.post_json(AT, asked).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let (document, assumptions) = batch::Document::read(demo()).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    let mut question = reckoning.question();
    question.findings = vec![
        inquiry::Finding::present("cooked-corn"),
        inquiry::Finding::absent("butter"),
    ];
    let found = reckoning.inquire(&question).unwrap();
    let ours = batch::wire::inquiry::Inquiry::from(&found);
    assert_eq!(answer.body, serde_json::to_value(ours).unwrap());
}

#[tokio::test]
async fn what_cannot_be_used_says_what_would_work() {
    let bench = Bench::new().await;
    bench
        .post_json(AT, json!({ "document": faulty() }))
        .await
        .problem(422);
    let wrong = bench
        .post_json(AT, json!({ "document": demo(), "found": ["buter"] }))
        .await;
    wrong.problem(422);
    let told = wrong.body["detail"].as_str().unwrap();
    assert!(told.contains("the nearest is \"butter\""), "{told}");
}

/// A batch of the store is asked about beside the others of its house.
#[tokio::test]
async fn a_batch_of_the_store_hears_the_others() {
    let bench = Bench::new().await;
    let faulty = format!(
        "{}\n[[finding]]\nwhat = \"cooked-corn\"\nthere = \"yes\"\n",
        demo()
    );
    let before = bench.post_toml("/api/batches", &faulty).await;
    assert_eq!(before.status, 201, "{}", before.body);
    let here = bench.post_toml("/api/batches", &faulty).await;
    let at = format!("{}/inquiry", here.header("location"));
    let answer = bench.get(&at).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let house = answer.body["house"].as_array().unwrap();
    assert_eq!(house.len(), 1);
    assert!(
        house[0]
            .as_str()
            .unwrap()
            .contains("the same water, yeast and kit")
    );
    let alone = json!({ "document": faulty });
    let alone = bench.post_json(AT, alone).await;
    let before = |body: &serde_json::Value| {
        let causes = body["causes"].as_array().unwrap();
        let of = causes.iter().find(|c| c["key"] == "short-boil").unwrap();
        of["before"].as_f64().unwrap()
    };
    assert!(before(&answer.body) > before(&alone.body));
    assert!(answer.body["verdict"].as_str().unwrap().len() > 10);
}

#[tokio::test]
async fn the_tables_are_looked_through_by_words() {
    let bench = Bench::new().await;
    let answer = bench.get("/api/inquiry/search?q=wet%20cardboard").await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body["findings"][0]["key"], "cardboard");
    let none = bench.get("/api/inquiry/search?q=qqqq").await;
    assert_eq!(none.body["findings"], json!([]));
    bench.get("/api/inquiry/search").await.problem(400);
}

#[tokio::test]
async fn the_story_is_told_of_a_document_and_of_a_batch_with_what_came_after() {
    let bench = Bench::new().await;
    let off = format!(
        "{}\n[[finding]]\nwhat = \"cooked-corn\"\nthere = \"yes\"\n",
        demo()
    );
    let story = bench.post_toml("/api/inquiry/story", &off).await;
    assert_eq!(story.status, 200, "{}", story.body);
    assert_eq!(story.body["next"], json!([]));
    let made = bench.post_toml("/api/batches", &off).await;
    let at = made.header("location").to_owned();
    let id = at.rsplit('/').next().unwrap();
    let mended = format!(
        "{}\n[inquiry]\nafter = \"{id}\"\nmends = \"short-boil\"\nsound = \"yes\"\n",
        demo().replace("time = \"75 min\"", "time = \"95 min\"")
    );
    bench.post_toml("/api/batches", &mended).await;
    let told = bench.get(&format!("{at}/inquiry/story")).await;
    assert_eq!(told.status, 200, "{}", told.body);
    let next = &told.body["next"][0];
    assert_eq!(next["came"], "gone");
    assert_eq!(next["changed"][0]["path"], "boil.time");
    assert_eq!(told.body["looked_back_on"], 1);
    bench
        .post_toml("/api/inquiry/story", &faulty())
        .await
        .problem(422);
}

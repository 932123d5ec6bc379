//! The revisions of a batch, and the versions that were refused and kept.

use serde_json::{Value, json};

use crate::bench::{Bench, demo, renamed};

const STRANGER: &str = "019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61";

/// A batch with two revisions and a version that was refused; its address and
/// where that version is kept.
async fn batch_with_a_past(bench: &Bench) -> (String, String) {
    let place = bench.batch().await;
    assert_eq!(
        bench.put(&place, "\"1\"", &renamed("mine")).await.status,
        200
    );
    let stale = bench.put(&place, "\"1\"", &renamed("theirs")).await;
    let kept = stale.body["kept_as"].as_str().unwrap().to_owned();
    (place, kept)
}

fn bring(on: u32, what: Value) -> Value {
    json!({ "on": on, "bring": what })
}

#[tokio::test]
async fn the_history_names_every_version() {
    let bench = Bench::new().await;
    let (place, kept) = batch_with_a_past(&bench).await;
    let history = bench.get(&format!("{place}/history")).await;
    assert_eq!(history.status, 200);
    let revisions = history.body["revisions"].as_array().unwrap();
    let numbers: Vec<&Value> = revisions.iter().map(|r| &r["revision"]).collect();
    assert_eq!(numbers, [&json!(1), &json!(2)]);
    assert_eq!(revisions[1]["name"], "mine");
    assert_eq!(revisions[1]["note"], "written as text");
    assert_eq!(history.body["kept"][0]["id"], kept);
    assert_eq!(history.body["kept"][0]["taken_up_as"], Value::Null);
}

#[tokio::test]
async fn an_old_revision_is_read_to_the_byte() {
    let bench = Bench::new().await;
    let (place, _) = batch_with_a_past(&bench).await;
    let first = bench.get(&format!("{place}/history/1")).await;
    assert_eq!((first.status, &first.body["text"]), (200, &json!(demo())));
    let second = bench.get(&format!("{place}/history/2")).await;
    assert_eq!(second.body["text"], renamed("mine"));
}

#[tokio::test]
async fn an_old_revision_is_brought_back() {
    let bench = Bench::new().await;
    let (place, _) = batch_with_a_past(&bench).await;
    let back = bench
        .post_json(
            &format!("{place}/bring-back"),
            bring(2, json!({ "revision": 1 })),
        )
        .await;
    assert_eq!((back.status, back.header("etag")), (200, "\"3\""));
    assert_eq!(bench.get(&place).await.body["text"], demo());
}

#[tokio::test]
async fn a_kept_version_is_brought_back() {
    let bench = Bench::new().await;
    let (place, kept) = batch_with_a_past(&bench).await;
    let back = bench
        .post_json(
            &format!("{place}/bring-back"),
            bring(2, json!({ "kept": kept })),
        )
        .await;
    assert_eq!((back.status, &back.body["revision"]), (200, &json!(3)));
    assert_eq!(bench.get(&place).await.body["text"], renamed("theirs"));
    let history = bench.get(&format!("{place}/history")).await;
    assert_eq!(history.body["kept"][0]["taken_up_as"], 3);
}

#[tokio::test]
async fn what_is_brought_back_on_an_old_revision_waits() {
    let bench = Bench::new().await;
    let (place, kept) = batch_with_a_past(&bench).await;
    let back = format!("{place}/bring-back");
    let revision = bench
        .post_json(&back, bring(1, json!({ "revision": 1 })))
        .await;
    assert_eq!(revision.problem(409), "the batch has moved on in between");
    assert_eq!(revision.body["current"], 2);
    let side = bench
        .post_json(&back, bring(1, json!({ "kept": kept })))
        .await;
    assert_eq!((side.status, &side.body["kept_as"]), (409, &json!(kept)));
    assert_eq!(bench.get(&place).await.body["text"], renamed("mine"));
}

#[tokio::test]
async fn versions_of_another_batch_are_not_of_this_one() {
    let bench = Bench::new().await;
    let (_, kept) = batch_with_a_past(&bench).await;
    let other = bench.batch().await;
    assert_eq!(
        bench
            .get(&format!("{other}/kept/{kept}"))
            .await
            .problem(404),
        "there is no such thing here"
    );
    let back = bench
        .post_json(
            &format!("{other}/bring-back"),
            bring(1, json!({ "kept": kept })),
        )
        .await;
    assert_eq!(back.problem(422), "the batch has no such version");
    assert_eq!(bench.get(&other).await.body["revision"], 1);
}

#[tokio::test]
async fn what_there_is_not_cannot_be_read_or_brought_back() {
    let bench = Bench::new().await;
    let (place, _) = batch_with_a_past(&bench).await;
    assert_eq!(bench.get(&format!("{place}/history/3")).await.status, 404);
    assert_eq!(
        bench.get(&format!("{place}/kept/{STRANGER}")).await.status,
        404
    );
    for number in ["0", "-1", "one", "99999999999"] {
        assert_eq!(
            bench.get(&format!("{place}/history/{number}")).await.status,
            400,
            "{number}"
        );
    }
    assert_eq!(bench.get(&format!("{place}/kept/none")).await.status, 400);
    let back = format!("{place}/bring-back");
    for what in [
        json!({ "revision": 9 }),
        json!({ "revision": 0 }),
        json!({ "kept": STRANGER }),
        json!({ "kept": "none" }),
    ] {
        let answer = bench.post_json(&back, bring(2, what.clone())).await;
        assert_eq!(answer.status, 422, "{what}: {}", answer.body);
    }
}

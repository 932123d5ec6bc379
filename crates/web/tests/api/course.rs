//! The fermentation of a batch as its readings have it.

use serde_json::json;

use crate::bench::{Bench, faulty};

#[tokio::test]
async fn the_course_is_that_of_the_model_and_moves_with_what_is_read() {
    let bench = Bench::new().await;
    let made = bench.batch().await;
    let at = format!("{made}/course");
    let before = bench.get(&at).await;
    assert_eq!(before.status, 200, "{}", before.body);
    assert_eq!(before.body["schema"], "gylewright/fermentation-course/1");
    assert_eq!(before.body["finish"], "too_few_readings");
    assert_eq!(before.body["readings"], json!([]));
    let expected = before.body["end_plato"]["middle"].as_f64().unwrap();

    let records: Vec<_> = [
        (0, 1.052),
        (24, 1.043),
        (48, 1.026),
        (72, 1.019),
        (96, 1.0165),
    ]
    .map(
        |(h, sg)| json!({ "n": "hydrometer/sg", "u": "/", "v": sg, "t": 1_773_500_400 + h * 3600 }),
    )
    .to_vec();
    let sent = bench
        .post_json(&format!("{made}/readings"), json!(records))
        .await;
    assert_eq!(sent.body["kept"]["added"], 5, "{}", sent.body);
    let after = bench.get(&at).await;
    assert_eq!(after.body["now_h"], 96.0);
    assert_eq!(after.body["instruments"][0]["kind"], "hydrometer");
    let readings = after.body["readings"].as_array().unwrap();
    assert!(readings.iter().all(|r| r["fate"] == "used"), "{readings:?}");
    let end = after.body["end_plato"]["middle"].as_f64().unwrap();
    assert!(end > expected, "{end} after {expected}");

    let open = bench
        .app
        .batch(made.rsplit('/').next().unwrap().parse().unwrap())
        .await
        .unwrap();
    let ours = batch::watch::Watched::of(
        open.outcome.reckoning().unwrap(),
        &bench.app.readings(open.id).await.unwrap(),
        batch::watch::Moments::default(),
    );
    let ours = batch::wire::watch::FermentationCourse::from(&ours.unwrap());
    assert_eq!(after.body, serde_json::to_value(ours).unwrap());
}

#[tokio::test]
async fn what_is_no_batch_or_cannot_be_reckoned_is_a_problem() {
    let bench = Bench::new().await;
    let nowhere = "/api/batches/01900000-0000-7000-8000-000000000000/course";
    bench.get(nowhere).await.problem(404);
    bench.get("/api/batches/lantern/course").await.problem(400);
    let kept = bench.app.keep_batch(&faulty(), "begun").await.unwrap();
    let answer = bench.get(&format!("/api/batches/{}/course", kept.id)).await;
    answer.problem(422);
    assert!(!answer.body["faults"].as_array().unwrap().is_empty());
}

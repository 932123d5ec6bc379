//! Recipes from and to other programs.

use crate::bench::{Bench, JSON, TOML, demo};

const EXAMPLE: &str = include_str!("../../../interchange/tests/examples/MedievalAle.json");

#[tokio::test]
async fn a_file_is_read_without_being_kept() {
    let bench = Bench::new().await;
    let answer = bench
        .send("POST", "/api/recipes/read", &[JSON], EXAMPLE)
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body["documents"][0]["kind"], "batch");
    assert!(answer.body["documents"][0]["id"].is_null());
    let fates: Vec<&str> = answer.body["remarks"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|r| r["fate"].as_str())
        .collect();
    for fate in ["left", "changed", "missing"] {
        assert!(fates.contains(&fate), "{fate}");
    }
    assert_eq!(bench.get("/api/batches").await.body["total"], 0);
}

#[tokio::test]
async fn a_file_is_kept_and_its_batch_can_be_reckoned() {
    let bench = Bench::new().await;
    let answer = bench.send("POST", "/api/recipes", &[JSON], EXAMPLE).await;
    assert_eq!(answer.status, 201, "{}", answer.body);
    let id = answer.body["documents"][0]["id"].as_str().unwrap();
    let reckoning = bench.get(&format!("/api/batches/{id}/reckoning")).await;
    assert_eq!(reckoning.body["name"], "#20 1058 Medieval Ale");
}

#[tokio::test]
async fn a_water_is_kept_with_an_analysis() {
    let bench = Bench::new().await;
    let file = include_str!("../../../interchange/tests/examples/water.json");
    let answer = bench.send("POST", "/api/recipes", &[JSON], file).await;
    assert_eq!(answer.status, 201, "{}", answer.body);
    let waters = bench
        .app
        .library(app::LibraryKind::Water, "", 0)
        .await
        .unwrap();
    let water = bench
        .app
        .entry(app::LibraryKind::Water, waters.rows[0].id)
        .await
        .unwrap();
    let analyses = bench.app.analyses(&water).await.unwrap();
    let (figures, _) = analyses[0].reading.as_ref().unwrap();
    assert!((figures.figures.calcium.value.mg_per_l() - 275.0).abs() < 1e-9);
}

#[tokio::test]
async fn a_batch_goes_out() {
    let bench = Bench::new().await;
    let kept = bench.send("POST", "/api/batches", &[TOML], demo()).await;
    let id = kept.body["id"].as_str().unwrap();
    let answer = bench.get(&format!("/api/batches/{id}/recipe")).await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(
        answer.body["file"]["beerjson"]["recipes"][0]["type"],
        "all grain"
    );
    let again = bench
        .send(
            "POST",
            "/api/recipes/read",
            &[JSON],
            answer.body["file"].to_string(),
        )
        .await;
    assert_eq!(again.status, 200, "{}", again.body);
}

#[tokio::test]
async fn what_is_not_of_the_standard_is_told_with_its_place() {
    let bench = Bench::new().await;
    for (body, told) in [
        ("{\"beerjson\": {}}", "/beerjson: "),
        ("{", "line 1"),
        ("{\"beerjson\": {\"version\": 1}}", "holds no recipe"),
    ] {
        for path in ["/api/recipes/read", "/api/recipes"] {
            let answer = bench.send("POST", path, &[JSON], body).await;
            assert_eq!(
                answer.problem(422),
                "the file of recipes cannot be taken as it is"
            );
            let detail = answer.body["detail"].as_str().unwrap();
            assert!(detail.contains(told), "{detail}");
        }
    }
    let bytes: &[u8] = b"\xff\xfe";
    assert_eq!(
        bench
            .send("POST", "/api/recipes", &[JSON], bytes)
            .await
            .status,
        400
    );
}

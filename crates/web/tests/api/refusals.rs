//! What no route takes: each is a problem with a status of its own.

use serde_json::json;
use store::{Draft, Kind, Timestamp};

use crate::bench::{Bench, JSON, TOML, demo};

const STRANGER: &str = "/api/batches/019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61";

#[tokio::test]
async fn there_is_no_other_route() {
    let bench = Bench::new().await;
    for path in [
        "/api",
        "/api/",
        "/api/batch",
        "/api/batches/",
        "/api/reckon/1",
        &format!("{STRANGER}/none"),
    ] {
        assert_eq!(
            bench.get(path).await.problem(404),
            "there is no such route",
            "{path}"
        );
    }
    assert_eq!(bench.post_json("/api/nowhere", json!({})).await.status, 404);
}

#[tokio::test]
async fn a_stranger_is_not_found() {
    let bench = Bench::new().await;
    let edits = json!({ "on": 1, "edits": [{ "remove": { "path": "hop[1]" } }] });
    let bring = json!({ "on": 1, "bring": { "revision": 1 } });
    let kept = json!({ "on": 1, "bring": { "kept": "019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61" } });
    let answers = [
        bench.get(STRANGER).await,
        bench.get(&format!("{STRANGER}/reckoning")).await,
        bench.get(&format!("{STRANGER}/history")).await,
        bench.get(&format!("{STRANGER}/history/1")).await,
        bench.put(STRANGER, "\"1\"", demo()).await,
        bench.post_json(&format!("{STRANGER}/edits"), edits).await,
        bench
            .post_json(&format!("{STRANGER}/bring-back"), bring)
            .await,
        bench
            .post_json(&format!("{STRANGER}/bring-back"), kept)
            .await,
    ];
    for answer in answers {
        assert_eq!(answer.problem(404), "there is no such thing here");
    }
}

#[tokio::test]
async fn what_is_no_batch_is_not_found() {
    let bench = Bench::new().await;
    let at = Timestamp::from_ms(1_773_480_413_589).unwrap();
    let draft = Draft::new("Spring", "name = \"Spring\"\n");
    let water = bench
        .app
        .store()
        .create(Kind::Water, &draft, at)
        .await
        .unwrap()
        .id;
    let place = format!("/api/batches/{water}");
    for path in ["", "/reckoning", "/history", "/history/1"] {
        let answer = bench.get(&format!("{place}{path}")).await;
        assert_eq!(answer.problem(404), "there is no such thing here", "{path}");
    }
    assert_eq!(bench.put(&place, "\"1\"", demo()).await.status, 404);
    let bring = json!({ "on": 1, "bring": { "revision": 1 } });
    assert_eq!(
        bench
            .post_json(&format!("{place}/bring-back"), bring)
            .await
            .status,
        404
    );
    let unchanged = bench.app.store().current(water).await.unwrap();
    assert_eq!(unchanged.info.number.get(), 1);
}

#[tokio::test]
async fn an_address_that_cannot_be_read_is_said_to_be_so() {
    let bench = Bench::new().await;
    for path in [
        "/api/batches/7",
        "/api/batches/%FF",
        "/api/batches/none/history",
        "/api/batches/none/history/1",
        "/api/batches/none/reckoning",
        "/api/demos/%FF",
        "/api/schema/%FF",
    ] {
        let answer = bench.get(path).await;
        assert_ne!(answer.body["title"], "there is no such route");
        assert_eq!(answer.status, 400, "{path}: {}", answer.body);
    }
}

#[tokio::test]
async fn a_query_is_read_strictly() {
    let bench = Bench::new().await;
    for query in [
        "page=-1",
        "page=one",
        "page=4294967296",
        "pgae=2",
        "page=1&page=2",
    ] {
        let answer = bench.get(&format!("/api/batches?{query}")).await;
        assert_eq!(answer.problem(400), "the request cannot be read", "{query}");
    }
}

#[tokio::test]
async fn json_is_read_strictly() {
    let bench = Bench::new().await;
    let edits = format!("{}/edits", bench.batch().await);
    let broken = bench.send("POST", &edits, &[JSON], "{\"on\": 1,").await;
    assert_eq!(broken.problem(400), "the body cannot be read");
    let wrong = [
        json!({}),
        json!({ "on": "1", "edits": [] }),
        json!({ "on": 1, "edits": [], "more": true }),
        json!({ "on": 1, "edits": [{ "move": {} }] }),
        json!({ "on": 1, "edits": [{ "set": { "path": "a" } }] }),
        json!({ "on": 1, "edits": [{ "set": { "path": "a", "written": "1", "more": 1 } }] }),
        json!({ "on": -1, "edits": [] }),
    ];
    for body in wrong {
        let answer = bench.post_json(&edits, body.clone()).await;
        assert_eq!(answer.problem(422), "the body cannot be read", "{body}");
    }
    let bring = edits.replace("/edits", "/bring-back");
    for body in [
        json!({ "on": 1 }),
        json!({ "on": 1, "bring": { "revision": "1" } }),
        json!({ "on": 1, "bring": { "day": 1 } }),
    ] {
        assert_eq!(
            bench.post_json(&bring, body).await.problem(422),
            "the body cannot be read"
        );
    }
    // A choice of none or of two is a fault of syntax to the reader of JSON.
    for what in [json!({}), json!({ "revision": 1, "kept": "x" })] {
        let answer = bench
            .post_json(&bring, json!({ "on": 1, "bring": what }))
            .await;
        assert_eq!(answer.problem(400), "the body cannot be read", "{what}");
    }
}

#[tokio::test]
async fn a_body_says_what_it_is() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    for kind in [
        "application/json",
        "application/x-www-form-urlencoded",
        "text/plain; charset=latin1",
        "text/html",
        "",
    ] {
        for path in ["/api/reckon", "/api/check", "/api/batches"] {
            let answer = bench
                .send("POST", path, &[("content-type", kind)], demo())
                .await;
            assert_eq!(
                answer.problem(415),
                "the body is not said to be a document",
                "{path} {kind}"
            );
        }
        let answer = bench
            .send(
                "PUT",
                &place,
                &[("content-type", kind), ("if-match", "\"1\"")],
                demo(),
            )
            .await;
        assert_eq!(answer.status, 415, "{kind}");
    }
    assert_eq!(
        bench.send("POST", "/api/reckon", &[], demo()).await.status,
        415
    );
    for path in ["edits", "bring-back"] {
        let answer = bench
            .send("POST", &format!("{place}/{path}"), &[TOML], "{}")
            .await;
        assert_eq!(answer.problem(415), "the body is not said to be JSON");
    }
}

#[tokio::test]
async fn a_document_is_utf8() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let latin: &[u8] = b"name = \"caf\xe9\"";
    for path in ["/api/reckon", "/api/check", "/api/batches"] {
        let answer = bench.send("POST", path, &[TOML], latin.to_vec()).await;
        assert_eq!(answer.problem(400), "the request cannot be read");
        assert!(
            answer.body["detail"].as_str().unwrap().contains("byte 11"),
            "{}",
            answer.body
        );
    }
    let answer = bench
        .send(
            "PUT",
            &place,
            &[TOML, ("if-match", "\"1\"")],
            latin.to_vec(),
        )
        .await;
    assert_eq!(answer.status, 400);
}

#[tokio::test]
async fn a_body_has_an_end() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let long = "#".repeat((4 << 20) + 1);
    for path in ["/api/reckon", "/api/check", "/api/batches"] {
        assert_eq!(
            bench.post_toml(path, &long).await.problem(413),
            "the body is too large",
            "{path}"
        );
    }
    assert_eq!(bench.put(&place, "\"1\"", &long).await.status, 413);
    for path in ["edits", "bring-back"] {
        let answer = bench
            .post_json(&format!("{place}/{path}"), json!(long))
            .await;
        assert_eq!(answer.problem(413), "the body is too large");
    }
}

#[tokio::test]
async fn another_site_changes_nothing() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    for header in [
        ("origin", "http://evil.example"),
        ("origin", "null"),
        ("sec-fetch-site", "cross-site"),
    ] {
        let made = bench
            .send("POST", "/api/batches", &[TOML, header], demo())
            .await;
        assert_eq!(made.problem(403), "the request comes from another site");
        let put = bench
            .send("PUT", &place, &[TOML, header, ("if-match", "\"1\"")], "x")
            .await;
        assert_eq!(put.status, 403);
    }
    assert_eq!(bench.get("/api/batches").await.body["total"], 1);
    let own = bench
        .send(
            "POST",
            "/api/batches",
            &[TOML, ("origin", "http://localhost")],
            demo(),
        )
        .await;
    assert_eq!(own.status, 201);
}

#[tokio::test]
async fn a_store_that_fails_tells_no_internals() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    bench.app.store().close().await;
    let answers = [
        bench.get("/api/batches").await,
        bench.get(&place).await,
        bench.get(&format!("{place}/reckoning")).await,
        bench.post_toml("/api/batches", demo()).await,
        bench.put(&place, "\"1\"", demo()).await,
    ];
    for answer in answers {
        assert_eq!(answer.problem(500), "the store does not answer");
        let told = answer.body.to_string().to_lowercase();
        for internal in ["pool", "sql", "store.db"] {
            assert!(!told.contains(internal), "{internal}: {told}");
        }
    }
}
